import { upperMedian } from '../../../geometry/order-statistic.ts';
import type { PointLookup } from '../raster/point-lookup.ts';
import { cellCentre, isPure, type Face, type RasterFrame, type RoofRaster } from '../raster/roof-raster.ts';
import { exp } from '../../../geometry/same-math.ts';

/** Raster of the search for hollows. [m] */
const CELL = 0.1;
/** Gaussian smoothing: without it 10 mm of noise gives 70 to 130 false minima on a roof (methods D). [m] */
const LEAST_SMOOTHING = 0.3;
/** Thin clouds are smoothed over some dozens of points, or the noise of single ones is all there is. [spacings] */
const SMOOTHING_IN_SPACINGS = 2;

export interface DeckHeights extends RasterFrame {
  /** Mean elevation of each cell's points. [m] */
  readonly heights: Float64Array;
  /** The same, smoothed; NaN off the deck. [m] */
  readonly smooth: Float64Array;
  readonly weights: Float64Array;
  readonly face: Uint16Array;
  /** Non-zero where no point of any kind lies, on or above the deck. */
  readonly isEmpty: Uint8Array;
  /** Sigma of the smoothing. [m] */
  readonly smoothing: number;
}

/**
 * Heights of the near-flat faces over a coarse raster. Where two faces meet in a cell all their points count: creases tell
 * most of where water runs.
 */
export function deckHeights(raster: RoofRaster, faces: readonly Face[], flat: readonly boolean[], points: PointLookup): DeckHeights {
  const deckLabels = new Set(faces.filter((_, i) => flat[i]).map(({ label }) => label));
  const by = Math.max(1, Math.round(CELL / raster.step));
  const columns = Math.ceil(raster.columns / by);
  const rows = Math.ceil(raster.rows / by);
  const heights = new Float64Array(columns * rows);
  const weights = new Float64Array(columns * rows);
  const face = new Uint16Array(columns * rows);
  const isEmpty = new Uint8Array(columns * rows).fill(1);
  for (let k = 0; k < raster.face.length; k++) {
    const f = raster.face[k]!;
    const to = Math.floor(Math.floor(k / raster.columns) / by) * columns + Math.floor((k % raster.columns) / by);
    if (raster.count[k]! + raster.looseCount[k]! > 0) isEmpty[to] = 0;
    if (f === 0 || !flat[f - 1]) continue;
    face[to] = f;
    const { label, plane } = faces[f - 1]!;
    const [a, b, c] = plane.normal;
    let [n, above] = [raster.count[k]!, raster.sum[k]!];
    if (raster.label[k] !== label || !isPure(raster, k)) {
      [n, above] = [0, 0];
      points.each(k, (x, y, z, own) => {
        if (!deckLabels.has(own)) return;
        n++;
        above += a * x + b * y + c * z + plane.offset;
      });
      if (n === 0) continue;
    }
    const [x, y] = cellCentre(raster, k);
    const elevation = -(a * x + b * y + plane.offset) / c + above / n / c;
    heights[to]! += n * elevation;
    weights[to]! += n;
  }
  for (let k = 0; k < heights.length; k++) if (weights[k]! > 0) heights[k]! /= weights[k]!;
  const step = raster.step * by;
  const coarse = { origin: raster.origin, step, columns, rows, heights, weights, face, isEmpty, smoothing: smoothingFor(face, weights, step) };
  return { ...coarse, smooth: smoothHeights(coarse) };
}

function smoothingFor(face: Uint16Array, weights: Float64Array, step: number): number {
  const cells = face.reduce((n, f) => n + (f !== 0 ? 1 : 0), 0);
  const points = weights.reduce((sum, n) => sum + n, 0);
  return points > 0 ? Math.max(LEAST_SMOOTHING, SMOOTHING_IN_SPACINGS * step * Math.sqrt(cells / points)) : LEAST_SMOOTHING;
}

/** Gaussian mean of the heights, by the points behind each; cells without points take it from about them. */
function smoothHeights({ heights, weights, face, columns, rows, step, smoothing }: Omit<DeckHeights, 'smooth'>): Float64Array {
  const reach = Math.ceil((2.5 * smoothing) / step);
  const kernel = Array.from({ length: 2 * reach + 1 }, (_, i) => exp(-0.5 * (((i - reach) * step) / smoothing) ** 2));
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

/** Distances of the second differences. [m] */
const WAVE_STEPS = [0.6, 1, 1.4];
const FEWEST_DIFFERENCES = 40;

/**
 * One sigma of what smoothing leaves of the noise: long waves. From second differences along lines within one face, which
 * no slope enters; their median size is blind to the few that cross a crease the faces do not show. Uncorrelated at the
 * distance taken, a second difference has six times the variance of a height; where waves are longer that says too little,
 * so the largest over several distances counts. Waves may have been taken for faces: over the shortest distance, where
 * creases are few, differences across faces count too.
 *
 * @returns null where the deck is too small to tell.
 */
export function longWaveSigma(deck: DeckHeights, isDeck: (face: number) => boolean): number | null {
  const found = [differenceSigma(deck, isDeck, WAVE_STEPS[0]!, true), ...WAVE_STEPS.map((distance) => differenceSigma(deck, isDeck, distance, false))];
  const known = found.filter((sigma) => sigma !== null);
  return known.length > 0 ? Math.max(...known) : null;
}

function differenceSigma({ smooth, face, columns, step }: DeckHeights, isDeck: (face: number) => boolean, distance: number, acrossFaces: boolean): number | null {
  const lag = Math.round(distance / step);
  const sizes: number[] = [];
  for (const stride of [lag, lag * columns]) {
    for (let k = stride; k + stride < smooth.length; k++) {
      const here = face[k]!;
      if (here === 0) continue;
      const before = face[k - stride]!;
      const after = face[k + stride]!;
      if (!(acrossFaces ? isDeck(before) && isDeck(here) && isDeck(after) : before === here && here === after && isDeck(here))) continue;
      const size = Math.abs(smooth[k - stride]! - 2 * smooth[k]! + smooth[k + stride]!);
      // A wide hole in the points leaves cells of a face without a height.
      if (!Number.isNaN(size)) sizes.push(size);
    }
  }
  if (sizes.length < FEWEST_DIFFERENCES) return null;
  return (1.4826 * upperMedian(sizes)) / Math.sqrt(6);
}
