import { describe, expect, it } from 'vitest';
import { countSide, ROOF, SIDE, TOP, type AcrossSide, type SideShape } from '../../../../../src/find/measure/obstructions/count-side.ts';
import { seededRandom } from '../../../../../src/geometry/seeded-random.ts';

const [NOISE, SPACING, LENGTH, HALF, HEIGHT, TAKEN] = [0.02, 0.02, 0.6, 0.35, 1, 0.06];

const shape: SideShape = {
  about: HALF - 0.01, opposite: HALF, length: LENGTH, round: false, spacing: SPACING, noise: NOISE, takenForTop: TAKEN, takenForRoof: TAKEN,
  correlation: { distances: new Float64Array(0), covariance: new Float64Array(0), alone: NOISE ** 2, length: 0, inflation: 1 },
};

interface Box {
  /** The rim's points are drawn inward by up to this. [m] */
  readonly rounding?: number;
  /** Points on a side over those of the top, by area. */
  readonly sides?: number;
  readonly height?: number;
}

/** A box seen across one of its sides, which stands at HALF. */
function across(seed: number, { rounding = 0, sides = 0.25, height = HEIGHT }: Box): AcrossSide {
  const random = seededRandom(seed);
  const points = { away: [] as number[], kind: [] as number[], below: [] as number[], full: [] as number[] };
  const put = (away: number, above: number): void => {
    points.away.push(away);
    points.kind.push(above > height - TAKEN ? TOP : above < TAKEN ? ROOF : SIDE);
    points.below.push(height - above);
    points.full.push(height);
  };
  for (let x = -HALF; x < HALF + 0.4; x += SPACING) {
    for (let y = 0; y < LENGTH; y += SPACING) {
      const at = x + SPACING * random.uniform();
      const inside = Math.min(HALF - at, 3 * rounding);
      put(at < HALF && rounding > 0 ? at - rounding * (1 - inside / (3 * rounding)) ** 2 : at, at < HALF ? height + NOISE * random.normal() * 0.5 : NOISE * random.normal() * 0.5);
    }
  }
  for (let i = 0; i < (sides * LENGTH * height) / SPACING ** 2; i++) put(HALF + NOISE * random.normal(), height * random.uniform());
  return points;
}

describe('a side by counting', () => {
  const seeds = Array.from({ length: 60 }, (_, i) => i + 1);

  it.each([
    ['a sharp rim', {}],
    ['a rim that the reconstruction drew inward by half a spacing', { rounding: 0.01 }],
    ['no points on the side', { sides: 0 }],
    ['many points on the side', { sides: 0.6 }],
  ] satisfies [string, Box][])('lies where the box ends, and is as sure as it says: %s (60 seeds)', (_, box) => {
    const found = seeds.map((seed) => countSide(across(seed, box), shape)!);
    const errors = found.map(({ at }) => at - HALF);
    expect(Math.abs(errors.reduce((sum, e) => sum + e, 0) / errors.length)).toBeLessThan(0.0015);
    const z = Math.sqrt(found.reduce((sum, { at, sigma }) => sum + ((at - HALF) / sigma) ** 2, 0) / found.length);
    expect(z).toBeLessThan(1.3);
    expect(z).toBeGreaterThan(0.3);
    expect(Math.max(...found.map(({ sigma }) => sigma))).toBeLessThan(0.006);
  });

  it('a bulging side does not stand upright and counts for nothing but its own points', () => {
    const bulging = across(7, {});
    const away = bulging.away.map((d, i) => (bulging.kind[i] === SIDE ? d + 0.08 * Math.sin(40 * i) : d));
    const plain = countSide(bulging, shape)!;
    const found = countSide({ ...bulging, away }, shape)!;
    expect(found.sigma).toBeGreaterThan(plain.sigma);
    expect(Math.abs(found.at - HALF)).toBeLessThan(0.02);
  });

  it('says nothing of a thing too low to show its sides, or too narrow to have a density', () => {
    expect(countSide(across(1, { height: 0.12 }), shape)).toBeNull();
    expect(countSide(across(1, {}), { ...shape, about: 0.1, opposite: 0.05 })).toBeNull();
  });
});
