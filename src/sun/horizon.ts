import type { Vector2 } from '../geometry/vector.ts';
import type { SurfaceModel } from './surface-model.ts';

/** Something that stands on a roof and throws shade: opaque from its top down. */
export interface Solid {
  readonly id: string;
  /** Local frame. Two corners make a thin screen. */
  readonly footprint: readonly Vector2[];
  /** Elevation of its flat top, local frame. [m] */
  readonly top: number;
}

/** What throws shade: near things as solids, everything else as a raster. */
export interface ShadeScene {
  readonly solids: readonly Solid[];
  readonly surface: SurfaceModel | null;
}

/** Azimuths of a horizon: a quarter of a degree each, from north clockwise; value `i` stands for (i + 0.5) / 4 degrees. */
export const AZIMUTHS = 1440;
/** Azimuths at which the raster is looked along; between them the horizon is drawn straight. */
const RASTER_AZIMUTHS = 360;
/** Solids lower than this over the horizon are left out. [-] tangent of 0.3 degrees */
const LOWEST = 0.005;
/** Farthest the raster is looked along. [m] A 20 m tree at this distance stands 6 degrees high. */
const RASTER_REACH = 200;
/** Steps along a ray grow with distance by this share: a 1.7 degree wide thing is not stepped over. */
const STEP_GROWTH = 0.03;
/** Heights of neighbouring cells that part by more than some of this are a wall, not a slope. [m] */
const WALL = 0.3;
/** Raster cells a side of a block whose highest point lets rays leap: 8. */
const BLOCK_BITS = 3;
const BLOCK = 1 << BLOCK_BITS;

const sines = new Float64Array(AZIMUTHS);
const cosines = new Float64Array(AZIMUTHS);
for (let i = 0; i < AZIMUTHS; i++) {
  const azimuth = ((i + 0.5) * 2 * Math.PI) / AZIMUTHS;
  sines[i] = Math.sin(azimuth);
  cosines[i] = Math.cos(azimuth);
}

const rasterSines = Float64Array.from({ length: RASTER_AZIMUTHS }, (_, i) => Math.sin((i * 2 * Math.PI) / RASTER_AZIMUTHS));
const rasterCosines = Float64Array.from({ length: RASTER_AZIMUTHS }, (_, i) => Math.cos((i * 2 * Math.PI) / RASTER_AZIMUTHS));

/** Azimuth number of a grid bearing. [rad] */
export const azimuthNumber = (azimuth: number): number =>
  Math.floor((((azimuth / (2 * Math.PI)) % 1) + 1) * AZIMUTHS) % AZIMUTHS;

/** Makes a function that writes the horizon seen from a position into `horizon`: tangents of altitude, 0 or more. */
export function horizonFinder(scene: ShadeScene): (x: number, y: number, z: number, horizon: Float32Array) => void {
  const raster = scene.surface ? prepareRaster(scene.surface) : null;
  const coarse = new Float32Array(RASTER_AZIMUTHS + 1);
  const solids = scene.solids.map((solid) => ({ solid, box: boxOf(solid.footprint) }));
  return (x, y, z, horizon) => {
    if (raster) rasterHorizon(raster, x, y, z, coarse, horizon);
    else horizon.fill(0);
    for (const { solid, box } of solids) {
      if (solid.top > z && !isFar(box, x, y, solid.top - z)) addSolid(solid, x, y, z, horizon);
    }
  };
}

