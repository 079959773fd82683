import { nearDistanceSquaredRaster } from '../../../geometry/distance-raster.ts';
import { rasterComponents } from '../../../geometry/raster-components.ts';
import { selectAt } from '../../../geometry/order-statistic.ts';
import { rectangleSum, summedRaster, type SummedRaster } from '../../../geometry/summed-raster.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import { cellCentre, isPure, type Face, type RoofRaster } from '../raster/roof-raster.ts';

/** Cells of something that stands on the roof. */
export interface RaisedPatch {
  readonly cells: readonly number[];
  /** Face that holds most of them. */
  readonly face: number;
  /** Mean height of its upper half above the roof, along the normal; a first guess. [m] */
  readonly height: number;
  /** Best score of the matched-size test. [sigmas] */
  readonly score: number;
  /** Cells of the same raised patch beyond the roof's rim. */
  readonly beyondRim: number;
}

/** False-alarm limit of the matched-size test: 0.14 expected on 200 m² (methods C). */
const LIMIT = 4.5;
/** Sizes of the test, in cells. Wider things are found by their rims or by height. */
const SIZES = [1, 2, 3, 5, 8, 12] as const;
/** Heights beyond this many sigmas of a cell add nothing, so that a tall thing does not raise its surroundings. */
const CLIP = 8;
/** Cells about a step or the rim show walls and rounding, not things. */
const RIM_CELLS = 1.6;
/** Nothing lower is called an obstruction, however sure the test is: tiles, seams, laps. [m] */
const LOWEST = 0.025;
const FEWEST_CELLS = 2;
/** What rises this much above the rest of a patch, and to twice its height, is told apart from it. [m] */
const TALLER = 0.25;
/** Loose points in cells of the roof's own: this far above it, and this many together, they are a thing's. [sigmas, m, -] */
const STRAY_SIGMAS = 6;
const STRAY_HEIGHT = 0.1;
const SHARED_HEIGHT = 0.5;
const FEWEST_SHARED = 4;
const SHARED_PART = 0.15;

/**
 * Things on the roof by their height above the planes: every cell's mean height is tested over squares of several sizes
 * against the scatter of such squares on the same roof, so correlated noise raises the limit by itself.
 *
 * @param steps  Non-zero on cells at a step between planes.
 * @param heights  Of `heightsAbove`.
 */
export function findRaised(raster: RoofRaster, fits: readonly FaceFit[], steps: Uint8Array, { height, weight: known }: HeightsAbove): RaisedPatch[] {
  const { columns, rows } = raster;
  const weight = known.slice();
  const usable = awayFromRims(raster, steps);
  for (let k = 0; k < weight.length; k++) if (!usable[k]) weight[k] = 0;
  const score = matchedScores(raster, fits, height, weight);
  const low = smoothed(height, weight, columns, rows);
  const floorOf = floors(raster, fits, low, weight);
  const raised = (k: number): number => (weight[k]! > 0 && low[k]! > floorOf[raster.face[k]! - 1]! ? 0 : -1);
  const { component, sizes } = rasterComponents(columns, rows, raised, true);
  const cellsOf: number[][] = sizes.map(() => []);
  for (let k = 0; k < component.length; k++) if (component[k] !== 0) cellsOf[component[k]!]!.push(k);
  const patches: RaisedPatch[] = [];
  for (const cells of cellsOf) {
    const best = cells.reduce((most, k) => Math.max(most, score[k]!), 0);
    if (cells.length === 0 || best < LIMIT) continue;
    patches.push(...patchOf(raster, cells, low, best));
  }
  return patches;
}

/** By raster cell. */
export interface HeightsAbove {
  /** Mean height above its face, along the normal. [m] */
  readonly height: Float32Array;
  /** Points behind it, 0 for none. */
  readonly weight: Float32Array;
}

