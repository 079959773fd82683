import type { Vector3 } from '../../geometry/vector.ts';
import { normalize, subtract } from '../../geometry/vector.ts';
import type { PickRay } from './pick-ray.ts';
import type { CornerTarget, EdgeTarget, PlaneTarget } from './snap-targets.ts';

/** What the cloud around a pick is like. */
export interface LocalQuality {
  readonly spacingM: number;
  readonly noiseM: number;
}

/**
 * One sigma of where an edge lies sideways, when the record does not say: points stop somewhere within one spacing of
 * the true edge, evenly spread, so spacing over the square root of 12; the noise comes on top.
 */
const unknownEdgeSigma = ({ spacingM, noiseM }: LocalQuality): number => Math.hypot(spacingM / Math.sqrt(12), noiseM);

/** A pointer is placed within about a pixel: even spread of one pixel either way. */
const pointingSigma = (ray: PickRay): number => ray.metresPerPixel / Math.sqrt(3);

/** A bare point is off by the noise of the cloud, and stands for its neighbourhood of one spacing. */
export function pointSigma(quality: LocalQuality): Vector3 {
  const sideways = unknownEdgeSigma(quality);
  return [sideways, sideways, quality.noiseM];
}

/** On a plane the place across the picture is the person's choice; how high the plane lies there is not. */
export function planeSigma(plane: PlaneTarget, at: Vector3, ray: PickRay, quality: LocalQuality): Vector3 {
  const vertical = planeHeightSigma(plane, at, quality);
  const pointing = pointingSigma(ray);
  return [pointing, pointing, vertical];
}

/** Calibrated: see `planeHeightSigma`. */
const LONG_WAVE_SHARE = 0.15;

/**
 * One sigma of a fitted plane's height at a place: [1 x y] C [1 x y]ᵀ about the centroid (Meidow and Förstner 2018,
 * centroid form); without a covariance, the noise shared by the plane's points. On top comes what no fit can average:
 * errors that run together over more than the plane. On simulated roofs of twelve kinds with correlated noise, at 2 and
 * 5 cm, the covariance alone held 75 and 88 of 100 heights; with 0.15 of the noise it is 95 and more.
 */
export function planeHeightSigma(plane: PlaneTarget, at: Vector3, { noiseM }: LocalQuality): number {
  const { evidence } = plane;
  const longWave = noiseM * LONG_WAVE_SHARE;
  if (!evidence || evidence.covariance.length !== 9) return Math.hypot(longWave, noiseM / Math.sqrt(Math.max(1, plane.pointCount)));
  const row = [1, at[0] - evidence.centroid[0], at[1] - evidence.centroid[1]];
  let variance = 0;
  for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) variance += row[i]! * evidence.covariance[3 * i + j]! * row[j]!;
  return Math.hypot(longWave, Math.sqrt(Math.max(0, variance)));
}

/** Across the edge it is as sure as the edge, along it as sure as the pointer. */
export function edgeSigma(edge: EdgeTarget, at: Vector3, ray: PickRay, quality: LocalQuality): Vector3 {
  const across = edge.sidewaysSigmaM ?? unknownEdgeSigma(quality);
  const along = pointingSigma(ray);
  const [x, y] = normalize(subtract(edge.to, edge.from));
  const level = Math.hypot(x, y);
  const [c, s] = level > 1e-9 ? [x / level, y / level] : [1, 0];
  return [Math.hypot(along * c, across * s), Math.hypot(along * s, across * c), Math.hypot(edge.slope * across, heightSigmaOf(edge, at, quality))];
}

/**
 * Where fewer than three planes meet, a corner is the end of the points, known sideways as its worst edge is; a
 * reconstruction rounds such ends off by a share of its spacing. It lies on its planes, so a sideways error raises or
 * lowers it by the slope. Where three planes or more meet they alone say where it is: their heights' doubts, carried
 * through the least-squares point of their equations.
 */
export function cornerSigma(corner: CornerTarget, quality: LocalQuality): Vector3 {
  const met = corner.planes.length >= 3 ? meetingSigma(corner, quality) : null;
  const edge = corner.sidewaysSigmaM ?? unknownEdgeSigma(quality);
  if (met && Math.max(met[0], met[1]) < HELD_BY_PLANES_M) return [Math.max(edge, met[0]), Math.max(edge, met[1]), met[2]];
  const sideways = corner.planeCount >= 3 ? edge : Math.hypot(edge, quality.noiseM * LONG_WAVE_SHARE, quality.spacingM * ROUNDED_SPACINGS);
  return [sideways, sideways, Math.hypot((corner.slope * sideways) / Math.sqrt(corner.planeCount), heightSigmaOf(corner, corner.at, quality))];
}

/** How sure the planes of a place lie there; what is shared beyond them where none is known. */
function heightSigmaOf({ planes }: { readonly planes: readonly PlaneTarget[] }, at: Vector3, quality: LocalQuality): number {
  if (planes.length === 0) return quality.noiseM * LONG_WAVE_SHARE;
  return Math.max(...planes.map((plane) => planeHeightSigma(plane, at, quality)));
}

/** How far the end of a reconstructed surface is rounded off, one sigma. Calibrated, as the share of the noise is. [spacings] */
const ROUNDED_SPACINGS = 0.1;
/** Planes that lean apart so little that they place a corner no better than this do not place it: their borders do. [m] */
const HELD_BY_PLANES_M = 0.05;

/** One sigma of x, y and z of the point nearest to all planes that meet; null where they do not fix one. */
function meetingSigma({ planes, at }: CornerTarget, quality: LocalQuality): Vector3 | null {
  // Height of plane i at x, y less z is nothing: rows (slope x, slope y, -1), weighted by the doubt of its height here.
  const normal = new Float64Array(9);
  for (const plane of planes) {
    const [a, b, c] = plane.normal;
    if (c < 0.02) return null;
    const row = [-a / c, -b / c, -1];
    const weight = 1 / planeHeightSigma(plane, at, quality) ** 2;
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) normal[3 * i + j]! += weight * row[i]! * row[j]!;
  }
  return inverseDiagonal(normal);
}

/** Square roots of the diagonal of a symmetric 3 × 3 matrix's inverse; null when it has none. */
function inverseDiagonal(m: Float64Array): Vector3 | null {
  const [a, b, c, , d, e, , , f] = m as unknown as readonly [number, number, number, number, number, number, number, number, number];
  const minors = [d * f - e * e, a * f - c * c, a * d - b * b] as const;
  const determinant = a * minors[0] - b * (b * f - c * e) + c * (b * e - c * d);
  if (!(determinant > 1e-9 * a * d * f)) return null;
  return [Math.sqrt(minors[0] / determinant), Math.sqrt(minors[1] / determinant), Math.sqrt(minors[2] / determinant)];
}
