import { nearDistanceSquaredRaster } from '../../../geometry/distance-raster.ts';
import { planeElevationAt, type Plane } from '../../../geometry/plane.ts';
import { rasterComponents } from '../../../geometry/raster-components.ts';
import { cellCentre, type Face, type RoofRaster } from '../raster/roof-raster.ts';

export interface FaceOptions {
  /** One sigma of points about their plane. [m] */
  readonly noise: number;
  readonly planeOf: (label: number) => Plane;
}

/** Narrower notches in a roof's rim, or gaps between planes, are closed when something covers them or nothing is seen there. [m] */
const CLOSED_WIDTH = 0.5;
/** An opening smaller than this is a thing's shadow or a hole in the model. [m²] */
const SMALLEST_OPENING = 0.5;
/** How far below the roof the points in a hole must lie to make it an opening. [m] */
const OPENING_DEPTH = 0.6;
/** Pieces of a segment at least this large become faces of their own. [m²] */
const SMALLEST_PIECE = 1;
const SMALLEST_PIECE_CELLS = 30;
const SMALLEST_SPECK_CELLS = 6;
/** A cell with something higher in it is roof when this share of its points is. */
const LABELLED_SHARE = 0.3;
/** Raised strips at least this high, no wider and no shorter, are walls. [m] */
const WALL_HEIGHT = 0.2;
const WIDEST_WALL = 0.8;
const SHORTEST_WALL = 2.6;
/** Rims of skylights and hatches measure less than this across, and are nearly as wide as long. [m], [-] */
const LARGEST_RIM = 4;
const RIM_SLIMNESS = 0.35;
/** A cell with roof in it may be a wall's when so much of its points is not, and its top stands over the planes on both sides. */
const WALL_SHARE = 0.4;
/** A wall begins no farther than this from the roof's rim, or stands between planes. [m] */
const WALL_TO_RIM = 0.6;

/**
 * Decides which face each raster cell belongs to: labels cleaned of specks, shadows of things filled, real openings
 * (where the points lie below the roof) kept. Writes `face` and `filled`.
 */
export function fillFaces(raster: RoofRaster, { noise, planeOf }: FaceOptions): Face[] {
  const { face, label, count, foreign } = raster;
  for (let k = 0; k < face.length; k++) face[k] = count[k]! > 0 && !foreign[k] ? label[k]! : 0;
  preferTheHigher(raster, planeOf);
  dropWallColumns(raster, planeOf);
  clearRim(raster);
  dropSpecks(raster);
  const walls = wallCells(raster, planeOf);
  fillHoles(raster, planeOf, walls);
  closeNotches(raster, noise, planeOf, walls);
  for (let round = 0; round < 2; round++) smoothLabels(raster);
  for (let round = 0; round < 2; round++) clearSpurs(raster);
  const faces = numberPieces(raster, planeOf);
  partDiagonals(raster);
  for (let k = 0; k < face.length; k++) raster.filled[k] = face[k] !== 0 && (count[k] === 0 || faces[face[k]! - 1]!.label !== label[k]) ? 1 : 0;
  clearRim(raster);
  return faces;
}

/** Where two planes lie one above the other, the camera's view from above counts. */
function preferTheHigher(raster: RoofRaster, planeOf: (label: number) => Plane): void {
  for (let k = 0; k < raster.face.length; k++) {
    const [n, m] = [raster.count[k]!, raster.secondCount[k]!];
    const second = raster.secondLabel[k]!;
    if (m === 0 || second === 0 || raster.foreign[k] || m < 0.3 * (n + m)) continue;
    const at = cellCentre(raster, k);
    if (planeElevationAt(planeOf(second), at) > planeElevationAt(planeOf(raster.label[k]!), at) + 0.3) raster.face[k] = second;
  }
}

/** Walls cross the height of a roof, and the few of their points there are labelled with it: no roof, what stands higher is. */
function dropWallColumns(raster: RoofRaster, planeOf: (label: number) => Plane): void {
  for (let k = 0; k < raster.face.length; k++) {
    if (raster.face[k] === 0) continue;
    const [n, loose] = [raster.count[k]! + raster.secondCount[k]!, raster.looseCount[k]!];
    if (n >= LABELLED_SHARE * (n + loose)) continue;
    if (raster.looseHigh[k]! > planeElevationAt(planeOf(raster.face[k]!), cellCentre(raster, k)) + WALL_HEIGHT / 2) raster.face[k] = 0;
  }
}

