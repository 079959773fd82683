import { describe, expect, it } from 'vitest';
import { countEdge, movedLine, type StripPoints } from '../../../../../src/find/measure/edges/count-edge.ts';
import { seededRandom } from '../../../../../src/geometry/seeded-random.ts';

interface Strip {
  readonly spacing: number;
  readonly edge: (along: number) => number;
  /** Sideways noise, in spacings. */
  readonly blur?: number;
  /** Points per square metre of a wall below the edge, over those of the roof. */
  readonly wall?: number;
  readonly seed: number;
}

/** Poisson points on a plane that ends at outward = edge(along), 5 m long. */
function strip({ spacing, edge, blur = 0, wall = 0, seed }: Strip): StripPoints {
  const random = seededRandom(seed);
  const [along, outward, above]: [number[], number[], number[]] = [[], [], []];
  const depth = 22 * spacing;
  const count = Math.round((5 * 2 * depth) / spacing ** 2);
  for (let i = 0; i < count; i++) {
    const t = 5 * random.uniform();
    const w = (2 * random.uniform() - 1) * depth;
    const height = 0.2 * spacing * random.normal();
    if (w > edge(t)) continue;
    along.push(t);
    outward.push(w + blur * spacing * random.normal());
    above.push(height);
  }
  const upright = Math.round((wall * 5 * 1) / spacing ** 2);
  for (let i = 0; i < upright; i++) {
    const t = 5 * random.uniform();
    along.push(t);
    outward.push(edge(t) + 0.2 * spacing * random.normal());
    above.push(-random.uniform());
  }
  return { count: along.length, along: Float64Array.from(along), outward: Float64Array.from(outward), above: Float64Array.from(above) };
}

const shape = (spacing: number) => ({ length: 5, spacing, band: spacing, depths: new Float64Array(64).fill(18 * spacing), lean: 0, upright: 1 });
const mean = (values: number[]): number => values.reduce((a, b) => a + b, 0) / values.length;

