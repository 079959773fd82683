import { describe, expect, test } from 'vitest';
import { makeScene } from '../../../sample-data/generator/scene.ts';
import { cross, dot, length, subtract, type Vector3 } from '../../../src/geometry/vector.ts';
import { GROUND_COVER_U95 } from '../../../src/find/buildings/ground-elevation.ts';
import { DEFAULT_ASSUMPTIONS } from '../../../src/reading/assumptions.ts';
import { figuresOf } from '../../../src/survey/score/figures.ts';
import { scoreRecord } from '../../../src/survey/score/score-record.ts';
import type { Truth, TruthPlane } from '../../../src/survey/score/truth.ts';
import { movedTruth, surveyCentre } from '../../accuracy/moved-truth.ts';
import { runCase, scoreBoth } from '../../accuracy/run-case.ts';
import { drawSurveyError, movedPoint, NO_ERROR, surveyMatrix, type SurveyError } from '../../accuracy/survey-error.ts';
import { gableTruth } from '../../fixtures/gable-truth.ts';
import { recordOfTruth } from '../../fixtures/record-of-truth.ts';

const DEGREE = Math.PI / 180;
/** Many times what a survey has, so that a wrong sign cannot hide. */
const GROSS: SurveyError = { scalePlan: 0.01, scaleHeight: -0.02, tiltEast: 0.4 * DEGREE, tiltNorth: -0.3 * DEGREE, north: 3 * DEGREE, groundCover: 0.1 };
const hip = makeScene('hip', 3, { spacing: 0.5 }).truth;
const flat = makeScene('flat', 3, { spacing: 0.5 }).truth;

/** Area vector of a ring: half the sum of cross products (Newell's method). */
function areaVector(ring: readonly Vector3[]): Vector3 {
  const sum: [number, number, number] = [0, 0, 0];
  ring.forEach((p, i) => cross(subtract(p, ring[0]!), subtract(ring[(i + 1) % ring.length]!, ring[0]!)).forEach((c, k) => (sum[k]! += c / 2)));
  return sum;
}

test('a survey without errors leaves the truth as it is', () => {
  for (const truth of [gableTruth, hip, flat]) {
    const same = movedTruth(truth, NO_ERROR);
    const numbers = (value: unknown): unknown =>
      typeof value === 'number' ? expect.closeTo(value, 8)
        : Array.isArray(value) ? value.map(numbers)
          : value !== null && typeof value === 'object' ? Object.fromEntries(Object.entries(value).map(([key, one]) => [key, numbers(one)])) : value;
    expect(same).toEqual(numbers(truth));
  }
});

