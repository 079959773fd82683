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

const LONG_WAVE_SHARE = 1 / 3;

/**
 * One sigma of a fitted plane's height at a place: [1 x y] C [1 x y]ᵀ about the centroid (Meidow and Förstner 2018,
 * centroid form); without a covariance, the noise shared by the plane's points. On top comes what no fit can average:
 * errors that run together over more than the plane. They are taken as a third of the noise: on the sample, picks on
 * whole planes of 15 to 28 m² lay up to 7 mm off with a noise of 9 mm, where the covariance alone said 2 mm.
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
export function edgeSigma(edge: EdgeTarget, ray: PickRay, quality: LocalQuality): Vector3 {
  const across = edge.sidewaysSigmaM ?? unknownEdgeSigma(quality);
  const along = pointingSigma(ray);
  const [x, y] = normalize(subtract(edge.to, edge.from));
  const level = Math.hypot(x, y);
  const [c, s] = level > 1e-9 ? [x / level, y / level] : [1, 0];
  return [Math.hypot(along * c, across * s), Math.hypot(along * s, across * c), Math.hypot(edge.slope * across, quality.noiseM * LONG_WAVE_SHARE)];
}

/**
 * A corner is known sideways as its worst edge is. It lies on its plane, so a sideways error raises or lowers it by the
 * slope; where several planes meet each of them holds it. Where fewer than three planes meet, a corner is the end of
 * the points, which a reconstruction rounds off: three sigma of that reach half a spacing, the farthest the last points
 * can stand inside it. (Without this share 78 in 100 distances between corners of the sample held their ±, with it 96.)
 */
export function cornerSigma(corner: CornerTarget, quality: LocalQuality): Vector3 {
  const rounded = corner.planeCount >= 3 ? 0 : quality.spacingM / 6;
  const sideways = Math.hypot(corner.sidewaysSigmaM ?? unknownEdgeSigma(quality), rounded);
  const vertical = Math.hypot((corner.slope * sideways) / Math.sqrt(corner.planeCount), quality.noiseM * LONG_WAVE_SHARE);
  return [sideways, sideways, vertical];
}