/** Mean height of each cell above its face, and its count; loose points where they are as many as the face's own. */
export function heightsAbove(raster: RoofRaster, faces: readonly Face[], fits: readonly FaceFit[]): HeightsAbove {
  const { face } = raster;
  const height = new Float32Array(face.length);
  const weight = new Float32Array(face.length);
  for (let k = 0; k < face.length; k++) {
    if (face[k] === 0) continue;
    const fit = fits[face[k]! - 1]!;
    const own = faces[face[k]! - 1]!;
    const at = cellCentre(raster, k);
    const roof = elevationAt(fit, at);
    const [a, b, c] = own.plane.normal;
    let sum = 0;
    let count = 0;
    if (raster.label[k] === own.label && isPure(raster, k)) {
      const segment = -(a * at[0] + b * at[1] + own.plane.offset) / c;
      count = raster.count[k]!;
      sum = raster.sum[k]! + count * (segment - roof) * c;
    }
    const loose = raster.looseCount[k]!;
    // Those below the roof are walls and ground under an overhang.
    if (loose > 0 && raster.looseMean[k]! > roof - 5 * fit.noise) {
      const away = (raster.looseMean[k]! - roof) * c;
      if (loose >= count) {
        sum += loose * away;
        count += loose;
      } else if (raster.looseLow[k]! > roof + Math.max(STRAY_SIGMAS * fit.noise, STRAY_HEIGHT) && isShared(raster, k)) {
        // A cell half on a thing: its upper half counts. Alone among the roof's own, loose points are strays.
        sum = loose * away;
        count = loose;
      }
    }
    if (count === 0) continue;
    height[k] = sum / count;
    weight[k] = count;
  }
  return { height, weight };
}

/** True when the loose points of a cell and its neighbours are too many for strays. */
function isShared({ looseCount, looseLow, count, columns }: RoofRaster, k: number): boolean {
  let [loose, all] = [0, 0];
  for (const dy of [-columns, 0, columns]) {
    for (const dx of [-1, 0, 1]) {
      const n = k + dy + dx;
      all += count[n]! + looseCount[n]!;
      // Points of one thing share its height to within its walls; ground and trees do not.
      if (looseCount[n]! > 0 && Math.abs(looseLow[n]! - looseLow[k]!) < SHARED_HEIGHT) loose += looseCount[n]!;
    }
  }
  return loose >= Math.max(FEWEST_SHARED, SHARED_PART * all);
}

/** Non-zero on cells farther than so many cells from the roof's rim and from marked cells. */
export function awayFromRims(raster: RoofRaster, steps: Uint8Array, cells = RIM_CELLS): Uint8Array {
  const { face, columns, rows } = raster;
  const rim = new Uint8Array(face.length);
  for (let k = 0; k < face.length; k++) rim[k] = face[k] === 0 || steps[k] ? 1 : 0;
  const distance = nearDistanceSquaredRaster(rim, columns, rows, cells);
  for (let k = 0; k < rim.length; k++) rim[k] = distance[k]! > cells * cells ? 1 : 0;
  return rim;
}

function matchedScores(raster: RoofRaster, fits: readonly FaceFit[], height: Float32Array, weight: Float32Array): Float32Array {
  const { columns, rows, face } = raster;
  const product = new Float32Array(height.length);
  for (let k = 0; k < height.length; k++) {
    if (weight[k] === 0) continue;
    const limit = CLIP * fits[face[k]! - 1]!.noise;
    product[k] = weight[k]! * Math.min(limit, Math.max(-limit, height[k]!));
  }
  const heights = summedRaster(product, columns, rows);
  const weights = summedRaster(weight, columns, rows);
  const score = new Float32Array(height.length);
  for (const size of SIZES) scoreSize(raster, fits, heights, weights, size, weight, score);
  return score;
}

function scoreSize(
  raster: RoofRaster, fits: readonly FaceFit[], heights: SummedRaster, weights: SummedRaster, size: number, weight: Float32Array, score: Float32Array,
): void {
  const { columns, rows, face } = raster;
  const before = (size - 1) >> 1;
  const meanAt = (x: number, y: number): number => {
    const [x0, y0] = [x - before, y - before];
    const n = rectangleSum(weights, x0, y0, x0 + size, y0 + size);
    return n > 0 ? rectangleSum(heights, x0, y0, x0 + size, y0 + size) / n : 0;
  };
  // Scatter of such squares on each face, from squares that do not overlap.
  const samples: number[][] = fits.map(() => []);
  for (let y = before; y < rows; y += size) {
    for (let x = before; x < columns; x += size) {
      const k = y * columns + x;
      if (weight[k]! > 0) samples[face[k]! - 1]!.push(meanAt(x, y));
    }
  }
  const scales = samples.map((values, f) => scatterOf(values, fits[f]!, size, raster.step));
  for (let y = 0; y < rows; y++) {
    for (let x = 0; x < columns; x++) {
      const k = y * columns + x;
      if (weight[k] === 0) continue;
      const { middle, sigma } = scales[face[k]! - 1]!;
      const mean = meanAt(x, y);
      if (mean < LOWEST) continue;
      const z = (mean - middle) / sigma;
      if (z > score[k]!) score[k] = z;
    }
  }
}