describe('a survey with gross errors', () => {
  test.each([['gable', gableTruth], ['hip', hip], ['flat', flat]])('numbers of a moved %s roof are those of its moved rings', (_, truth) => {
    const moved = movedTruth(truth, GROSS);
    moved.planes.forEach((plane: TruthPlane) => {
      const area = areaVector(plane.ring);
      const holes = plane.holes.map(areaVector);
      const whole = holes.reduce((sum, hole) => sum - length(hole), length(area));
      expect(plane.slopeAreaM2).toBeCloseTo(whole, 6);
      expect(plane.planAreaM2).toBeCloseTo((whole * area[2]) / length(area), 6);
      expect(dot(plane.normal, area)).toBeCloseTo(length(area), 6);
      expect(plane.pitchDeg).toBeCloseTo(Math.acos(area[2] / length(area)) / DEGREE, 6);
    });
  });

  test('turns bearings to the right, and stretches lengths', () => {
    const moved = movedTruth(gableTruth, { ...NO_ERROR, north: 2 * DEGREE, scalePlan: 0.001, scaleHeight: 0.001 });
    expect(moved.planes.map(({ azimuthGridDeg }) => azimuthGridDeg)).toEqual([expect.closeTo(182, 9), expect.closeTo(2, 9)]);
    expect(moved.planes[0]!.slopeAreaM2).toBeCloseTo(50 * 1.001 ** 2, 9);
    const [ridge] = moved.edges;
    expect(length(subtract(ridge!.to, ridge!.from))).toBeCloseTo(10.01, 9);
  });

  test('a chimney rises over its moved plane by as much as its moved middle does', () => {
    const m = surveyMatrix(GROSS);
    const centre = surveyCentre(gableTruth);
    const foot: Vector3 = [4.5, -1.5, 106 - 0.75 * 1.5];
    const [x, y, z] = movedPoint(m, centre, [foot[0], foot[1], foot[2] + 1.2]);
    const moved = movedTruth(gableTruth, GROSS);
    const { normal, ring } = moved.planes[0]!;
    const below = ring[0]![2] - (normal[0] * (x - ring[0]![0]) + normal[1] * (y - ring[0]![1])) / normal[2];
    expect(moved.obstructions[0]!.heightAboveRoofM).toBeCloseTo(z - below, 9);
  });

  test('a record with known faults scores the same on the moved roof as on the roof itself', () => {
    // The record's roof is 1 % long, 2 % low and turned against the true one; both are then moved alike.
    const faulty = (truth: Truth): Truth => movedTruth(truth, { ...NO_ERROR, scalePlan: 0.01, scaleHeight: -0.02, north: 0.5 * DEGREE });
    const move: SurveyError = { ...NO_ERROR, scalePlan: 0.0004, scaleHeight: -0.0003, tiltEast: 0.02 * DEGREE, tiltNorth: 0.015 * DEGREE, north: -0.05 * DEGREE };
    for (const truth of [gableTruth, hip]) {
      const still = scoreRecord(recordOfTruth(faulty(truth)), truth);
      const moved = scoreRecord(recordOfTruth(movedTruth(faulty(truth), move)), movedTruth(truth, move));
      expect(moved.intervals).toHaveLength(still.intervals.length);
      still.intervals.forEach((seen, i) => {
        // Within half a hundredth of the fault: what scale and tilt of the move do to an error itself; on falls of 1° it would be more.
        expect(Math.abs(moved.intervals[i]!.error - seen.error), `${seen.quantity} of ${seen.about}`).toBeLessThan(0.005 * Math.abs(seen.error) + 2e-4);
      });
      const figures = [still, moved].map((score) => figuresOf(score));
      expect(figures[1]!.sides.rmsSpacings!).toBeCloseTo(figures[0]!.sides.rmsSpacings!, 2);
      expect(figures[1]!.corners.rmsSpacings!).toBeCloseTo(figures[0]!.corners.rmsSpacings!, 2);
    }
  });

  test('stated intervals are held against the roof itself, what the cloud tells of itself against the moved one', () => {
    const moved = movedTruth(gableTruth, { ...NO_ERROR, north: 2 * DEGREE });
    const { score, ownIntervals } = scoreBoth(recordOfTruth(moved), gableTruth, moved, 'gable');
    const azimuths = (list: typeof ownIntervals): number[] => list.filter(({ quantity }) => quantity === 'azimuth').map(({ error }) => error);
    expect(azimuths(score.intervals)).toEqual([expect.closeTo(2, 6), expect.closeTo(2, 6)]);
    expect(azimuths(ownIntervals)).toEqual([expect.closeTo(0, 6), expect.closeTo(0, 6)]);
    expect(score.planeMatches[0]!.azimuthErrorDeg).toBeCloseTo(0, 6);
  });

  test('a surveyed cloud shows them, and nothing else of the survey suffers', async () => {
    const { score, ownIntervals } = await runCase({ kind: 'gable', seed: 2, noise: 'white', spacing: 0.1 }, GROSS);
    const greatest = (list: typeof ownIntervals): number => Math.max(...list.filter(({ quantity }) => quantity === 'azimuth').map(({ error }) => Math.abs(error - 3)));
    expect(greatest(score.intervals)).toBeLessThan(0.7);
    expect(score.planeMatches).toHaveLength(2);
    // The ground hides under a decimetre, and no more.
    expect(Math.abs(score.intervals.find(({ quantity }) => quantity === 'ground elevation')!.error - 0.1)).toBeLessThan(0.01);
    for (const { pitchErrorDeg, azimuthErrorDeg } of score.planeMatches) {
      expect(Math.abs(pitchErrorDeg!)).toBeLessThan(0.1);
      expect(Math.abs(azimuthErrorDeg!)).toBeLessThan(0.2);
    }
  });
});

test('drawn errors spread as assumed, of lengths and of the difference between plan and height', () => {
  const drawn = Array.from({ length: 4000 }, (_, i) => drawSurveyError(`case ${i}`, DEFAULT_ASSUMPTIONS));
  // 95 % of 4000 is 3800, give or take 27 (two binomial sigmas).
  const within = (half: number, pick: (e: SurveyError) => number): number => drawn.filter((e) => Math.abs(pick(e)) <= half).length;
  const counts = [
    within(0.0005, (e) => e.scalePlan), within(0.0005, (e) => e.scaleHeight), within(0.0005, (e) => e.scaleHeight - e.scalePlan),
    within(0.02 * DEGREE, (e) => e.tiltEast), within(0.02 * DEGREE, (e) => e.tiltNorth), within(0.05 * DEGREE, (e) => e.north),
    within(GROUND_COVER_U95, (e) => e.groundCover),
  ];
  for (const count of counts) expect(Math.abs(count - 3800)).toBeLessThan(45);
  expect(drawSurveyError('case 1', DEFAULT_ASSUMPTIONS)).toEqual(drawn[1]);
});
