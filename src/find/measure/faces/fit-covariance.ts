import { raisedTo } from '../../../geometry/variance-floor.ts';
import type { CellFit } from './fit-cells.ts';
import { covarianceAt, type Correlation } from './residual-correlation.ts';
import { cellCentre, type RasterFrame, type RoofRaster } from '../raster/roof-raster.ts';

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
export function fitCovariance(raster: RoofRaster, fit: CellFit, correlation: Correlation, pointVariance: number): number[] {
  const blocks = blocksOf(raster, fit);
  const table = blockCovariances(correlation, blocks.size, blocks.reach);
  const middle = [0, 0, 0, 0, 0, 0, 0, 0, 0];
  const { list } = blocks;
  for (const a of list) {
    for (const b of list) {
      const shared = table[Math.abs(a.row - b.row) * (blocks.reach + 1) + Math.abs(a.column - b.column)]!;
      if (shared === 0) continue;
      for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) middle[3 * i + j]! += shared * a.moments[i]! * b.moments[j]!;
    }
  }
  const g = fit.inverse;
  const result = multiply(multiply(g, middle), g).map((value) => HIDDEN_WAVES * value);
  // What every cell has for itself stays as for independent points.
  const covariance = result.map((value, i) => value + correlation.alone * g[i]!);
  // Covariances measured lag by lag need not fit together; on a face of few cells a slope then came out with none or less.
  return pointVariance === 0 ? covariance : raisedTo(covariance, g.map((value) => pointVariance * value));
}

interface Block {
  readonly column: number;
  readonly row: number;
  /** Count, and count times offset from the centroid, x and y. */
  readonly moments: [number, number, number];
}

function blocksOf(raster: RoofRaster, fit: CellFit): { list: Block[]; size: number; reach: number } {
  // A face whose cells all hold points of other faces too has none to be fitted to.
  if (fit.cells.length === 0) return { list: [], size: raster.step, reach: 0 };
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const k of fit.cells) {
    const [x, y] = cellCentre(raster, k);
    [minX, maxX] = [Math.min(minX, x), Math.max(maxX, x)];
    [minY, maxY] = [Math.min(minY, y), Math.max(maxY, y)];
  }
  const longer = Math.max(maxX - minX, maxY - minY) + raster.step;
  const size = Math.max(raster.step, longer / MOST_BLOCKS, Math.min(longer / BLOCKS, widthOf(raster, fit) / BLOCKS_ACROSS));
  const found = new Map<number, Block>();
  for (const k of fit.cells) {
    const [x, y] = cellCentre(raster as RasterFrame, k);
    const column = Math.floor((x - minX) / size);
    const row = Math.floor((y - minY) / size);
    const key = row * 1000 + column;
    let block = found.get(key);
    if (!block) found.set(key, (block = { column, row, moments: [0, 0, 0] }));
    const n = raster.count[k]!;
    block.moments[0] += n;
    block.moments[1] += n * (x - fit.centroid[0]);
    block.moments[2] += n * (y - fit.centroid[1]);
  }
  return { list: [...found.values()], size, reach: Math.ceil(longer / size) + 1 };
}

/** Shorter side of the rectangle with the cells' second moments. [m] */
function widthOf(raster: RasterFrame, fit: CellFit): number {
  const n = Math.max(1, fit.cells.length);
  let [x, y, xx, xy, yy] = [0, 0, 0, 0, 0];
  for (const k of fit.cells) {
    const at = cellCentre(raster, k);
    const [dx, dy] = [at[0] - fit.centroid[0], at[1] - fit.centroid[1]];
    x += dx;
    y += dy;
    xx += dx * dx;
    xy += dx * dy;
    yy += dy * dy;
  }
  const [a, b, c] = [xx / n - (x / n) ** 2, xy / n - (x * y) / n ** 2, yy / n - (y / n) ** 2];
  return Math.sqrt(12 * Math.max(0, (a + c) / 2 - Math.hypot((a - c) / 2, b))) + raster.step;
}

/** Mean covariance of points in two blocks, by how many blocks they are apart. */
function blockCovariances(correlation: Correlation, size: number, reach: number): Float64Array {
  const table = new Float64Array((reach + 1) * (reach + 1));
  const m = SUBDIVISIONS;
  for (let dy = 0; dy <= reach; dy++) {
    for (let dx = dy; dx <= reach; dx++) {
      let sum = 0;
      for (let i = 1 - m; i < m; i++) {
        for (let j = 1 - m; j < m; j++) {
          const weight = (m - Math.abs(i)) * (m - Math.abs(j));
          sum += weight * covarianceAt(correlation, size * Math.hypot(dx + i / m, dy + j / m));
        }
      }
      table[dy * (reach + 1) + dx] = table[dx * (reach + 1) + dy] = sum / (m * m) ** 2;
    }
  }
  return table;
}

function multiply(a: readonly number[], b: readonly number[]): number[] {
  const product: number[] = [];
  for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) product.push(a[3 * i]! * b[j]! + a[3 * i + 1]! * b[3 + j]! + a[3 * i + 2]! * b[6 + j]!);
  return product;
}