/** Cells that are neither roof nor raised and reach the border of the raster. */
function outsideCells({ face, columns, rows }: RoofRaster, raised: Uint8Array): Uint8Array {
  const { component } = rasterComponents(columns, rows, (k) => (face[k] === 0 && !raised[k] ? 0 : -1));
  const outside = new Uint8Array(component.length);
  const first = component[0]!;
  if (first !== 0) for (let k = 0; k < outside.length; k++) if (component[k] === first) outside[k] = 1;
  return outside;
}

/**
 * Cells of raised strips, long and narrow: parapets, and walls between roofs. Unlike a chimney's shadow they are not filled
 * with the roof around them.
 */
function wallCells(raster: RoofRaster, planeOf: (label: number) => Plane): Uint8Array {
  const { face, columns, rows, step } = raster;
  const near = nearestFaces(raster, () => true);
  const raised = new Uint8Array(face.length);
  for (let k = 0; k < face.length; k++) {
    if (raster.looseCount[k] === 0) continue;
    if (face[k] !== 0) raised[k] = standsBetween(raster, planeOf, k) ? 1 : 0;
    else if (near[k] !== 0 && raster.looseHigh[k]! > planeElevationAt(planeOf(near[k]!), cellCentre(raster, k)) + WALL_HEIGHT) raised[k] = 1;
  }
  const { component, sizes } = rasterComponents(columns, rows, (k) => (raised[k] ? 0 : -1), true);
  // Farther than these a strip is too wide for a wall, or none at the rim.
  const depth = nearDistanceSquaredRaster(raised.map((value) => 1 - value), columns, rows, WIDEST_WALL / step / 2 + 2);
  const toOutside = nearDistanceSquaredRaster(outsideCells(raster, raised), columns, rows, WALL_TO_RIM / step + 1);
  const strips = sizes.map(() => ({ deepest: 0, toOutside: Infinity, labels: new Set<number>(), count: 0, x: 0, y: 0, xx: 0, xy: 0, yy: 0, minX: Infinity, maxX: -Infinity, minY: Infinity, maxY: -Infinity }));
  for (let k = 0; k < face.length; k++) {
    if (component[k] === 0) continue;
    const strip = strips[component[k]!]!;
    const x = k % columns;
    const y = Math.floor(k / columns);
    if (depth[k]! > strip.deepest) strip.deepest = depth[k]!;
    if (toOutside[k]! < strip.toOutside) strip.toOutside = toOutside[k]!;
    strip.labels.add(face[k]! || near[k]!);
    strip.count++;
    strip.x += x;
    strip.y += y;
    strip.xx += x * x;
    strip.xy += x * y;
    strip.yy += y * y;
    if (x < strip.minX) strip.minX = x;
    if (x > strip.maxX) strip.maxX = x;
    if (y < strip.minY) strip.minY = y;
    if (y > strip.maxY) strip.maxY = y;
  }
  const isWall = strips.map((strip, c) => {
    if (c === 0) return false;
    // A cell in the middle of a strip of w cells lies (w + 1) / 2 from the cells outside.
    const width = Math.max(1, 2 * Math.sqrt(strip.deepest) - 1) * step;
    const length = Math.hypot(strip.maxX - strip.minX + 1, strip.maxY - strip.minY + 1) * step;
    // The rim of a skylight is narrow too, but short; a duct in the middle of a roof is neither at its rim nor between planes.
    const bounds = strip.labels.size > 1 || Math.sqrt(strip.toOutside) * step <= WALL_TO_RIM;
    const isRim = length < LARGEST_RIM && slimness(strip) > RIM_SLIMNESS;
    return width <= WIDEST_WALL && length >= Math.max(SHORTEST_WALL, 4 * width) && bounds && !isRim;
  });
  const walls = new Uint8Array(component.length);
  for (let k = 0; k < face.length; k++) {
    if (component[k] === 0 || !isWall[component[k]!]) continue;
    walls[k] = 1;
    face[k] = 0;
  }
  return walls;
}

/** True where much of a roof cell's points rise over both planes near it: a thin wall between roofs, unlike the cheek of a dormer. */
function standsBetween(raster: RoofRaster, planeOf: (label: number) => Plane, k: number): boolean {
  const { face, columns } = raster;
  const loose = raster.looseCount[k]!;
  if (loose < WALL_SHARE * (loose + raster.count[k]! + raster.secondCount[k]!)) return false;
  const sides = [face[k - 2], face[k + 2], face[k - 2 * columns], face[k + 2 * columns]].map((label) => label ?? 0);
  const differ = (a: number, b: number): boolean => a !== 0 && b !== 0 && a !== b;
  if (!differ(sides[0]!, sides[1]!) && !differ(sides[2]!, sides[3]!)) return false;
  const at = cellCentre(raster, k);
  return [...sides, face[k]!].every((label) => label === 0 || raster.looseHigh[k]! > planeElevationAt(planeOf(label), at) + WALL_HEIGHT);
}

