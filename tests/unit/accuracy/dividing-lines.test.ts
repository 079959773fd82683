import { describe, expect, it } from 'vitest';
import { chiSquareQuantile } from '../../../src/geometry/distributions.ts';
import type { Vector3 } from '../../../src/geometry/vector.ts';
import { measureSharedNoise, twoAgainstOne, type LineTest, type SharedNoise } from '../../accuracy/dividing-lines.ts';
import { planeThrough } from '../../accuracy/face-points.ts';
import { makeRandom } from '../../fixtures/roof-points.ts';

const NOISE: SharedNoise = { share: 0.45, length: 0.75 };
const SIGMA = 0.02;
const random = makeRandom(3);

/** Plan places of two houses side by side, 5 m by 6 m each, four points a square metre; the line is x = 0. */
const PLACES = Array.from({ length: 240 }, () => [10 * random.next() - 5, 6 * random.next()] as const);
/** Root of their correlation (Cholesky). */
const ROOT = rootOf(PLACES.map((p, i) => PLACES.map((q, j) => (i === j ? 1 : NOISE.share * Math.exp(-Math.hypot(p[0] - q[0], p[1] - q[1]) / NOISE.length)))));

function rootOf(matrix: readonly (readonly number[])[]): number[][] {
  const root = matrix.map(() => new Array<number>(matrix.length).fill(0));
  for (let i = 0; i < matrix.length; i++) {
    for (let j = 0; j <= i; j++) {
      let sum = matrix[i]![j]!;
      for (let k = 0; k < j; k++) sum -= root[i]![k]! * root[j]![k]!;
      root[i]![j] = i === j ? Math.sqrt(sum) : sum / root[j]![j]!;
    }
  }
  return root;
}

/** A slope of 30° with shared noise, and what the right half differs by. */
function roof(differs: (x: number, y: number) => number = () => 0): Vector3[] {
  const white = PLACES.map(() => SIGMA * random.normal());
  return PLACES.map(([x, y], i) => [x, y, 0.577 * y + (x > 0 ? differs(x, y) : 0) + ROOT[i]!.reduce((sum, r, k) => sum + r * white[k]!, 0) / Math.cos(Math.PI / 6)]);
}

function test(points: readonly Vector3[], noise = NOISE): LineTest {
  return twoAgainstOne(points.filter((p) => p[0] < -0.3), points.filter((p) => p[0] > 0.3), [0, 3, 0.577 * 3], noise)!;
}

describe('two planes against one, the line being known', () => {
  const trials = Array.from({ length: 200 }, () => test(roof()));

  it('follows chi-square with 3 degrees of freedom when there is one', () => {
    const beyond = (level: number): number => trials.filter((t) => t.chiSquared > chiSquareQuantile(level, 3)).length / trials.length;
    // 200 draws: 50 % within ± 11 %, 5 % within + 4.5 % (three binomial sigmas).
    expect(Math.abs(beyond(0.5) - 0.5)).toBeLessThan(0.11);
    expect(beyond(0.95)).toBeLessThan(0.095);
  });

  it('states the scatter of the step as it is', () => {
    const scaled = Math.sqrt(trials.reduce((sum, t) => sum + (t.step / t.stepSd) ** 2, 0) / trials.length);
    expect(Math.abs(scaled - 1)).toBeLessThan(0.15);
  });

  it('takes shared noise for two planes where it counts every point as independent', () => {
    const naive = Array.from({ length: 50 }, () => test(roof(), { share: 0, length: 1 }));
    expect(naive.filter((t) => t.chiSquared > chiSquareQuantile(0.999, 3)).length).toBeGreaterThan(5);
  });

  it('finds a step of 8 cm and a bend of 3°, with their size', () => {
    const steps = Array.from({ length: 20 }, () => test(roof(() => 0.08)));
    const bends = Array.from({ length: 20 }, () => test(roof((x) => 0.0605 * x)));
    const mean = (values: readonly number[]): number => values.reduce((sum, v) => sum + v, 0) / values.length;
    expect(steps.every((t) => t.chiSquared > chiSquareQuantile(0.999, 3))).toBe(true);
    // Across the slope: cos 30° of what is added upward.
    expect(mean(steps.map((t) => t.step))).toBeCloseTo(0.08 * Math.cos(Math.PI / 6), 1.9);
    expect(Math.abs(mean(bends.map((t) => t.angle)) - 3)).toBeLessThan(0.5);
  });
});

it('measures the correlation that was put in, or less of it: what every plane took up itself', () => {
  const areaOf = ({ share, length }: SharedNoise): number => share * length * length;
  const measured = areaOf(measureSharedNoise(Array.from({ length: 40 }, () => planeThrough(roof())!))) / areaOf(NOISE);
  expect(measured).toBeGreaterThan(0.35);
  expect(measured).toBeLessThan(1.05);
});