/** Raises a horizon by one solid: each side of its footprint over the azimuths it spans, at the exact distance. */
function addSolid({ footprint, top }: Solid, x: number, y: number, z: number, horizon: Float32Array): void {
  const height = top - z;
  let turned = 0;
  for (let i = 0, j = footprint.length - 1; i < footprint.length; j = i++) {
    const ax = footprint[j]![0] - x;
    const ay = footprint[j]![1] - y;
    const bx = footprint[i]![0] - x;
    const by = footprint[i]![1] - y;
    const cross = ax * by - ay * bx;
    const sweep = Math.atan2(cross, ax * bx + ay * by);
    turned += sweep;
    // Seen clockwise from north, the side runs from the azimuth of its end that is first on the clock.
    const first = sweep < 0 ? Math.atan2(ax, ay) : Math.atan2(bx, by);
    const from = Math.ceil((first / (2 * Math.PI)) * AZIMUTHS - 0.5);
    const count = Math.floor(((first + Math.abs(sweep)) / (2 * Math.PI)) * AZIMUTHS - 0.5) - from + 1;
    const ex = bx - ax;
    const ey = by - ay;
    for (let k = 0; k < count; k++) {
      const number = (((from + k) % AZIMUTHS) + AZIMUTHS) % AZIMUTHS;
      // Distance t with t (sin, cos) on the line through a and b.
      const t = cross / (sines[number]! * ey - cosines[number]! * ex);
      const tangent = t > 0 ? height / t : Infinity;
      if (tangent > horizon[number]!) horizon[number] = tangent;
    }
  }
  // Inside the footprint and below the top: no sky at all.
  if (footprint.length > 2 && Math.abs(turned) > Math.PI) horizon.fill(Infinity);
}

/** Least and greatest x and y. */
type Box = readonly [number, number, number, number];

function boxOf(footprint: readonly Vector2[]): Box {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const corner of footprint) {
    x0 = Math.min(x0, corner[0]);
    x1 = Math.max(x1, corner[0]);
    y0 = Math.min(y0, corner[1]);
    y1 = Math.max(y1, corner[1]);
  }
  return [x0, y0, x1, y1];
}

function isFar([x0, y0, x1, y1]: Box, x: number, y: number, height: number): boolean {
  const dx = Math.max(x0 - x, 0, x - x1);
  const dy = Math.max(y0 - y, 0, y - y1);
  const farthest = height / LOWEST;
  return dx * dx + dy * dy > farthest * farthest;
}

interface Raster {
  readonly surface: SurfaceModel;
  /** Elevation with cells not seen at the lowest one seen. [m] */
  readonly filled: Float32Array;
  readonly blockColumns: number;
  readonly blockRows: number;
  /** Highest cell of each block and the eight about it. [m] */
  readonly blockTops: Float32Array;
  readonly highest: number;
}

function prepareRaster(surface: SurfaceModel): Raster {
  const { columns, rows, elevation } = surface;
  let lowest = Infinity;
  let highest = -Infinity;
  for (const z of elevation) {
    if (z < lowest) lowest = z;
    if (z > highest) highest = z;
  }
  const filled = elevation.map((z) => (Number.isNaN(z) ? Math.min(lowest, highest) : z));
  const blockColumns = Math.ceil(columns / BLOCK);
  const blockRows = Math.ceil(rows / BLOCK);
  const tops = new Float32Array(blockColumns * blockRows).fill(-Infinity);
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const at = Math.floor(row / BLOCK) * blockColumns + Math.floor(column / BLOCK);
      if (filled[row * columns + column]! > tops[at]!) tops[at] = filled[row * columns + column]!;
    }
  }
  return { surface, filled, blockColumns, blockRows, blockTops: spread(tops, blockColumns, blockRows), highest };
}

/** Highest of each block and its neighbours, so that a leap of one block's width can miss nothing. */
function spread(tops: Float32Array, columns: number, rows: number): Float32Array {
  return tops.map((_, at) => {
    const row = Math.floor(at / columns);
    const column = at % columns;
    let top = -Infinity;
    for (let r = Math.max(0, row - 1); r <= Math.min(rows - 1, row + 1); r++) {
      for (let c = Math.max(0, column - 1); c <= Math.min(columns - 1, column + 1); c++) top = Math.max(top, tops[r * columns + c]!);
    }
    return top;
  });
}

