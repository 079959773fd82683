import { persistentMinima } from '../../geometry/persistent-minima.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import { SIGMAS_95 } from '../../reading/plane-uncertainty.ts';
import type { LowPoint } from '../../roof/record.ts';
import { measured } from '../../units/measured.ts';
import type { FaceFit } from './fit-faces.ts';
import { elevationAt } from './intersections.ts';
import { covarianceAt, meanHeightU95 } from './residual-correlation.ts';
import type { FoundEdge } from './roof-edges.ts';
import { cellCentre, isPure, type Face, type RasterFrame, type RoofRaster } from './roof-raster.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { RoofMap } from './split-arcs.ts';

/** Steeper planes shed water by themselves. [-] 5°. */
const NEAR_FLAT = 0.0875;
/** Raster of the search. [m] */
const CELL = 0.1;
/** Gaussian smoothing: without it 10 mm of noise gives 70 to 130 false minima on a roof (methods D). [m] */
const SMOOTHING = 0.3;
/** Shallower hollows are not told from noise or deflection. [m] */
const LEAST_DEPTH = 0.012;
const LEAST_SIGMAS = 3;
/** A low point this near an edge where water can leave is the eave. [m] */
const RIM = 0.4;
/** Corner of falling planes this near a minimum is where the water goes. [m] */
const CORNER_REACH = 1;
/** Fall times basin radius over long-wave sigma: trustworthy, and telling anything at all (methods D). */
const TRUSTWORTHY = 10;
const TELLING = 5;
/** Correlation beyond this distance makes false hollows that smoothing does not remove. [m] */
const LONG_WAVE = 0.2;

export interface LowPointInput {
  readonly raster: RoofRaster;
  readonly faces: readonly Face[];
  readonly fits: readonly FaceFit[];
  readonly edges: readonly FoundEdge[];
  readonly map: RoofMap;
  readonly solved: SolvedCorners;
}

/** Hollows of near-flat roofs where water would stand or drain, each with a verdict on how much this cloud can tell. */
export function lowPoints(input: LowPointInput): Omit<LowPoint, 'id'>[] {
  const flat = input.fits.map((fit) => Math.hypot(fit.slopeX, fit.slopeY) < NEAR_FLAT && fit.pointCount > 50);
  if (!flat.some(Boolean)) return [];
  const coarse = coarseHeights(input.raster, input.faces, flat);
  const smooth = smoothHeights(coarse);
  const found: Omit<LowPoint, 'id'>[] = [];
  for (const group of flatGroups(input, flat)) found.push(...groupLowPoints(input, coarse, smooth, group));
  return found;
}

interface CoarseRaster extends RasterFrame {
  readonly heights: Float64Array;
  readonly weights: Float64Array;
  readonly face: Uint16Array;
}

function coarseHeights(raster: RoofRaster, faces: readonly Face[], flat: readonly boolean[]): CoarseRaster {
  const by = Math.max(1, Math.round(CELL / raster.step));
  const columns = Math.ceil(raster.columns / by);
  const rows = Math.ceil(raster.rows / by);
  const heights = new Float64Array(columns * rows);
  const weights = new Float64Array(columns * rows);
  const face = new Uint16Array(columns * rows);
  for (let k = 0; k < raster.face.length; k++) {
    const f = raster.face[k]!;
    if (f === 0 || !flat[f - 1]) continue;
    const to = Math.floor(Math.floor(k / raster.columns) / by) * columns + Math.floor((k % raster.columns) / by);
    face[to] = f;
    const { label, plane } = faces[f - 1]!;
    if (raster.label[k] !== label || !isPure(raster, k)) continue;
    const [x, y] = cellCentre(raster, k);
    const [a, b, c] = plane.normal;
    const n = raster.count[k]!;
    const elevation = -(a * x + b * y + plane.offset) / c + raster.sum[k]! / n / c;
    heights[to]! += n * elevation;
    weights[to]! += n;
  }
  for (let k = 0; k < heights.length; k++) if (weights[k]! > 0) heights[k]! /= weights[k]!;
  return { origin: raster.origin, step: raster.step * by, columns, rows, heights, weights, face };
}

/**
 * Gaussian mean of the residuals about the plane, plus the plane: smoothing the heights themselves would fill hollows
 * between facets at the rim of the data.
 */
function smoothHeights({ heights, weights, face, columns, rows, step }: CoarseRaster): Float64Array {
  const reach = Math.ceil((2.5 * SMOOTHING) / step);
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, i) => Math.exp(-0.5 * (((i - reach) * step) / SMOOTHING) ** 2));
  const blur = (values: Float64Array): Float64Array => pass(pass(values, 1, columns, rows), columns, rows, columns);
  /** One pass along lines of cells `stride` apart. */
  function pass(values: Float64Array, stride: number, count: number, lines: number): Float64Array {
    const out = new Float64Array(values.length);
    const between = stride === 1 ? columns : 1;
    for (let line = 0; line < lines; line++) {
      for (let i = 0; i < count; i++) {
        let sum = 0;
        for (let j = Math.max(0, i - reach); j <= Math.min(count - 1, i + reach); j++) sum += kernel[j - i + reach]! * values[line * between + j * stride]!;
        out[line * between + i * stride] = sum;
      }
    }
    return out;
  }
  const total = blur(Float64Array.from(heights, (h, k) => h * weights[k]!));
  const weight = blur(weights);
  return Float64Array.from(total, (t, k) => (face[k] !== 0 && weight[k]! > 0 ? t / weight[k]! : Number.NaN));
}

