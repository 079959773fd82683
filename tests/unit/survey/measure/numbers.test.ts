import { describe, expect, test } from 'vitest';
import type { Vector3 } from '../../../../src/geometry/vector.ts';
import type { RecordPick } from '../../../../src/roof/record.ts';
import { angleAtSecond, bearing, heightAbovePlane, pitchOfThree, radiusOfThree, ringNumbers, twoPickNumbers } from '../../../../src/survey/measure/numbers.ts';
import { snapTargets } from '../../../../src/survey/measure/snap-targets.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const pick = (at: Vector3, sigma: Vector3 = [0.01, 0.01, 0.01]): RecordPick => ({ at, landedOn: 'point', of: null, sigmaM: sigma });

describe('two picks', () => {
  test('3, 4, 12 give 13 along the slope, 5 level and 12 up', () => {
    const { slope, level, height } = twoPickNumbers(pick([1, 1, 1]), pick([4, 5, 13]));
    expect([slope.value, level.value, height.value]).toEqual([13, 5, 12]);
  });

  // Two independent ends of sigma s along the line: sqrt(2) s, 95 % at 1.96 (JCGM 100:2008, 5.1.2 and G.3.2).
  test('± of equal ends is 1.96 times root two sigma', () => {
    const { slope } = twoPickNumbers(pick([0, 0, 0]), pick([10, 0, 0]));
    expect(slope.value !== null && slope.u95).toBeCloseTo(1.96 * Math.SQRT2 * 0.01, 9);
  });

  test('only what points along the line counts', () => {
    const { slope, height } = twoPickNumbers(pick([0, 0, 0], [0, 0.5, 0.02]), pick([10, 0, 0], [0, 0.5, 0.02]));
    expect(slope.value !== null && slope.u95).toBeCloseTo(0, 9);
    expect(height.value !== null && height.u95).toBeCloseTo(1.96 * Math.SQRT2 * 0.02, 9);
  });

  test('a height difference keeps its sign: second minus first', () => {
    expect(twoPickNumbers(pick([0, 0, 5]), pick([0, 0, 3])).height.value).toBe(-2);
  });
});

describe('areas', () => {
  const rectangle: readonly Vector3[] = [[0, 0, 0], [10, 0, 0], [10, 6, 0], [0, 6, 0]];

  test('a level rectangle is the same on the surface and in plan', () => {
    const { surface, plan } = ringNumbers(rectangle.map((at) => pick(at)));
    expect([surface.value, plan.value]).toEqual([60, 60]);
  });

  test('turned up by 60° the plan is half of the surface', () => {
    const tilted = rectangle.map(([x, y]): Vector3 => [x, y * 0.5, (y * Math.sqrt(3)) / 2]);
    const { surface, plan } = ringNumbers(tilted.map((at) => pick(at)));
    expect(surface.value).toBeCloseTo(60, 9);
    expect(plan.value).toBeCloseTo(30, 9);
  });

  test('the same clockwise', () => {
    expect(ringNumbers(rectangle.toReversed().map((at) => pick(at))).plan.value).toBe(60);
  });

  // Moving one corner by d changes the area by half the diagonal between its neighbours, times d across it.
  test('± follows from half diagonals', () => {
    const { plan, surface } = ringNumbers(rectangle.map((at) => pick(at)));
    const expected = 1.96 * 0.01 * Math.sqrt(4 * ((10 ** 2 + 6 ** 2) / 4));
    expect(plan.value !== null && plan.u95).toBeCloseTo(expected, 9);
    expect(surface.value !== null && surface.u95).toBeCloseTo(expected, 9);
  });

  test('an outline that crosses itself has no area', () => {
    const crossed: readonly Vector3[] = [[0, 0, 0], [10, 6, 0], [10, 0, 0], [0, 6, 0]];
    expect(ringNumbers(crossed.map((at) => pick(at))).plan).toEqual({ value: null, why: 'the outline crosses itself' });
  });

  test('the stated ± holds: 400 seeded draws, at least 93 in 100 inside', () => {
    let state = 12345;
    const uniform = (): number => (state = (state * 16807) % 2147483647) / 2147483647;
    const normal = (): number => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
    let inside = 0;
    for (let draw = 0; draw < 400; draw++) {
      const measured = ringNumbers(rectangle.map(([x, y, z]) => pick([x + 0.01 * normal(), y + 0.01 * normal(), z])));
      if (measured.plan.value !== null && Math.abs(measured.plan.value - 60) <= measured.plan.u95) inside++;
    }
    expect(inside).toBeGreaterThanOrEqual(372);
  });
});

describe('height above a roof plane', () => {
  const [south] = snapTargets(gableRecord()).planes;

  test('a point one metre above a 45° plane', () => {
    const height = heightAbovePlane(pick([5, 2, 6]), south!, 0.006);
    expect(height.value).toBeCloseTo(1, 9);
    // Sideways doubt counts by the slope (1 at 45°), and the plane's own doubt comes on top.
    const picked = 1.96 * Math.hypot(0.01, 0.01);
    expect(height.value !== null && height.u95).toBeGreaterThan(picked);
    expect(height.value !== null && height.parts!.map(({ name }) => name)).toEqual(['pick 1, bare point', 'height of plane p1']);
  });

  test('below it is negative', () => {
    expect(heightAbovePlane(pick([5, 2, 4.5]), south!, 0.006).value).toBeCloseTo(-0.5, 9);
  });
});

describe('angles and circles', () => {
  test('bearing clockwise from true north', () => {
    expect(bearing(pick([0, 0, 0]), pick([1, 0, 0]), 0).value).toBeCloseTo(90, 9);
    expect(bearing(pick([0, 0, 0]), pick([-1, 0, 5]), 1.5).value).toBeCloseTo(271.5, 9);
    expect(bearing(pick([0, 0, 0]), pick([0, 0, 5]), 0).value).toBeNull();
  });

  test('pitch of three picks on the gable is 45°', () => {
    expect(pitchOfThree([pick([0, 0, 3]), pick([10, 0, 3]), pick([5, 5, 8])]).value).toBeCloseTo(45, 9);
    expect(pitchOfThree([pick([0, 0, 0]), pick([1, 1, 1]), pick([2, 2, 2])]).value).toBeNull();
  });

  test('three picks on a circle of radius 2', () => {
    expect(radiusOfThree([pick([2, 0, 1]), pick([0, 2, 5]), pick([-2, 0, 0])]).value).toBeCloseTo(2, 9);
    expect(radiusOfThree([pick([0, 0, 0]), pick([1, 0, 0]), pick([2, 0, 0])]).value).toBeNull();
  });

  test('the corner of a square is a right angle', () => {
    expect(angleAtSecond([pick([1, 0, 0]), pick([0, 0, 0]), pick([0, 1, 0])]).value).toBeCloseTo(90, 9);
  });
});