function rasterHorizon(raster: Raster, x: number, y: number, z: number, coarse: Float32Array, horizon: Float32Array): void {
  const { surface } = raster;
  const column = (x - surface.origin[0]) / surface.cellSize - 0.5;
  const row = (y - surface.origin[1]) / surface.cellSize - 0.5;
  const fine = AZIMUTHS / RASTER_AZIMUTHS;
  for (let i = 0; i < RASTER_AZIMUTHS; i++) {
    coarse[i] = z < raster.highest ? lookAlong(raster, column, row, z, rasterSines[i]!, rasterCosines[i]!) : 0;
  }
  coarse[RASTER_AZIMUTHS] = coarse[0]!;
  for (let i = 0; i < RASTER_AZIMUTHS; i++) {
    const here = coarse[i]!;
    const step = (coarse[i + 1]! - here) / fine;
    for (let k = 0; k < fine; k++) horizon[i * fine + k] = here + step * (k + 0.5);
  }
}

/**
 * Steepest tangent along a ray over the raster: heights between cell centres drawn straight on slopes, those of the cell
 * itself at a wall. The inner loop of all shade: distances in cells, whole numbers by bit operations (nothing here is
 * negative).
 */
function lookAlong(raster: Raster, column: number, row: number, z: number, sine: number, cosine: number): number {
  const { blockTops, highest, blockColumns, filled } = raster;
  const { columns, rows, cellSize } = raster.surface;
  const reach = Math.min(RASTER_REACH / cellSize, roomAhead(column, sine, columns - 1), roomAhead(row, cosine, rows - 1));
  // Tangents per cell instead of per metre until the end.
  let steepest = 0;
  let distance = 1;
  let before = 1;
  while (distance < reach) {
    const beat = z + steepest * distance;
    if (highest <= beat) break;
    const x = column + distance * sine;
    const y = row + distance * cosine;
    const c = x | 0;
    const r = y | 0;
    if (blockTops[(r >> BLOCK_BITS) * blockColumns + (c >> BLOCK_BITS)]! <= beat) {
      before = distance;
      distance += BLOCK;
      continue;
    }
    const at = r * columns + c;
    const lowLeft = filled[at]!;
    const lowRight = filled[at + 1]!;
    const highLeft = filled[at + columns]!;
    const highRight = filled[at + columns + 1]!;
    // Most cells are lower than what was seen already.
    if (lowLeft > beat || lowRight > beat || highLeft > beat || highRight > beat) {
      const fx = x - c;
      const fy = y - r;
      const low = lowLeft + fx * (lowRight - lowLeft);
      let height = low + fy * (highLeft + fx * (highRight - highLeft) - low);
      const own = fy >= 0.5 ? (fx >= 0.5 ? highRight : highLeft) : (fx >= 0.5 ? lowRight : lowLeft);
      if (own - height > WALL || height - own > WALL) height = own;
      if (height > beat + WALL) steepest = nearSide(filled, columns, column, row, z, sine, cosine, before, distance, steepest);
      if (height - z > steepest * distance) steepest = (height - z) / distance;
    }
    before = distance;
    distance += distance < 25 ? 0.75 : distance * STEP_GROWTH;
  }
  return steepest / cellSize;
}

/** Something much higher begins between two steps of a ray: steepest tangent on the way there, in half cells. */
function nearSide(
  filled: Float32Array, columns: number, column: number, row: number, z: number, sine: number, cosine: number,
  from: number, to: number, steepest: number,
): number {
  let most = steepest;
  for (let t = from + 0.5; t < to; t += 0.5) {
    const own = filled[((row + t * cosine + 0.5) | 0) * columns + ((column + t * sine + 0.5) | 0)]!;
    if (own - z > most * t) most = (own - z) / t;
  }
  return most;
}

/** How far a ray may run before it leaves the raster on one axis; nothing when it starts outside. [cells] */
function roomAhead(start: number, direction: number, last: number): number {
  if (start < 0 || start >= last) return 0;
  if (direction > 1e-9) return (last - start) / direction - 1e-6;
  if (direction < -1e-9) return start / -direction - 1e-6;
  return Infinity;
}