function clearRim({ face, columns, rows }: RoofRaster): void {
  for (let x = 0; x < columns; x++) face[x] = face[(rows - 1) * columns + x] = 0;
  for (let y = 0; y < rows; y++) face[y * columns] = face[y * columns + columns - 1] = 0;
}

function dropSpecks({ face, columns, rows }: RoofRaster): void {
  const { component, sizes } = rasterComponents(columns, rows, (k) => (face[k] === 0 ? -1 : face[k]!));
  for (let k = 0; k < face.length; k++) if (component[k] !== 0 && sizes[component[k]!]! < SMALLEST_SPECK_CELLS) face[k] = 0;
}

function fillHoles(raster: RoofRaster, planeOf: (label: number) => Plane, walls: Uint8Array): void {
  const { face, columns, rows, step } = raster;
  const { component, sizes, first } = rasterComponents(columns, rows, (k) => (face[k] === 0 ? 0 : -1));
  const outside = component[0]!;
  const seen = new Uint32Array(sizes.length);
  const below = new Uint32Array(sizes.length);
  const near = nearestFaces(raster, (k) => component[k] !== 0 && component[k] !== outside);
  for (let k = 0; k < face.length; k++) {
    const c = component[k]!;
    if (c === 0 || c === outside || raster.looseCount[k] === 0 || near[k] === 0) continue;
    seen[c]!++;
    if (raster.looseHigh[k]! < planeElevationAt(planeOf(near[k]!), cellCentre(raster, k)) - OPENING_DEPTH) below[c]!++;
  }
  const isOpening = sizes.map((size, c) => {
    if (c === 0 || c === outside || first[c] === undefined) return true;
    return size * step * step >= SMALLEST_OPENING && seen[c]! >= 0.1 * size && below[c]! > 0.5 * seen[c]!;
  });
  for (let k = 0; k < face.length; k++) if (component[k] !== 0 && !isOpening[component[k]!] && !walls[k]) face[k] = near[k]!;
}

/** Label of the nearest labelled cell for each cell asked for, found ring by ring; 0 where none can be reached. */
function nearestFaces({ face, columns }: RoofRaster, wanted: (cell: number) => boolean): Uint16Array {
  const near = new Uint16Array(face.length);
  let rim: number[] = [];
  let next: number[] = [];
  const reach = (n: number, label: number): void => {
    if (n < 0 || n >= face.length || face[n] !== 0 || near[n] !== 0 || !wanted(n)) return;
    near[n] = label;
    next.push(n);
  };
  const spread = (k: number): void => {
    const label = face[k]! || near[k]!;
    reach(k - 1, label);
    reach(k + 1, label);
    reach(k - columns, label);
    reach(k + columns, label);
  };
  for (let k = 0; k < face.length; k++) if (face[k] !== 0) spread(k);
  while (next.length > 0) {
    [rim, next] = [next, []];
    for (const k of rim) spread(k);
  }
  return near;
}

function closeNotches(raster: RoofRaster, noise: number, planeOf: (label: number) => Plane, walls: Uint8Array): void {
  const { face, columns, rows, step, foreign } = raster;
  const reach = Math.max(3, CLOSED_WIDTH / step);
  const toRoof = nearDistanceSquaredRaster(face, columns, rows, reach + 1);
  const outer = new Uint8Array(face.length);
  for (let k = 0; k < outer.length; k++) outer[k] = toRoof[k]! > reach * reach ? 1 : 0;
  const toOuter = nearDistanceSquaredRaster(outer, columns, rows, reach + 1);
  const near = nearestFaces(raster, (k) => toOuter[k]! > reach * reach && !foreign[k]);
  const covered = 4 * noise;
  for (let k = 0; k < face.length; k++) {
    if (near[k] === 0 || walls[k]) continue;
    const nothing = raster.looseCount[k] === 0;
    if (nothing || raster.looseHigh[k]! > planeElevationAt(planeOf(near[k]!), cellCentre(raster, k)) - covered) face[k] = near[k]!;
  }
}

