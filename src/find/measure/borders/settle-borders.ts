import { rasterComponents } from '../../../geometry/raster-components.ts';
import { NONE_DRAWN, type DrawnLineOf } from './drawn-border.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt, heightDifference } from './intersections.ts';
import { cellCentre, type Face, type RoofRaster } from '../raster/roof-raster.ts';

/** Labels of two planes wander by this share of the noise over how fast the planes part. */
const WANDER = 0.7;
/** A cell where the planes lie farther apart than this many sigmas of the noise has the label its points gave it. */
const WITHIN_SIGMAS = 3;
/** However fast two planes part, farther from their line the labels are right. [m] */
const FARTHEST = 2.5;
/** A line less surely known than this tells no more than the labels do. One sigma. [m] */
const POOR_LINE = 0.5;
/** Cells up to this far from a border tell which way the roof bends over it. [m] */
const LOOKED_AT = 1.2;
/** A face that settling leaves smaller than this was none. [m²] */
const SMALLEST_FACE = 1;
/** Sum of the heights of one plane above the other in those cells, over the sum of their sizes: least that is a bend. */
const SURE_BEND = 0.3;
/** Where those heights contradict each other, planes this many sigmas of the noise apart at both of their middles tell it. */
const MIDDLES_SIGMAS = 1;
/** Cells of each plane that must have been looked at. */
const FEWEST_CELLS = 8;
/** A cell goes from face to face at most so often: three planes that claim it in turn leave it in the end. */
const MOST_CHANGES = 4;

/**
 * Redraws the borders of planes that are nearly one (falls of a flat roof) along the lines where they meet. A point within
 * the noise of two planes is labelled at a guess, so such a border strays by decimetres, while the planes, fitted to
 * thousands of points, fix their line to a few centimetres. Where the roof bends up over the line it follows the higher of
 * the two planes, where it bends down the lower. Left alone: borders that were drawn, planes whose line is not known that well, that do not meet
 * where they border (a step), or that part fast enough for the labels to be right.
 *
 * Moves a cell's points to the plane they now belong to, so that a next fit uses them there.
 *
 * @returns Cells that changed their face.
 */
export function settleBorders(raster: RoofRaster, faces: readonly Face[], fits: readonly FaceFit[], drawnLineOf: DrawnLineOf = NONE_DRAWN): number {
  const { face, columns } = raster;
  const bends = bendTable(raster, fits, drawnLineOf);
  if (bends.every((bend) => bend === 0)) return 0;
  const count = fits.length;
  const changes = new Uint8Array(face.length);
  let moved = 0;
  let queue: number[] = [];
  for (let k = columns; k < face.length - columns; k++) if (face[k] !== 0 && touchesOther(raster, k)) queue.push(k);
  while (queue.length > 0) {
    const next: number[] = [];
    for (const k of queue) {
      const here = face[k]!;
      if (changes[k]! >= MOST_CHANGES) continue;
      const there = rightFace(raster, fits, bends, count, k);
      if (there === here) continue;
      moveCell(raster, faces, k, there);
      changes[k]!++;
      moved++;
      next.push(k, k - 1, k + 1, k - columns, k + columns);
    }
    queue = next.filter((k) => face[k] !== 0);
  }
  if (moved > 0) absorbScraps(raster, faces, bends, count);
  return moved;
}

/** What is left of a face that lost its border, or stands apart from the rest of it, goes to the neighbour all round. */
function absorbScraps(raster: RoofRaster, faces: readonly Face[], bends: Int8Array, count: number): void {
  const { face, columns, rows, step } = raster;
  const { component, sizes, first } = rasterComponents(columns, rows, (k) => (face[k] === 0 ? -1 : face[k]!));
  const largest = new Map<number, number>();
  for (let c = 1; c < sizes.length; c++) {
    const own = face[first[c]!]!;
    if (!largest.has(own) || sizes[c]! > sizes[largest.get(own)!]!) largest.set(own, c);
  }
  const isScrap = sizes.map((size, c) => {
    if (c === 0) return false;
    const own = face[first[c]!]!;
    const hasBend = bends.subarray((own - 1) * count, own * count).some((bend) => bend !== 0);
    return hasBend && (largest.get(own) !== c || size * step * step < SMALLEST_FACE);
  });
  let rim: number[] = [];
  for (let k = 0; k < face.length; k++) if (face[k] !== 0 && !isScrap[component[k]!]) rim.push(k);
  const taken = new Uint8Array(face.length);
  while (rim.length > 0) {
    const next: number[] = [];
    for (const k of rim) {
      for (const n of [k - 1, k + 1, k - columns, k + columns]) {
        if (face[n] === 0 || taken[n] || !isScrap[component[n]!]) continue;
        taken[n] = 1;
        moveCell(raster, faces, n, face[k]!);
        next.push(n);
      }
    }
    rim = next;
  }
}

function touchesOther({ face, columns }: RoofRaster, k: number): boolean {
  const here = face[k]!;
  return [k - 1, k + 1, k - columns, k + columns].some((n) => face[n] !== 0 && face[n] !== here);
}

