import { besideLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import type { DrawnLineOf } from './drawn-border.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { heightDifference, intersectionLine } from './intersections.ts';
import { cellCentre, type Face, type RoofRaster } from '../raster/roof-raster.ts';
import { moveCell } from './settle-borders.ts';

/** Where two planes may meet anywhere within this, nothing in them tells where they border. 95 %. [m] */
const UNKNOWN_LINE = 1.5;
/** A line known to this is worth running on. 95 %. [m] */
const KNOWN_LINE = 0.6;
/** How far from the end of a known line a border may have strayed. [m] */
const FARTHEST = 2.5;
/** Cells where the planes lie farther apart than this many sigmas of the noise keep the label their points gave them. */
const WITHIN_SIGMAS = 3;

/** Border of two faces: its cells on the side of the first. */
interface Border {
  readonly a: number;
  readonly b: number;
  readonly cells: number[];
}

/**
 * Two falls of one deck that are one in slope, such as the north falls of two bays, touch only where the ridge between the
 * bays ends. Nothing in their points tells where one stops; but where the ridge of their neighbours is known, it runs on
 * between them. Moves cells from one to the other accordingly, so that the border does not stray into either bay.
 *
 * @returns Cells that changed their face.
 */
export function runOnBorders(raster: RoofRaster, faces: readonly Face[], fits: readonly FaceFit[], drawnLineOf: DrawnLineOf): number {
  const borders = bordersOf(raster);
  let moved = 0;
  for (const border of borders) {
    if (drawnLineOf(border.a, border.b) || lineWidth(fits, border, middleOf(raster, border)) < UNKNOWN_LINE) continue;
    const line = lineThatRunsOn(raster, fits, borders, border);
    if (line) moved += redraw(raster, faces, fits, border, line);
  }
  return moved;
}

function bordersOf({ face, columns }: RoofRaster): Border[] {
  const found = new Map<number, Border>();
  for (let k = columns; k < face.length - columns; k++) {
    const here = face[k]!;
    if (here === 0) continue;
    for (const n of [k - 1, k + 1, k - columns, k + columns]) {
      const other = face[n]!;
      if (other <= here) continue;
      const key = here * 65536 + other;
      let border = found.get(key);
      if (!border) found.set(key, (border = { a: here, b: other, cells: [] }));
      border.cells.push(k);
    }
  }
  return [...found.values()];
}

const middleOf = (raster: RoofRaster, { cells }: Border): Vector2 => cellCentre(raster, cells[cells.length >> 1]!);

/** Half width of where two planes may meet. 95 %. [m] */
function lineWidth(fits: readonly FaceFit[], { a, b }: Border, at: Vector2): number {
  const { sigma, steepness } = heightDifference(fits[a - 1]!, fits[b - 1]!, at);
  return (2.5 * sigma) / steepness;
}

/**
 * The known line between two other faces, one beside each side of the border, that ends near it. Its left side is the side of
 * the border's first face.
 */
function lineThatRunsOn(raster: RoofRaster, fits: readonly FaceFit[], borders: readonly Border[], border: Border): PlanLine | null {
  const lengthOf = (x: number, y: number): number => borders.find(({ a, b }) => (a === x && b === y) || (a === y && b === x))?.cells.length ?? 0;
  const start = border.cells.map((k) => cellCentre(raster, k));
  for (const other of borders) {
    if ([other.a, other.b].some((face) => face === border.a || face === border.b)) continue;
    const [c, d] = lengthOf(border.a, other.a) >= lengthOf(border.a, other.b) ? [other.a, other.b] : [other.b, other.a];
    if (lengthOf(border.a, c) === 0 || lengthOf(border.b, d) === 0 || lengthOf(border.b, c) > lengthOf(border.a, c) || lengthOf(border.a, d) > lengthOf(border.b, d)) continue;
    if (lineWidth(fits, other, middleOf(raster, other)) > KNOWN_LINE) continue;
    const isNear = other.cells.some((k) => {
      const [x, y] = cellCentre(raster, k);
      return start.some((at) => Math.hypot(at[0] - x, at[1] - y) <= FARTHEST);
    });
    const line = intersectionLine(fits[c - 1]!, fits[d - 1]!);
    if (!isNear || !line) continue;
    const sideOf = (face: number): number => Math.sign(besideLine(line, fits[face - 1]!.centroid));
    if (sideOf(c) !== sideOf(border.a) || sideOf(d) !== sideOf(border.b) || sideOf(c) === sideOf(d)) continue;
    return sideOf(c) > 0 ? line : { at: line.at, direction: [-line.direction[0], -line.direction[1]] };
  }
  return null;
}

/** Spreads from the border over the cells on the wrong side of the line. */
function redraw(raster: RoofRaster, faces: readonly Face[], fits: readonly FaceFit[], { a, b, cells }: Border, line: PlanLine): number {
  const { face, columns } = raster;
  const [first, second] = [fits[a - 1]!, fits[b - 1]!];
  const start = cells.map((k) => cellCentre(raster, k));
  const isOneHere = (at: Vector2): boolean => Math.abs(heightDifference(first, second, at).difference) <= WITHIN_SIGMAS * Math.max(first.noise, second.noise);
  let moved = 0;
  let queue = cells.flatMap((k) => [k, k - 1, k + 1, k - columns, k + columns]);
  while (queue.length > 0) {
    const next: number[] = [];
    for (const k of queue) {
      const here = face[k];
      if (here !== a && here !== b) continue;
      const at = cellCentre(raster, k);
      const there = besideLine(line, at) > 0 ? a : b;
      if (there === here || !isOneHere(at) || !start.some((from) => Math.hypot(from[0] - at[0], from[1] - at[1]) <= FARTHEST)) continue;
      moveCell(raster, faces, k, there);
      moved++;
      next.push(k - 1, k + 1, k - columns, k + columns);
    }
    queue = next;
  }
  return moved;
}