/** A cell goes to the label that five or more of its eight neighbours have, when that is a roof or it was a lone cell. */
function smoothLabels({ face, columns, rows }: RoofRaster): void {
  const before = face.slice();
  const steps = [-1, 1, -columns, columns, -columns - 1, -columns + 1, columns - 1, columns + 1];
  for (let y = 1; y + 1 < rows; y++) {
    for (let x = 1; x + 1 < columns; x++) {
      const k = y * columns + x;
      const here = before[k]!;
      let alike = 0;
      for (let i = 0; i < steps.length; i++) if (before[k + steps[i]!] === here) alike++;
      if (alike >= 3) continue;
      let best = here;
      let most = alike;
      for (const step of steps) {
        const label = before[k + step]!;
        let votes = 0;
        for (const other of steps) if (before[k + other] === label) votes++;
        if (votes > most || (votes === most && label < best && best !== here)) [best, most] = [label, votes];
      }
      if (most >= 5) face[k] = best;
    }
  }
}

/** Takes away cells that stick out of the roof by one cell's width. */
function clearSpurs({ face, columns, rows }: RoofRaster): void {
  const before = face.slice();
  for (let y = 1; y + 1 < rows; y++) {
    for (let x = 1; x + 1 < columns; x++) {
      const k = y * columns + x;
      if (before[k] === 0) continue;
      const free = (before[k - 1] === 0 ? 1 : 0) + (before[k + 1] === 0 ? 1 : 0) + (before[k - columns] === 0 ? 1 : 0) + (before[k + columns] === 0 ? 1 : 0);
      if (free >= 3) face[k] = 0;
    }
  }
}

/** Gives every large connected piece of a label its own number and small ones to a neighbour. */
function numberPieces(raster: RoofRaster, planeOf: (label: number) => Plane): Face[] {
  const { face, columns, rows, step } = raster;
  const { component, sizes, first } = rasterComponents(columns, rows, (k) => (face[k] === 0 ? -1 : face[k]!));
  const largest = new Map<number, number>();
  for (let c = 1; c < sizes.length; c++) {
    const label = face[first[c]!]!;
    const known = largest.get(label);
    if (known === undefined || sizes[c]! > sizes[known]!) largest.set(label, c);
  }
  const faces: Face[] = [];
  const numberOf = new Uint16Array(sizes.length);
  for (let c = 1; c < sizes.length; c++) {
    const label = face[first[c]!]!;
    const large = sizes[c]! >= SMALLEST_PIECE_CELLS && sizes[c]! * step * step >= SMALLEST_PIECE;
    if (!large && (largest.get(label) !== c || sizes[c]! < SMALLEST_SPECK_CELLS)) continue;
    numberOf[c] = faces.length + 1;
    faces.push({ number: faces.length + 1, label, plane: planeOf(label) });
  }
  for (let k = 0; k < face.length; k++) face[k] = numberOf[component[k]!]!;
  const dropped = (k: number): boolean => component[k] !== 0 && numberOf[component[k]!] === 0;
  const near = nearestFaces(raster, dropped);
  for (let k = 0; k < face.length; k++) if (dropped(k)) face[k] = near[k]!;
  return faces;
}

/** Two cells of one face that touch only at a corner are joined through a third, so that outlines never touch themselves. */
function partDiagonals({ face, columns, rows }: RoofRaster): void {
  for (let round = 0; round < 4; round++) {
    let changed = false;
    for (let y = 0; y + 1 < rows; y++) {
      for (let x = 0; x + 1 < columns; x++) {
        const k = y * columns + x;
        const [a, b, c, d] = [face[k]!, face[k + 1]!, face[k + columns]!, face[k + columns + 1]!];
        if (a === d && a !== 0 && b !== a && c !== a) {
          face[k + 1] = a;
          changed = true;
        } else if (b === c && b !== 0 && a !== b && d !== b) {
          face[k] = b;
          changed = true;
        }
      }
    }
    if (!changed) return;
  }
}

/** Short extent over long extent of a set of cells, from the principal axes of its second moments. [-] */
function slimness({ count, x, y, xx, xy, yy }: { count: number; x: number; y: number; xx: number; xy: number; yy: number }): number {
  const [a, b, c] = [xx / count - (x / count) ** 2, xy / count - (x * y) / count ** 2, yy / count - (y / count) ** 2];
  const spread = Math.hypot((a - c) / 2, b);
  return Math.sqrt(Math.max(0, (a + c) / 2 - spread) / Math.max(1e-9, (a + c) / 2 + spread));
}
