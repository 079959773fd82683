import { describe, expect, test } from 'vitest';
import type { Vector3 } from '../../../../src/geometry/vector.ts';
import type { RecordPick } from '../../../../src/roof/record.ts';
import { angleAtSecond, angleOfPlanes, bearing, heightAboveGround, heightAbovePlane, pitchOfThree, radiusOfThree, ringNumbers, twoPickNumbers, widthAcross } from '../../../../src/survey/measure/numbers.ts';
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

describe('above the ground', () => {
  const buildings = gableRecord().buildings;

  test('counted from the ground of the building under the pick, whose relief is in the ±', () => {
    const height = heightAboveGround(pick([5, 5, 8]), buildings);
    expect(height.value).toBe(8);
    // One sigma of 1 cm and a relief of 5 cm at 95 %.
    expect(height.value !== null && height.u95).toBeCloseTo(Math.hypot(1.96 * 0.01, 0.05), 9);
  });

  test('beside a building it is that one’s ground; far from all there is none', () => {
    expect(heightAboveGround(pick([12, 5, 3]), buildings).value).toBe(3);
    expect(heightAboveGround(pick([50, 5, 3]), buildings)).toEqual({ value: null, why: 'no building stands here' });
    expect(heightAboveGround(pick([5, 5, 8]), [{ ...buildings[0]!, groundElevationM: { value: null, why: 'no ground seen' } }])).toEqual({ value: null, why: 'no ground seen' });
  });
});

describe('square across', () => {
  test('level, from the line of two picks to the third, however high they are', () => {
    const width = widthAcross([pick([0, 0, 5]), pick([4, 3, 7]), pick([5, 10, 1])]);
    // Cross product of (4, 3) and (5, 10) over 5: 25 / 5.
    expect(width.value).toBeCloseTo(5, 9);
  });

  test('± of a third pick right across the middle: its own sigma, and half of each of the others’', () => {
    const width = widthAcross([pick([0, 0, 0]), pick([10, 0, 0]), pick([5, 2, 0])]);
    expect(width.value !== null && width.u95).toBeCloseTo(1.96 * 0.01 * Math.hypot(1, 0.5, 0.5), 6);
  });

  test('no line, no width', () => {
    expect(widthAcross([pick([0, 0, 0]), pick([0, 0, 3]), pick([5, 2, 0])]).value).toBeNull();
    expect(widthAcross([pick([0, 0, 0]), pick([10, 0, 0]), pick([4, 0, 0])]).value).toBeNull();
  });
});

describe('between planes', () => {
  const record = gableRecord();
  // Slopes known to 0.01 each: one sigma of a pitch of 45° is half of that in radians.
  const evidence = { method: '', noiseM: 0.006, correlationLengthM: 0.3, effectivePointCount: 100, covariance: [1e-6, 0, 0, 0, 1e-4, 0, 0, 0, 1e-4], centroid: [5, 2.5, 5.5] as const, notes: [] };
  const planes = snapTargets({ ...record, buildings: record.buildings.map((building) => ({ ...building, roofPlanes: building.roofPlanes.map((plane) => ({ ...plane, evidence })) })) }).planes;

  test('two slopes of 45° meet at a right angle on the ridge; taken apart at a valley it is three of them', () => {
    const angle = angleOfPlanes(planes[0]!, planes[1]!);
    expect(angle.value).toBeCloseTo(90, 6);
    // Each pitch turns the angle by itself: d(arctan s) = ds / (1 + s²) = ds / 2.
    expect(angle.value !== null && angle.u95).toBeCloseTo((1.96 * Math.hypot(0.005, 0.005) * 180) / Math.PI, 3);
    const [south, north] = planes as [typeof planes[0], typeof planes[0]];
    const valley = angleOfPlanes({ ...south!, outline: north!.outline }, { ...north!, outline: south!.outline });
    expect(valley.value).toBeCloseTo(270, 6);
  });

  test('without a covariance nothing is said', () => {
    expect(angleOfPlanes({ ...planes[0]!, evidence: null }, planes[1]!).value).toBeNull();
  });
});
