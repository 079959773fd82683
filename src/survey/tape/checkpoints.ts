import { cross, dot, normalize, subtract, type Vector3 } from '../../geometry/vector.ts';
import { positionalAccuracy } from '../../reading/positional-accuracy.ts';
import { fitSimilarity, type FittedParameter, type SimilarityFit, type SimilarityObservation } from '../../reading/similarity-fit.ts';
import type { CheckpointAccuracy, RoofRecord, SiteFit } from '../../roof/record.ts';
import type { TapeReading } from '../../site/tape-reading.ts';
import { measured, missing, type Measured } from '../../units/measured.ts';
import type { SnapTargets } from '../measure/snap-targets.ts';
import { PLACING_DISTANCE, placeEnd, type PlacedEnd } from './place-ends.ts';

/** A surveyed point with what it lies on in the model. */
export interface PlacedCheckpoint {
  readonly id: string;
  /** Local frame. [m] */
  readonly survey: Vector3;
  /** Null when nothing was found there. */
  readonly placed: PlacedEnd | null;
  /** Directions in which the model tells its place, with one sigma of both and ours minus survey. */
  readonly tells: readonly { readonly direction: Vector3; readonly sigma: number; readonly offset: number }[];
}

const AXES: readonly [Vector3, Vector3, Vector3] = [[1, 0, 0], [0, 1, 0], [0, 0, 1]];

/**
 * Finds what each surveyed point lies on. A corner tells its place in full, an edge across and in height, a plane only
 * square to itself.
 */
export function placeCheckpoints(readings: readonly TapeReading[], record: RoofRecord, targets: SnapTargets): PlacedCheckpoint[] {
  return readings.filter(({ kind }) => kind === 'checkpoint').map((reading) => {
    const [survey, where] = reading.ends.map((end) => subtract(end, record.frame.origin)) as [Vector3, Vector3 | undefined];
    const placed = placeEnd(where ?? survey, targets, record.sampling);
    return { id: reading.id, survey, placed, tells: placed ? directionsOf(placed, targets).map((direction) => tellsAlong(direction, placed, survey, reading.sigma)) : [] };
  });
}

function tellsAlong(direction: Vector3, { pick }: PlacedEnd, survey: Vector3, sigma: number): PlacedCheckpoint['tells'][number] {
  const ours = Math.hypot(direction[0] * pick.sigmaM[0], direction[1] * pick.sigmaM[1], direction[2] * pick.sigmaM[2]);
  return { direction, sigma: Math.hypot(ours, sigma), offset: dot(direction, subtract(pick.at, survey)) };
}

function directionsOf({ pick }: PlacedEnd, targets: SnapTargets): readonly Vector3[] {
  if (pick.landedOn === 'corner') return AXES;
  if (pick.landedOn === 'plane') return [targets.planes.find(({ id }) => id === pick.of)!.normal];
  const edge = targets.edges.find(({ id }) => id === pick.of)!;
  const along = normalize(subtract(edge.to, edge.from));
  const run = Math.hypot(along[0], along[1]);
  if (run < 1e-6) return [AXES[0], AXES[1]];
  const across: Vector3 = [-along[1] / run, along[0] / run, 0];
  return [across, cross(along, across)];
}

/** Statistics of the points that are known in all three directions; null for fewer than two. */
export function checkpointAccuracy(points: readonly PlacedCheckpoint[]): CheckpointAccuracy | null {
  const whole = points.filter(({ tells }) => tells.length === 3);
  if (whole.length < 2) return null;
  const figures = positionalAccuracy(whole.map(({ tells }): Vector3 => [tells[0]!.offset, tells[1]!.offset, tells[2]!.offset]));
  return {
    count: figures.count,
    meanM: [figures.x.mean, figures.y.mean, figures.z.mean],
    rmseM: [figures.x.rmse, figures.y.rmse, figures.z.rmse],
    rmseHorizontalM: figures.rmseHorizontal,
    rmse3dM: figures.rmse3d,
    nssdaHorizontal95M: figures.nssdaHorizontal95,
    nssdaVertical95M: figures.nssdaVertical95,
    statement: figures.statement,
  };
}

const DEGREES = 180 / Math.PI;

/** Seven-parameter fit of the model on the surveyed points; null when none was placed. */
export function siteFit(points: readonly PlacedCheckpoint[]): SiteFit | null {
  const placed = points.filter((point) => point.placed !== null);
  if (placed.length === 0) return null;
  const observations = placed.flatMap(({ survey, placed: at, tells }) =>
    tells.map(({ direction, sigma }): SimilarityObservation => ({ from: survey, to: at!.pick.at, direction, sigma })));
  const fit = fitSimilarity(observations);
  const why = openBecause(placed);
  const number = ({ value, u95, isDetermined }: FittedParameter, factor: number): Measured => (isDetermined ? measured(value * factor, [{ name: 'checkpoints', u95: u95 * Math.abs(factor) }]) : missing(why));
  const { shiftX, shiftY, shiftZ, turnX, turnY, turnZ, scale } = fit.parameters;
  return {
    points: placed.length,
    degreesOfFreedom: fit.degreesOfFreedom,
    probability: fit.probability,
    about: fit.about,
    eastM: number(shiftX, 1),
    northM: number(shiftY, 1),
    upM: number(shiftZ, 1),
    // A right-handed turn about the east axis lifts the north; about the north axis it lowers the east.
    tiltNorthDeg: number(turnX, DEGREES),
    tiltEastDeg: number(turnY, -DEGREES),
    turnDeg: number(turnZ, -DEGREES),
    scale: number(scale, 1),
    vectors: vectorsOf(placed, fit),
  };
}

/** In what way these points are too few. */
function openBecause(points: readonly PlacedCheckpoint[]): string {
  const whole = points.filter(({ tells }) => tells.length === 3).length;
  if (points.length < 3) return `${points.length === 1 ? 'one checkpoint does' : 'two checkpoints do'} not tell it, three corners do`;
  if (whole < points.length) return `only ${whole} of ${points.length} checkpoints lie on a corner; edges and planes tell less`;
  return 'the checkpoints lie too nearly in one line';
}

function vectorsOf(points: readonly PlacedCheckpoint[], fit: SimilarityFit): SiteFit['vectors'] {
  let at = 0;
  return points.map(({ id, survey, tells }) => {
    const after = tells.map(() => fit.residuals[at++]!);
    return { id, at: survey, beforeM: alongAxes(tells.map(({ direction, offset }) => [direction, offset])), afterM: alongAxes(tells.map(({ direction }, i) => [direction, after[i]!])) };
  });
}

/** Offsets along directions as a vector; null along an axis that no direction tells. */
function alongAxes(offsets: readonly (readonly [Vector3, number])[]): [number | null, number | null, number | null] {
  return [0, 1, 2].map((axis) => {
    const telling = offsets.filter(([direction]) => Math.abs(direction[axis]!) > 1e-6);
    return telling.length === 0 ? null : telling.reduce((sum, [direction, offset]) => sum + direction[axis]! * offset, 0);
  }) as [number | null, number | null, number | null];
}

/** "corner of p1", or why nothing is compared. */
export const placeName = ({ placed }: PlacedCheckpoint): string => placed?.name ?? `nothing was found within ${PLACING_DISTANCE} m of it`;