/** Near-flat faces that touch belong to one roof deck. */
function flatGroups({ map, solved, fits }: LowPointInput, flat: readonly boolean[]): number[][] {
  const group = fits.map((_, i) => i);
  const find = (i: number): number => {
    while (group[i] !== i) i = group[i]!;
    return i;
  };
  map.pieces.forEach((piece, i) => {
    if (solved.vanished[i] || piece.left === 0 || piece.right === 0) return;
    const [a, b] = [piece.left - 1, piece.right - 1];
    if (!flat[a] || !flat[b]) return;
    const at = solved.positions[piece.from]!;
    if (Math.abs(elevationAt(fits[a]!, at) - elevationAt(fits[b]!, at)) > 0.1) return;
    const [p, q] = [find(a), find(b)];
    group[Math.max(p, q)] = Math.min(p, q);
  });
  const members = new Map<number, number[]>();
  fits.forEach((_, i) => {
    if (flat[i]) members.set(find(i), [...(members.get(find(i)) ?? []), i + 1]);
  });
  return [...members.values()];
}

function groupLowPoints(input: LowPointInput, coarse: CoarseRaster, smooth: Float64Array, group: readonly number[]): Omit<LowPoint, 'id'>[] {
  const inGroup = new Set(group);
  const { fits, edges } = input;
  const largest = group.reduce((a, b) => (fits[b - 1]!.pointCount > fits[a - 1]!.pointCount ? b : a));
  const { correlation, density, noise } = fits[largest - 1]!;
  const side = 2 * Math.sqrt(Math.PI) * SMOOTHING;
  const sigma = meanHeightU95(correlation, density * side * side, side) / SIGMAS_95;
  const longWave = Math.max(sigma, Math.sqrt(Math.max(0, covarianceAt(correlation, LONG_WAVE))), 0.02 * noise);
  const heights = smooth.map((h, k) => (inGroup.has(coarse.face[k]!) ? h : Number.NaN));
  const rim = edges.filter(({ faces, kind }) => faces.some((f) => inGroup.has(f)) && faces.length === 1 && kind !== 'parapet' && kind !== 'abutment');
  const least = Math.max(LEAST_DEPTH, LEAST_SIGMAS * sigma);
  const minima = persistentMinima(heights, coarse.columns, coarse.rows, least, rim.length > 0);
  return minima.flatMap(({ cell, persistence, cells }) => {
    const lowest = cellCentre(coarse, cell);
    if (rim.some((edge) => distanceToEdge(edge, lowest) < RIM)) return [];
    const area = cells * coarse.step * coarse.step;
    const radius = Math.sqrt(area / Math.PI);
    const fit = fits[coarse.face[cell]! - 1]!;
    const fall = Math.hypot(fit.slopeX, fit.slopeY);
    const ratio = (fall * radius) / longWave;
    const corner = ratio >= TRUSTWORTHY ? hollowCorner(input, lowest) : null;
    const at: Vector2 = corner ?? lowest;
    return [{
      at: [at[0], at[1], corner ? elevationAt(fit, at) : heights[cell]!] as Vector3,
      depthM: measured(persistence, [{ name: 'noise', u95: SIGMAS_95 * Math.SQRT2 * sigma }]),
      // Two basins part where the fall is nothing, so their border wanders by the noise over the fall.
      drainedPlanAreaM2: measured(area, [{ name: 'divide', u95: Math.min(area, (SIGMAS_95 * 4 * radius * longWave) / Math.max(fall, 1e-3)) }]),
      verdict: ratio >= TRUSTWORTHY ? 'likely' : ratio >= TELLING ? 'candidate' : 'cannot-tell',
    } satisfies Omit<LowPoint, 'id'>];
  });
}

function distanceToEdge({ from, to }: FoundEdge, [x, y]: readonly [number, number]): number {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const t = Math.min(1, Math.max(0, ((x - from[0]) * dx + (y - from[1]) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(from[0] + t * dx - x, from[1] + t * dy - y);
}

/** Corner where three or more planes meet, near a minimum: the planes place it better than the lowest cell does. */
function hollowCorner({ map, solved }: LowPointInput, near: readonly [number, number]): Vector2 | null {
  const meeting = new Map<number, number>();
  map.pieces.forEach((piece, i) => {
    if (solved.vanished[i] || !piece.meets) return;
    for (const v of [solved.standsFor[piece.from]!, solved.standsFor[piece.to]!]) meeting.set(v, (meeting.get(v) ?? 0) + 1);
  });
  let best: { at: Vector2; away: number } | null = null;
  for (const [v, count] of meeting) {
    const at = solved.positions[v]!;
    const away = Math.hypot(at[0] - near[0], at[1] - near[1]);
    if (count >= 3 && away < CORNER_REACH && (!best || away < best.away)) best = { at, away };
  }
  return best?.at ?? null;
}