describe('count-equivalent edge', () => {
  for (const [blur, wall] of [[0, 0], [0.5, 0], [1, 0], [0.5, 0.3]] as const) {
    it(`has no bias: blur ${blur} spacings, wall ${wall} (40 seeds, Poisson points)`, () => {
      const errors = Array.from({ length: 40 }, (_, seed) => {
        const found = countEdge(strip({ spacing: 0.05, edge: () => 0.03, blur, wall, seed }), shape(0.05))!;
        return { error: (found.offset - 0.03) / 0.05, z: (found.offset - 0.03) / found.sigma };
      });
      // A Poisson count over 3 spacings by 5 m scatters by 0.17 spacings; the mean of 40 by 0.03.
      expect(Math.abs(mean(errors.map(({ error }) => error)))).toBeLessThan(0.1);
      expect(Math.sqrt(mean(errors.map(({ error }) => error ** 2)))).toBeLessThan(0.3);
      // The stated sigma is about the real one.
      const ratio = Math.sqrt(mean(errors.map(({ z }) => z ** 2)));
      expect(ratio).toBeGreaterThan(0.6);
      expect(ratio).toBeLessThan(1.5);
    });
  }

  it('takes an upright board below a steep edge for no roof (68 degrees, 15 cm deep, half as dense)', () => {
    const [spacing, lean] = [0.02, Math.sin((68 * Math.PI) / 180)];
    const upright = Math.sqrt(1 - lean * lean);
    const errors = Array.from({ length: 20 }, (_, seed) => {
      const roof = strip({ spacing, edge: () => 0.01, seed });
      const random = seededRandom(100 + seed);
      const [along, outward, above] = [[...roof.along], [...roof.outward], [...roof.above]];
      for (let i = 0; i < Math.round((0.5 * 5 * 0.15 * upright * lean) / spacing ** 2); i++) {
        const drop = 0.15 * random.uniform();
        along.push(5 * random.uniform());
        outward.push(0.01 + drop * upright * lean);
        above.push(-drop * upright + 0.2 * spacing * random.normal());
      }
      const points = { count: along.length, along: Float64Array.from(along), outward: Float64Array.from(outward), above: Float64Array.from(above) };
      return (countEdge(points, { ...shape(spacing), band: 0.07, lean, upright })!.offset - 0.01) / spacing;
    });
    expect(Math.abs(mean(errors))).toBeLessThan(0.15);
  });

  it('where the band swallows a board it takes half of it off, and says that it does not know', () => {
    const band = 0.2;
    // As dense as half the roof, 15 cm deep: 7.5 cm of roof, if it is there.
    const found = (wall: boolean): { error: number; bias: number } => {
      const errors = Array.from({ length: 20 }, (_, seed) => {
        const roof = strip({ spacing: 0.25, edge: () => 0.1, seed });
        const random = seededRandom(200 + seed);
        const board = wall ? Math.round((0.5 * 5 * 0.15) / 0.25 ** 2) : 0;
        const [along, outward, above] = [[...roof.along], [...roof.outward], [...roof.above]];
        for (let i = 0; i < board; i++) {
          along.push(5 * random.uniform());
          outward.push(0.1);
          above.push(-0.15 * random.uniform());
        }
        const points = { count: along.length, along: Float64Array.from(along), outward: Float64Array.from(outward), above: Float64Array.from(above) };
        const { offset, bias } = countEdge(points, { ...shape(0.25), band })!;
        return { error: offset - 0.1, bias };
      });
      return { error: mean(errors.map(({ error }) => error)), bias: mean(errors.map(({ bias }) => bias)) };
    };
    const [without, withBoard] = [found(false), found(true)];
    expect(without.bias).toBeCloseTo(0.0375, 3);
    // Twenty strips of 5 m leave 2.5 cm.
    expect(Math.abs(without.error + 0.0375)).toBeLessThan(0.05);
    // What the board adds, less bins that stray for it and are left out.
    expect(withBoard.error - without.error).toBeGreaterThan(0.04);
    expect(withBoard.error - without.error).toBeLessThan(0.08);
    expect(Math.abs(withBoard.error)).toBeLessThan(3 * withBoard.bias);
  });

  it('counts a plane shallower than the strip by the depth it has', () => {
    const all = strip({ spacing: 0.05, edge: () => 0.02, seed: 5 });
    const keep = Array.from({ length: all.count }, (_, i) => i).filter((i) => all.outward[i]! > -0.5);
    const pick = (values: Float64Array): Float64Array => Float64Array.from(keep, (i) => values[i]!);
    const points = { count: keep.length, along: pick(all.along), outward: pick(all.outward), above: pick(all.above) };
    const found = countEdge(points, { ...shape(0.05), depths: new Float64Array(64).fill(0.5) })!;
    expect(Math.abs(found.offset - 0.02) / 0.05).toBeLessThan(0.6);
  });

  it('follows a turned edge', () => {
    const found = countEdge(strip({ spacing: 0.03, edge: (t) => 0.01 * (t - 2.5), seed: 3 }), shape(0.03))!;
    expect(Math.abs(found.turn - 0.01)).toBeLessThan(0.006);
  });

  it('is not moved by a thing that hides a fifth of the edge', () => {
    const all = strip({ spacing: 0.04, edge: () => 0, seed: 5 });
    const keep = [...all.along.keys()].filter((i) => all.along[i]! < 1 || all.along[i]! > 2);
    const pick = (values: Float64Array) => Float64Array.from(keep, (i) => values[i]!);
    const found = countEdge({ count: keep.length, along: pick(all.along), outward: pick(all.outward), above: pick(all.above) }, shape(0.04))!;
    expect(Math.abs(found.offset / 0.04)).toBeLessThan(0.5);
  });

  it('says nothing of an edge too short to count', () => {
    expect(countEdge(strip({ spacing: 0.05, edge: () => 0, seed: 1 }), { ...shape(0.05), length: 0.2 })).toBeNull();
    expect(countEdge({ count: 0, along: new Float64Array(), outward: new Float64Array(), above: new Float64Array() }, shape(0.05))).toBeNull();
  });

  it('moves a line outward to its right', () => {
    const line = movedLine({ at: [0, 0], direction: [1, 0] }, 1, { offset: 0.5, turn: 0, sigma: 1, sigmaTurn: 1, bias: 0, middle: 2, bins: 3 });
    expect(line.at[0]).toBeCloseTo(3, 12);
    expect(line.at[1]).toBeCloseTo(-0.5, 12);
  });
});
