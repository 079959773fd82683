import { raisedTo } from '../../../geometry/variance-floor.ts';
import type { CellFit, FitSums } from './fit-cells.ts';
import { covarianceAt, type Correlation } from './residual-correlation.ts';
import type { RasterFrame } from '../raster/roof-raster.ts';

/** Blocks along the longer side of a face; more changes the result by under a per cent. */
const BLOCKS = 12;
/** Blocks across a narrow face, or its slope across would seem to be fitted to one block; and most along it for that. */
const BLOCKS_ACROSS = 5;
const MOST_BLOCKS = 36;
/** Positions in a block over which the covariance of two blocks is averaged, each way. */
const SUBDIVISIONS = 6;
/**
 * Waves as long as the face are taken for its slope, so its residuals show too little of them, and neighbours as narrow show
 * no more: shared variance is raised by this. Chosen on simulated roofs, no source.
 */
const HIDDEN_WAVES = 1.6;

/**
 * Covariance of a fitted plane whose points share their errors: (AᵀA)⁻¹ Aᵀ Σ A (AᵀA)⁻¹ with Σ from the measured
 * correlation, summed over blocks of the face. Unlike the factor F² sigma² (AᵀA)⁻¹ it also holds where the correlation
 * reaches as far as the face.
 *
 * @param pointVariance  Of a single point; no height and no slope is surer than independent points would make it. [m²]
 * @returns Of height at the centroid [m²] and the two slopes [-], 3 × 3 row by row, along the segment's normal.
 */
export function fitCovariance(sums: FitSums, fit: CellFit, correlation: Correlation, pointVariance: number): number[] {
  const middle = sharedMoments(blocksOf(sums, fit), correlation);
  const g = fit.inverse;
  const result = multiply(multiply(g, middle), g).map((value) => HIDDEN_WAVES * value);
  // What every cell has for itself stays as for independent points.
  const covariance = result.map((value, i) => value + correlation.alone * g[i]!);
  // Covariances measured lag by lag need not fit together; on a face of few cells a slope then came out with none or less.
  return pointVariance === 0 ? covariance : raisedTo(covariance, g.map((value) => pointVariance * value));
}

/** Blocks of a face in the order they were first met. */
interface Blocks {
  readonly length: number;
  readonly columns: Int32Array;
  readonly rows: Int32Array;
  /** Count, and count times offset from the centroid, x and y: three numbers a block. */
  readonly moments: Float64Array;
  /** Side of a block. [m] */
  readonly size: number;
}

/** Aᵀ Σ A over pairs of blocks, 3 × 3 row by row. */
function sharedMoments({ length, columns, rows, moments, size }: Blocks, correlation: Correlation): number[] {
  const width = 1 + Math.max(greatest(columns), greatest(rows));
  const covarianceOf = blockCovariances(correlation, size, width);
  // Faces have hundreds of blocks, and every pair of them comes by here: nine sums set one by one.
  let [xx, xy, xz, yx, yy, yz, zx, zy, zz] = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  for (let a = 0; a < length; a++) {
    for (let b = 0; b < length; b++) {
      const shared = covarianceOf(Math.abs(rows[a]! - rows[b]!), Math.abs(columns[a]! - columns[b]!));
      if (shared === 0) continue;
      const x = shared * moments[3 * a]!;
      const y = shared * moments[3 * a + 1]!;
      const z = shared * moments[3 * a + 2]!;
      const p = moments[3 * b]!;
      const q = moments[3 * b + 1]!;
      const r = moments[3 * b + 2]!;
      xx += x * p;
      xy += x * q;
      xz += x * r;
      yx += y * p;
      yy += y * q;
      yz += y * r;
      zx += z * p;
      zy += z * q;
      zz += z * r;
    }
  }
  return [xx, xy, xz, yx, yy, yz, zx, zy, zz];
}

function greatest(values: Int32Array): number {
  let most = 0;
  for (const value of values) if (value > most) most = value;
  return most;
}

