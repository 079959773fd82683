import type { Vector2 } from '../../../geometry/vector.ts';
import { meanNearMiddle } from '../../../geometry/order-statistic.ts';
import { cos, sin } from '../../../geometry/same-math.ts';
import { covarianceAt, type Correlation } from '../faces/residual-correlation.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { cellCentre } from '../raster/roof-raster.ts';
import type { RaisedPatch } from './find-obstructions.ts';
import { grown, GAP_CELLS, type ObstructionContext } from './patch-points.ts';
import type { Footprint } from './top-shape.ts';

/** Part of a top whose points were averaged. */
export interface TopSample {
  readonly area: Footprint;
  readonly points: number;
  /** How many times rougher than the roof. */
  readonly roughness: number;
  /** It lies along the roof, so its noise leans as the roof's does. */
  readonly follows: boolean;
}

/** Where the roof lies beneath a thing, and how well the height above it is known. */
export interface RoofBeneath {
  /** Off the roof's plane. [m] */
  readonly offset: number;
  /** How well that is known of the ring's own noise, one sigma. [m] */
  readonly offsetSigma: number;
  /** Of the top's mean less the roof's, one sigma: noise that both share is no error of the height. [m] */
  readonly sigma: number;
  /** Share of the ring's own height in it; the rest is the plane's. */
  readonly ringShare: number;
  /** Points of the ring about the thing, and how wide it is. [m] */
  readonly points: number;
  readonly width: number;
}

/** Rings about a thing that are tried: narrow ones share longer waves with it, wide ones have less noise. [m] */
const WIDTHS = [0.15, 0.3, 0.6] as const;
const FEWEST = 8;
/** Points farther than this from the middle of a ring are strays. [sigmas] */
const STRAY_SIGMAS = 2.5;
/** Cells of a ring and places of a top between which covariances are taken; their means need no more. */
const SAMPLES = 48;
const ACROSS = 7;
/** Mean distance of two places in a square, over its side: (2 + √2 + 5 asinh 1) / 15. */
const MEAN_DISTANCE = 0.5214;

/**
 * Best linear estimate of how far the roof beneath a thing lies off its plane, from the mean of a ring about it (simple
 * kriging of a block mean from a block mean: Journel & Huijbregts 1978, Mining Geostatistics, V.A): long waves go on under
 * the thing, short ones of the ring do not, so the ring counts by the covariance that it shares with the thing.
 */
export function roofBeneath(patch: RaisedPatch, top: TopSample, fit: FaceFit, context: ObstructionContext): RoofBeneath {
  const places = placesOf(top.area);
  // Noise is along the normal: upright it is greater by one over its cosine.
  const upright = Math.hypot(1, fit.slopeX, fit.slopeY);
  const lean = top.follows ? upright : 1;
  const topVariance = (lean * top.roughness) ** 2 * meanVariance(places, fit.correlation, top.points, (ACROSS * ACROSS) / areaOf(top.area));
  let best: RoofBeneath = { offset: 0, offsetSigma: 0, sigma: Math.sqrt(topVariance), ringShare: 0, points: 0, width: 0 };
  for (const width of WIDTHS) {
    const ring = ringAbout(patch, width, fit, context);
    if (ring.points < FEWEST) continue;
    const own = upright ** 2 * meanVariance(ring.places, fit.correlation, ring.points, ring.placesPerArea);
    const shared = upright * lean * meanCovariance(places, ring.places, fit.correlation);
    const share = own > 0 ? Math.max(0, Math.min(1, shared / own)) : 0;
    const variance = Math.max(fit.correlation.alone / Math.max(1, top.points), topVariance - 2 * share * shared + share * share * own);
    if (best.points > 0 && variance >= best.sigma * best.sigma) continue;
    best = { offset: share * ring.mean, offsetSigma: share * Math.sqrt(own), sigma: Math.sqrt(variance), ringShare: share, points: ring.points, width };
  }
  return best;
}

interface Ring {
  readonly mean: number;
  readonly points: number;
  readonly places: readonly Vector2[];
  /** [1/m²] */
  readonly placesPerArea: number;
}

function ringAbout(patch: RaisedPatch, width: number, fit: FaceFit, { raster, points, faces, taken }: ObstructionContext): Ring {
  const near = new Set(grown(raster, patch.cells, GAP_CELLS + 1));
  const reach = GAP_CELLS + 1 + Math.max(1, Math.round(width / raster.step));
  const cells = grown(raster, patch.cells, reach).filter((k) => !near.has(k) && !taken[k] && raster.face[k] === patch.face);
  const { x, y, z, label: own } = points.gather(cells);
  const { elevation, slopeX, slopeY, centroid } = fit;
  const { label } = faces[patch.face - 1]!;
  const values: number[] = [];
  for (let i = 0; i < x.length; i++) if (own[i] === label) values.push(z[i]! - (elevation + slopeX * (x[i]! - centroid[0]) + slopeY * (y[i]! - centroid[1])));
  const every = Math.max(1, cells.length / SAMPLES);
  const places: Vector2[] = [];
  for (let i = 0; i < cells.length; i += every) places.push(cellCentre(raster, cells[Math.floor(i)]!));
  const area = cells.length * raster.step * raster.step;
  return { mean: meanNearMiddle(values, STRAY_SIGMAS * fit.noise), points: values.length, places, placesPerArea: places.length / Math.max(area, 1e-9) };
}

const areaOf = ({ size, round }: Footprint): number => (round ? Math.PI / 4 : 1) * size[0] * size[1];

/** Places spread evenly over a footprint. */
function placesOf({ centre, turn, size, round }: Footprint): Vector2[] {
  const [c, s] = [cos(turn), sin(turn)];
  const places: Vector2[] = [];
  for (let i = 0; i < ACROSS; i++) {
    for (let j = 0; j < ACROSS; j++) {
      const [p, q] = [(i + 0.5) / ACROSS - 0.5, (j + 0.5) / ACROSS - 0.5];
      if (round && p * p + q * q > 0.25) continue;
      const [u, v] = [p * size[0], q * size[1]];
      places.push([centre[0] + u * c - v * s, centre[1] + u * s + v * c]);
    }
  }
  return places;
}

/** Variance of the mean of points spread over places; each place stands for the square about it. */
function meanVariance(places: readonly Vector2[], correlation: Correlation, points: number, placesPerArea: number): number {
  const n = places.length;
  if (n === 0) return 0;
  let sum = n * covarianceAt(correlation, MEAN_DISTANCE / Math.sqrt(placesPerArea));
  for (let i = 0; i < n; i++) {
    const [x, y] = places[i]!;
    for (let j = 0; j < i; j++) sum += 2 * covarianceAt(correlation, Math.hypot(x - places[j]![0], y - places[j]![1]));
  }
  return Math.max(0, sum / (n * n)) + correlation.alone / Math.max(1, points);
}

function meanCovariance(a: readonly Vector2[], b: readonly Vector2[], correlation: Correlation): number {
  let sum = 0;
  for (const p of a) for (const q of b) sum += covarianceAt(correlation, Math.hypot(p[0] - q[0], p[1] - q[1]));
  return sum / Math.max(1, a.length * b.length);
}
