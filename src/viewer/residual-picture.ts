import type { Cell, Cloud } from '../cloud/cloud.ts';
import { cross, dot, normalize, type Vector3 } from '../geometry/vector.ts';
import type { RoofPlane } from '../roof/record.ts';

/** Points minus plane, averaged over small squares, seen square on with up the roof upwards. */
export interface ResidualPicture {
  readonly columns: number;
  readonly rows: number;
  readonly cellM: number;
  /** Mean residual of each square, row by row from the top; meaningless where `counts` is 0. [m] */
  readonly means: Float32Array;
  readonly counts: Uint32Array;
  readonly pointCount: number;
  readonly rmsM: number;
  /** Residuals counted in bins of `binM`, the middle bin centred on zero. */
  readonly histogram: { readonly binM: number; readonly counts: readonly number[] };
}

const COLUMNS_AT_MOST = 64;
const ROWS_AT_MOST = 34;
/** Bins reach 3.5 sigma either way, four to a sigma. */
const BINS = 29;

/** @returns null when no point carries the plane's label. */
export function residualPicture(cloud: Cloud, labels: readonly Uint16Array[], planeIds: readonly (string | null)[], plane: RoofPlane): ResidualPicture | null {
  const wanted = new Set(planeIds.flatMap((id, label) => (id === plane.id ? [label] : [])));
  const { right, up } = squareOn(plane.normal);
  const box = boxOf(plane.outline, right, up);
  const cellM = Math.max((box.right - box.left) / COLUMNS_AT_MOST, (box.top - box.bottom) / ROWS_AT_MOST, 1e-3);
  const columns = Math.max(1, Math.ceil((box.right - box.left) / cellM));
  const rows = Math.max(1, Math.ceil((box.top - box.bottom) / cellM));
  const sums = new Float64Array(columns * rows);
  const counts = new Uint32Array(columns * rows);
  const binM = Math.max(plane.residualRmsM, 1e-4) / 4;
  const bins: number[] = Array.from({ length: BINS }, () => 0);
  let pointCount = 0;
  let sumSquared = 0;
  cloud.cells.forEach((cell, c) => {
    const cellLabels = labels[c];
    if (!cellLabels || !overlaps(cell, cloud, plane.outline)) return;
    const [ox, oy, oz] = cell.origin;
    for (let i = 0; i < cell.pointCount; i++) {
      if (!wanted.has(cellLabels[i]!)) continue;
      const at: Vector3 = [ox + cell.positions[3 * i]!, oy + cell.positions[3 * i + 1]!, oz + cell.positions[3 * i + 2]!];
      const residual = dot(plane.normal, at) + plane.offset;
      pointCount++;
      sumSquared += residual * residual;
      const bin = Math.round(residual / binM) + (BINS - 1) / 2;
      if (bin >= 0 && bin < BINS) bins[bin]!++;
      const column = Math.floor((dot(at, right) - box.left) / cellM);
      const row = Math.floor((box.top - dot(at, up)) / cellM);
      if (column < 0 || column >= columns || row < 0 || row >= rows) continue;
      sums[row * columns + column]! += residual;
      counts[row * columns + column]!++;
    }
  });
  if (pointCount === 0) return null;
  const means = Float32Array.from(sums, (sum, i) => (counts[i]! > 0 ? sum / counts[i]! : 0));
  return { columns, rows, cellM, means, counts, pointCount, rmsM: Math.sqrt(sumSquared / pointCount), histogram: { binM, counts: bins } };
}

/** Only cells under the plane, with a margin, can hold its points. */
function overlaps(cell: Cell, cloud: Cloud, outline: readonly Vector3[]): boolean {
  const { origin, cellSize } = cloud.grid;
  const margin = 1;
  const [x, y] = [origin[0] + cell.column * cellSize, origin[1] + cell.row * cellSize];
  const xs = outline.map((corner) => corner[0]);
  const ys = outline.map((corner) => corner[1]);
  return Math.max(...xs) >= x - margin && Math.min(...xs) <= x + cellSize + margin && Math.max(...ys) >= y - margin && Math.min(...ys) <= y + cellSize + margin;
}

/** Axes in the plane: level to the right, up the roof upwards; east and north on a level plane. */
export function squareOn(normal: Vector3): { right: Vector3; up: Vector3 } {
  const level = Math.hypot(normal[0], normal[1]);
  const right: Vector3 = level > 1e-4 ? normalize([-normal[1], normal[0], 0]) : [1, 0, 0];
  return { right, up: cross(normal, right) };
}

function boxOf(outline: readonly Vector3[], right: Vector3, up: Vector3) {
  const xs = outline.map((corner) => dot(corner, right));
  const ys = outline.map((corner) => dot(corner, up));
  return { left: Math.min(...xs), right: Math.max(...xs), bottom: Math.min(...ys), top: Math.max(...ys) };
}