function blocksOf(sums: FitSums, fit: CellFit): Blocks {
  const { cells, centroid } = fit;
  const { columns: across, step, origin, count } = sums;
  // A face whose cells all hold points of other faces too has none to be fitted to.
  if (cells.length === 0) return { length: 0, columns: new Int32Array(0), rows: new Int32Array(0), moments: new Float64Array(0), size: step };
  let minX = Infinity;
  let minY = Infinity;
  let maxX = -Infinity;
  let maxY = -Infinity;
  for (const k of cells) {
    const x = origin[0] + ((k % across) + 0.5) * step;
    const y = origin[1] + (Math.floor(k / across) + 0.5) * step;
    if (x < minX) minX = x;
    if (x > maxX) maxX = x;
    if (y < minY) minY = y;
    if (y > maxY) maxY = y;
  }
  const longer = Math.max(maxX - minX, maxY - minY) + step;
  const size = Math.max(step, longer / MOST_BLOCKS, Math.min(longer / BLOCKS, widthOf(sums, fit) / BLOCKS_ACROSS));
  const width = Math.floor((maxX - minX) / size) + 1;
  const height = Math.floor((maxY - minY) / size) + 1;
  /** Number of each block plus one, 0 for none yet. */
  const numbers = new Int32Array(width * height);
  const places: number[] = [];
  const moments = new Float64Array(3 * width * height);
  for (const k of cells) {
    const x = origin[0] + ((k % across) + 0.5) * step;
    const y = origin[1] + (Math.floor(k / across) + 0.5) * step;
    const place = Math.floor((y - minY) / size) * width + Math.floor((x - minX) / size);
    if (numbers[place] === 0) {
      places.push(place);
      numbers[place] = places.length;
    }
    const at = 3 * (numbers[place]! - 1);
    const n = count[k]!;
    moments[at]! += n;
    moments[at + 1]! += n * (x - centroid[0]);
    moments[at + 2]! += n * (y - centroid[1]);
  }
  return {
    length: places.length,
    columns: Int32Array.from(places, (place) => place % width),
    rows: Int32Array.from(places, (place) => Math.floor(place / width)),
    moments,
    size,
  };
}

/** Shorter side of the rectangle with the cells' second moments. [m] */
function widthOf({ columns, step, origin }: RasterFrame, { cells, centroid }: CellFit): number {
  const n = Math.max(1, cells.length);
  let x = 0;
  let y = 0;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (const k of cells) {
    const dx = origin[0] + ((k % columns) + 0.5) * step - centroid[0];
    const dy = origin[1] + (Math.floor(k / columns) + 0.5) * step - centroid[1];
    x += dx;
    y += dy;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  const [a, b, c] = [xx / n - (x / n) ** 2, xy / n - (x * y) / n ** 2, yy / n - (y / n) ** 2];
  return Math.sqrt(12 * Math.max(0, (a + c) / 2 - Math.hypot((a - c) / 2, b))) + step;
}

/** Mean covariance of points in two blocks, by how many blocks they are apart each way; worked out when first asked for. */
function blockCovariances(correlation: Correlation, size: number, width: number): (dy: number, dx: number) => number {
  const table = new Float64Array(width * width).fill(Number.NaN);
  const reach = reachOf(correlation);
  return (dy, dx) => {
    const known = table[dy * width + dx]!;
    if (known === known) return known;
    return (table[dy * width + dx] = table[dx * width + dy] = blockCovariance(correlation, size, Math.max(dx, dy), Math.min(dx, dy), reach));
  };
}

/** Distance from which on two points share nothing. [m] */
function reachOf({ distances, covariance }: Correlation): number {
  let last = covariance.length - 1;
  while (last >= 0 && covariance[last] === 0) last--;
  return distances[Math.min(last + 1, distances.length - 1)]!;
}

function blockCovariance(correlation: Correlation, size: number, dx: number, dy: number, reach: number): number {
  const m = SUBDIVISIONS;
  const [nearX, nearY] = [Math.max(0, dx - 1), Math.max(0, dy - 1)];
  // Far blocks have nothing in common, and they are most of the pairs.
  if (size * size * (nearX * nearX + nearY * nearY) > reach * reach) return 0;
  let sum = 0;
  for (let i = 1 - m; i < m; i++) {
    for (let j = 1 - m; j < m; j++) {
      const weight = (m - Math.abs(i)) * (m - Math.abs(j));
      sum += weight * covarianceAt(correlation, size * Math.hypot(dx + i / m, dy + j / m));
    }
  }
  return sum / (m * m) ** 2;
}

function multiply(a: readonly number[], b: readonly number[]): number[] {
  const product: number[] = [];
  for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) product.push(a[3 * i]! * b[j]! + a[3 * i + 1]! * b[3 + j]! + a[3 * i + 2]! * b[6 + j]!);
  return product;
}