/** Face a cell should have: the one of a neighbour whose plane the roof follows there, else its own. */
function rightFace(raster: RoofRaster, fits: readonly FaceFit[], bends: Int8Array, count: number, k: number): number {
  const { face, columns } = raster;
  let best = face[k]!;
  const at = cellCentre(raster, k);
  for (const n of [k - 1, k + 1, k - columns, k + columns]) {
    const other = face[n]!;
    if (other === 0 || other === best) continue;
    const bend = bends[(best - 1) * count + other - 1]!;
    if (bend === 0) continue;
    const [a, b] = [fits[best - 1]!, fits[other - 1]!];
    const { difference, steepness } = heightDifference(a, b, at);
    const reach = Math.min(WITHIN_SIGMAS * Math.max(a.noise, b.noise), FARTHEST * steepness);
    if (bend * difference < 0 && Math.abs(difference) <= reach) best = other;
  }
  return best;
}

/** By pair of faces: 1 where the roof bends up over their line (it follows the higher plane), -1 down, 0 to be left alone. */
function bendTable(raster: RoofRaster, fits: readonly FaceFit[], drawnLineOf: DrawnLineOf): Int8Array {
  const { face, columns, step } = raster;
  const count = fits.length;
  const sums = new Float64Array(count * count);
  const sizes = new Float64Array(count * count);
  const seen = new Uint32Array(count * count);
  const depth = Math.max(3, Math.round(LOOKED_AT / step));
  const wanders = new Int8Array(count * count).fill(-1);
  for (let k = depth * columns; k < face.length - depth * columns; k++) {
    const here = face[k]!;
    if (here === 0) continue;
    for (let side = 0; side < 4; side++) {
      const other = face[k + (side & 1 ? depth : -depth) * (side & 2 ? columns : 1)]!;
      if (other === 0 || other === here) continue;
      const pair = (here - 1) * count + other - 1;
      if (wanders[pair] === 0) continue;
      const [a, b] = [fits[here - 1]!, fits[other - 1]!];
      const at = cellCentre(raster, k);
      if (wanders[pair] === -1) wanders[pair] = labelsWander(a, b, at, step) ? 1 : 0;
      if (wanders[pair] === 0) continue;
      const above = elevationAt(a, at) - elevationAt(b, at);
      seen[pair]!++;
      sums[pair]! += above;
      sizes[pair]! += Math.abs(above);
    }
  }
  const bends = new Int8Array(count * count);
  for (let a = 0; a < count; a++) {
    for (let b = 0; b < a; b++) {
      const [ab, ba] = [a * count + b, b * count + a];
      if (drawnLineOf(a + 1, b + 1)) continue;
      if (seen[ab]! < FEWEST_CELLS || seen[ba]! < FEWEST_CELLS) continue;
      const [here, there] = [sums[ab]! / sizes[ab]!, sums[ba]! / sizes[ba]!];
      if (here >= SURE_BEND && there >= SURE_BEND) bends[ab] = bends[ba] = 1;
      else if (here <= -SURE_BEND && there <= -SURE_BEND) bends[ab] = bends[ba] = -1;
      else if (wanders[ab] === 1) bends[ab] = bends[ba] = bendOfMiddles(fits[a]!, fits[b]!);
    }
  }
  return bends;
}

/** Which way the roof bends from the middle of one plane to that of the other: labels that strayed by a metre say nothing near the border. */
function bendOfMiddles(a: FaceFit, b: FaceFit): -1 | 0 | 1 {
  const [here, there] = [elevationAt(a, a.centroid) - elevationAt(b, a.centroid), elevationAt(b, b.centroid) - elevationAt(a, b.centroid)];
  const clear = MIDDLES_SIGMAS * Math.max(a.noise, b.noise);
  return Math.min(here, there) > clear ? 1 : Math.max(here, there) < -clear ? -1 : 0;
}

/** True where a border drawn by labels strays by more than a cell, and the planes know their line. */
function labelsWander(a: FaceFit, b: FaceFit, at: readonly [number, number], step: number): boolean {
  const { sigma, steepness } = heightDifference(a, b, at);
  return WANDER * Math.max(a.noise, b.noise) > step * steepness && sigma < POOR_LINE * steepness;
}

/** Heights above one plane become heights above the other: the planes are nearly parallel, so only their distance counts. */
export function moveCell(raster: RoofRaster, faces: readonly Face[], k: number, to: number): void {
  const [a, b] = [faces[raster.face[k]! - 1]!, faces[to - 1]!];
  raster.face[k] = to;
  if (raster.count[k] === 0) return;
  if (raster.label[k] === a.label && raster.label[k] !== b.label) {
    const [x, y] = cellCentre(raster, k);
    const n = raster.count[k]!;
    const height = ({ plane: { normal, offset } }: Face): number => -(normal[0] * x + normal[1] * y + offset) / normal[2];
    const lift = (height(a) - height(b)) * b.plane.normal[2];
    raster.squares[k] = raster.squares[k]! + 2 * lift * raster.sum[k]! + n * lift * lift;
    raster.sum[k] = raster.sum[k]! + n * lift;
    raster.label[k] = b.label;
  }
  raster.filled[k] = raster.label[k] === b.label ? 0 : 1;
}