/** Median, and robust sigma from the lower half: what stands on the roof is above it. */
function scatterOf(values: number[], fit: FaceFit, size: number, step: number): { middle: number; sigma: number } {
  const independent = fit.noise / Math.sqrt(Math.max(1, fit.density * (size * step) ** 2));
  if (values.length < 20) {
    return { middle: 0, sigma: Math.max(independent, Math.sqrt(Math.max(0, fit.correlation.covariance[0]!))) };
  }
  const [middle, lower] = middleAndLower(values);
  return { middle, sigma: Math.max(independent, middle - lower) };
}

/** Median, and the value that 16 % lie below. */
function middleAndLower(values: readonly number[]): [number, number] {
  const sorted = Float64Array.from(values);
  const half = values.length >> 1;
  const middle = selectAt(sorted, half);
  return [middle, selectAt(sorted, Math.floor(0.16 * values.length), 0, half)];
}

function smoothed(height: Float32Array, weight: Float32Array, columns: number, rows: number): Float32Array {
  const result = new Float32Array(height.length);
  for (let y = 1; y + 1 < rows; y++) {
    for (let x = 1; x + 1 < columns; x++) {
      const k = y * columns + x;
      if (weight[k] === 0) continue;
      // The cell counts double: a thing one cell wide must not drown.
      let sum = height[k]! * weight[k]!;
      let n = weight[k]!;
      for (let side = 0; side < 4; side++) {
        const other = k + (side === 0 ? -1 : side === 1 ? 1 : side === 2 ? -columns : columns);
        sum += 0.25 * height[other]! * weight[other]!;
        n += 0.25 * weight[other]!;
      }
      result[k] = sum / n;
    }
  }
  return result;
}

/** Height above which a smoothed cell belongs to a thing, by face: two and a half sigmas of such cells. */
function floors(raster: RoofRaster, fits: readonly FaceFit[], low: Float32Array, weight: Float32Array): number[] {
  const samples: number[][] = fits.map(() => []);
  for (let k = 0; k < low.length; k += 3) if (weight[k]! > 0) samples[raster.face[k]! - 1]!.push(low[k]!);
  return samples.map((values) => {
    if (values.length < 10) return LOWEST;
    const [middle, lower] = middleAndLower(values);
    return Math.max(0.6 * LOWEST, middle + 2.5 * (middle - lower));
  });
}

/** One patch, cut down to the part above half its own height; a low patch with a tall thing in it falls into both. */
function patchOf(raster: RoofRaster, cells: readonly number[], low: Float32Array, score: number): RaisedPatch[] {
  const heights = cells.map((k) => low[k]!).sort((a, b) => a - b);
  const top = heights[Math.floor(0.85 * (heights.length - 1))]!;
  const kept = cells.filter((k) => low[k]! > 0.4 * top);
  if (kept.length < FEWEST_CELLS) return [];
  // A unit on a plinth or beside a low kerb is a thing of its own.
  const taller = cells.filter((k) => low[k]! > Math.max(2 * top, top + TALLER));
  const onTop = taller.length >= FEWEST_CELLS && taller.length < kept.length ? patchOf(raster, taller, low, score) : [];
  const inside = new Set(kept);
  const { columns } = raster;
  const patches: RaisedPatch[] = [...onTop];
  const seen = new Set<number>();
  for (const start of kept) {
    if (seen.has(start)) continue;
    const part: number[] = [];
    const stack = [start];
    seen.add(start);
    while (stack.length > 0) {
      const k = stack.pop()!;
      part.push(k);
      for (const d of [-1, 1, -columns, columns, -columns - 1, -columns + 1, columns - 1, columns + 1]) {
        if (inside.has(k + d) && !seen.has(k + d)) {
          seen.add(k + d);
          stack.push(k + d);
        }
      }
    }
    if (part.length >= FEWEST_CELLS) patches.push(describe(raster, part.sort((a, b) => a - b), low, score));
  }
  return patches;
}

function describe(raster: RoofRaster, cells: readonly number[], low: Float32Array, score: number): RaisedPatch {
  const byFace = new Map<number, number>();
  let beyondRim = 0;
  const seen = new Set<number>();
  for (const k of cells) {
    byFace.set(raster.face[k]!, (byFace.get(raster.face[k]!) ?? 0) + 1);
    for (const n of [k - 3, k + 3, k - 3 * raster.columns, k + 3 * raster.columns]) {
      if (raster.face[n] === 0 && raster.looseCount[n]! > 0 && !seen.has(n)) {
        seen.add(n);
        beyondRim++;
      }
    }
  }
  const face = [...byFace].sort((a, b) => b[1] - a[1] || a[0] - b[0])[0]![0];
  const heights = cells.map((k) => low[k]!).sort((a, b) => a - b);
  return { cells, face, height: heights[Math.floor(0.75 * (heights.length - 1))]!, score, beyondRim };
}
