import type { Vector2 } from '../../geometry/vector.ts';
import { heightVariance, SIGMAS_95 } from '../../reading/plane-uncertainty.ts';
import { detectionRatio, judgeFeature, LOWEST } from '../../reading/resolvability.ts';
import type { Obstruction, ObstructionShape } from '../../roof/record.ts';
import { measured } from '../../units/measured.ts';
import type { RaisedPatch } from './find-obstructions.ts';
import type { FaceFit } from './fit-faces.ts';
import { elevationAt } from './intersections.ts';
import type { PointLookup } from './point-lookup.ts';
import { meanCovarianceInSquare, meanHeightU95 } from './residual-correlation.ts';
import { cellCentre, type Face, type RoofRaster } from './roof-raster.ts';
import { refineFootprint, type MarkedPoints } from './footprint-sides.ts';
import { footprintArea, footprintCorners, footprintOf, type Footprint } from './top-shape.ts';
import { cos, sin } from '../../geometry/same-math.ts';

/** Cells around a patch whose points are wanted too: its own rim, then the roof it is compared with. */
export const ANNULUS_CELLS = 5;
const GAP_CELLS = 1;

/** Shallow things that follow the roof: skylights, modules, hatches. [m] */
const FLUSH_HEIGHT = 0.13;
/** At the roof's rim, narrower things are what a wall's foot or top leaves in the raster. [cells, and m at most] */
const RIM_CELLS = 2.5;
const RIM_WIDTH = 0.25;
const LINE_ASPECT = 4;
const LINE_WIDTH = 0.6;
/** A top rougher than this many sigmas is no lid: leaves, a heap, a figure. */
const ROUGH_SIGMAS = 4;
/** Height lost on small things by smoothing, as a share of itself at a width of one sample, falling with its square. */
const ATTENUATION = 0.5;
/** What rounding may move all sides of a footprint by together, at 95 %. [spacings, and m at least: common practice, no source] */
const EDGE_BIAS = 0.3;
const LEAST_EDGE_BIAS = 0.01;

export interface ObstructionContext {
  readonly raster: RoofRaster;
  readonly faces: readonly Face[];
  readonly fits: readonly FaceFit[];
  readonly points: PointLookup;
  readonly groundSampleDistance: number | null;
  /** Non-zero for cells that belong to some patch. */
  readonly taken: Uint8Array;
}

export type MeasuredObstruction = Omit<Obstruction, 'id' | 'onPlane'> & { readonly face: number };

/**
 * Footprint, height and shape of one raised patch from its points: the top is where most points of the upper part lie
 * level, or at one height above the roof; the footprint is the top's; the height is taken above the roof around it.
 *
 * @returns null when no top can be made out.
 */
export function measureObstruction(patch: RaisedPatch, context: ObstructionContext): MeasuredObstruction | null {
  const { fits, groundSampleDistance } = context;
  const fit = fits[patch.face - 1]!;
  const raised = patchPoints(patch, fit, context);
  const spacing = 1 / Math.sqrt(Math.max(1e-6, fit.density));
  const top = findTop(raised, fit, Math.max(0.02, 0.35 * patch.height));
  if (!top) return null;
  const base = roofAround(patch, fit, context);
  const rough = footprintOf(top.x, top.y, spacing);
  const roughRise = topAbove(rough.centre, top) - elevationAt(fit, rough.centre) - base.offset;
  if (!(roughRise > 0)) return null;
  const around = pointsAround(patch, fit, context);
  const footprint = refineFootprint(rough, markTopAndRoof(around, top, base.offset, fit.noise), spacing);
  const at = footprint.centre;
  const middle = middleOfTop(around, top, footprint, spacing, roughRise, fit);
  const rise = middle.height - elevationAt(fit, at) - base.offset;
  if (!(rise >= LOWEST)) return null;
  const width = Math.min(...footprint.size);
  const samples = width / Math.max(spacing, groundSampleDistance ?? 0);
  const lost = rise * Math.min(1, ATTENUATION / (samples * samples));
  const height = measured(rise, [
    { name: 'top', u95: 1.25 * middle.roughness * meanHeightU95(fit.correlation, middle.count, Math.sqrt(middle.count / Math.max(1, fit.density))) },
    { name: 'roof', u95: Math.hypot(base.u95, SIGMAS_95 * Math.sqrt(heightVariance(fit, at))) },
    // On a slope a level top's height above the roof hangs on where its middle is.
    { name: 'place', u95: (SIGMAS_95 * footprint.sigma * Math.hypot(fit.slopeX - top.slopeX, fit.slopeY - top.slopeY)) / 2 },
    { name: 'smoothing', u95: lost },
  ]);
  const area = footprintArea(footprint);
  const sides = footprint.round ? area * 2 * (footprint.sigma / footprint.size[0]) : Math.hypot(footprint.size[0], footprint.size[1]) * footprint.sigma;
  const perimeter = 2 * (footprint.size[0] + footprint.size[1]);
  const verdict = judgeFeature({
    height: rise, width, length: Math.max(...footprint.size), noise: fit.noise, correlationLength: fit.correlation.length, spacing, groundSampleDistance,
  });
  // What lies below the limit at its whole area cannot be told from noise, whatever the test on squares said.
  if (detectionRatio({ height: rise, width: Math.sqrt(area), noise: fit.noise, correlationLength: fit.correlation.length, spacing }) < 1) return null;
  const shareUp = liftedShare(footprint, rise, base, patch, context);
  if (shareUp === null) return null;
  const { shape, note } = shapeOf(footprint, rise, top, fit, patch);
  // Rough heaps of points among as many of the roof are strays and pieces of wall.
  if (shape === 'unknown' && shareUp < ROUGH_SHARE) return null;
  // A line gathers evidence along its length; anything else must pass at its width, and clearly where it is low.
  const ratio = detectionRatio({ height: rise, width, noise: fit.noise, correlationLength: fit.correlation.length, spacing });
  if (shape !== 'line' && ratio < (rise < TALL_SIGMAS * fit.noise ? LOW_RATIO : 1)) return null;
  if (patch.beyondRim > 0 && width < Math.min(RIM_CELLS * context.raster.step, RIM_WIDTH)) return null;
  return {
    face: patch.face,
    footprint: footprintCorners(footprint),
    planAreaM2: measured(area, [{ name: 'sides', u95: SIGMAS_95 * sides }, { name: 'edge', u95: perimeter * Math.max(LEAST_EDGE_BIAS, EDGE_BIAS * spacing) }]),
    heightAboveRoofM: height,
    shape,
    resolvability: verdict.resolvability,
    note: note ? `${note}; ${verdict.why}` : verdict.why,
  };
}

/** Whole footprints must pass at this many sigmas: a little more than the squares that pointed at them, for their choice of place. */
const FOOTPRINT_SIGMAS = 5;
/** Share of all points in a footprint that lie in the upper half of its height; at the rim, where walls lie below, more. */
const SHARE_UP = 0.3;
const SHARE_UP_AT_RIM = 0.5;
const FEWEST_UP = 4;
/** So high above the noise, only the number of points up there matters: roof seen below a thing is no doubt of it. [sigmas] */
const TALL_SIGMAS = 8;
/** A lower thing lifts its points as a whole: least share up, and least mean over its height. */
const LOW_SHARE = 0.42;
/** Times the limit of detection that a low thing must reach, and share up that a rough one must. */
const LOW_RATIO = 1.8;
const ROUGH_SHARE = 0.6;

/**
 * Tests the footprint on all of its points. Those of its top were chosen for being high, so among noise they always are;
 * strays and the foot of a wall stand among points of the roof itself.
 *
 * @returns Share of its points in the upper half of its height; null when it does not pass.
 */
function liftedShare(footprint: Footprint, rise: number, base: RoofLevel, patch: RaisedPatch, context: ObstructionContext): number | null {
  const { raster, points, fits } = context;
  const fit = fits[patch.face - 1]!;
  const { centre, turn, size, round } = footprint;
  const [c, s] = [cos(turn), sin(turn)];
  let [count, up, sum, squares] = [0, 0, 0, 0];
  for (const k of grown(raster, patch.cells, 1)) {
    const own = raster.face[k] ? fits[raster.face[k]! - 1]! : fit;
    points.each(k, (x, y, z) => {
      const [dx, dy] = [x - centre[0], y - centre[1]];
      const [u, v] = [(dx * c + dy * s) / size[0], (dy * c - dx * s) / size[1]];
      if (round ? u * u + v * v > 0.25 : Math.abs(u) > 0.5 || Math.abs(v) > 0.5) return;
      const above = z - elevationAt(own, [x, y]) - base.offset;
      // Walls and ground seen past the rim are far below the roof and no part of it.
      if (above < -rise - 5 * own.noise) return;
      const clipped = Math.min(above, 1.5 * rise);
      count++;
      sum += clipped;
      squares += clipped * clipped;
      if (above > 0.5 * rise) up++;
    });
  }
  if (up < Math.max(FEWEST_UP, (patch.beyondRim > 0 ? SHARE_UP_AT_RIM : SHARE_UP) * count)) return null;
  if (rise > TALL_SIGMAS * fit.noise) return up / count;
  const mean = sum / count;
  if (Math.min(up / count, mean / rise) < LOW_SHARE) return null;
  const scatter = Math.max(0, squares / count - mean * mean);
  const side = Math.sqrt(footprintArea(footprint));
  const variance = Math.max(scatter, fit.correlation.alone) / count + meanCovarianceInSquare(fit.correlation, side) + (base.u95 / SIGMAS_95) ** 2;
  return mean > FOOTPRINT_SIGMAS * Math.sqrt(variance) ? up / count : null;
}

interface PatchPoints {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  /** Above the roof, vertical. [m] */
  readonly rise: Float64Array;
}

const patchPoints = (patch: RaisedPatch, fit: FaceFit, { raster, points, fits }: ObstructionContext): PatchPoints =>
  gather(grown(raster, patch.cells, 1), fit, raster, points, fits);

function gather(cells: readonly number[], fit: FaceFit, raster: RoofRaster, points: PointLookup, fits: readonly FaceFit[]): PatchPoints {
  const x: number[] = [];
  const y: number[] = [];
  const z: number[] = [];
  const rise: number[] = [];
  for (const k of cells) {
    const own = raster.face[k] ? fits[raster.face[k]! - 1]! : fit;
    points.each(k, (px, py, pz) => {
      x.push(px);
      y.push(py);
      z.push(pz);
      // Across a ridge the thing stands on both planes: the lower of the two extensions is not the roof there.
      rise.push(pz - elevationAt(own, [px, py]));
    });
  }
  return { x: Float64Array.from(x), y: Float64Array.from(y), z: Float64Array.from(z), rise: Float64Array.from(rise) };
}

interface Top {
  readonly x: Float64Array;
  readonly y: Float64Array;
  readonly z: Float64Array;
  readonly follows: boolean;
  readonly mean: number;
  readonly slopeX: number;
  readonly slopeY: number;
  readonly middle: Vector2;
  readonly roughness: number;
  /** Share of the raised points that belong to it. */
  readonly share: number;
}

function findTop(points: PatchPoints, fit: FaceFit, least: number): Top | null {
  const raised: number[] = [];
  points.rise.forEach((rise, i) => {
    if (rise > least) raised.push(i);
  });
  if (raised.length < 4) return null;
  const band = Math.max(0.02, 2.5 * fit.noise);
  const level = densest(raised.map((i) => points.z[i]!), band);
  const along = densest(raised.map((i) => points.rise[i]!), band);
  const follows = along.count > level.count;
  const values = follows ? points.rise : points.z;
  const centre = follows ? along.centre : level.centre;
  const members = raised.filter((i) => Math.abs(values[i]! - centre) <= 1.2 * band);
  if (members.length < 4) return null;
  const pick = (from: Float64Array): Float64Array => Float64Array.from(members, (i) => from[i]!);
  const [x, y, z] = [pick(points.x), pick(points.y), pick(points.z)];
  const plane = topPlane(x, y, z, follows ? fit : null);
  return { x, y, z, follows, ...plane, share: members.length / raised.length };
}

/** Centre of the window that holds most values, higher windows winning a near tie: walls and skirts lie below a top. */
function densest(values: number[], band: number): { centre: number; count: number } {
  values.sort((a, b) => a - b);
  let best = { centre: values[0]!, count: 0, score: 0 };
  for (let i = 0, j = 0; i < values.length; i++) {
    while (values[i]! - values[j]! > 2 * band) j++;
    const count = i - j + 1;
    const score = count * (1 + 0.1 * (i / values.length));
    if (score > best.score) best = { centre: values[(i + j) >> 1]!, count, score };
  }
  return best;
}

/** Mean height of the top and, for a lid that follows the roof, the roof's own slope. */
function topPlane(x: Float64Array, y: Float64Array, z: Float64Array, follows: FaceFit | null): Pick<Top, 'mean' | 'slopeX' | 'slopeY' | 'middle' | 'roughness'> {
  const n = x.length;
  const [slopeX, slopeY] = follows ? [follows.slopeX, follows.slopeY] : [0, 0];
  let [mx, my, mz] = [0, 0, 0];
  for (let i = 0; i < n; i++) {
    mx += x[i]! / n;
    my += y[i]! / n;
  }
  for (let i = 0; i < n; i++) mz += (z[i]! - slopeX * (x[i]! - mx) - slopeY * (y[i]! - my)) / n;
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (z[i]! - mz - slopeX * (x[i]! - mx) - slopeY * (y[i]! - my)) ** 2;
  return { mean: mz, slopeX, slopeY, middle: [mx, my], roughness: Math.sqrt(squares / n) };
}

/** Reconstruction rounds the rim of a top off over about this much. [spacings, and share of the width at most] */
const ROUNDED = 2;
const ROUNDED_SHARE = 0.3;

/** Elevation of the top above a place. [m] */
const topAbove = ([x, y]: Vector2, { mean, middle, slopeX, slopeY }: Top): number => mean + slopeX * (x - middle[0]) + slopeY * (y - middle[1]);

/** Points of the patch and of the roof about it. */
function pointsAround(patch: RaisedPatch, fit: FaceFit, { raster, points, fits }: ObstructionContext): PatchPoints {
  return gather(grown(raster, patch.cells, ANNULUS_CELLS - 1), fit, raster, points, fits);
}

/** Walls scatter to both sides of a border; points farther than this from top and roof are theirs. [m, sigmas] */
const WALL_FREE = 0.08;
const WALL_FREE_SIGMAS = 4;

/** Points of the top and of the roof; what lies between them on the wall is left out. */
function markTopAndRoof({ x, y, z, rise }: PatchPoints, top: Top, offset: number, noise: number): MarkedPoints {
  const kept: number[] = [];
  const up: number[] = [];
  for (let i = 0; i < x.length; i++) {
    const full = topAbove([x[i]!, y[i]!], top) - (z[i]! - rise[i]!) - offset;
    const band = Math.min(full / 2, Math.max(WALL_FREE, WALL_FREE_SIGMAS * noise));
    const above = rise[i]! - offset;
    if (above > band && above < full - band) continue;
    kept.push(i);
    up.push(above > full / 2 ? 1 : 0);
  }
  return { x: Float64Array.from(kept, (i) => x[i]!), y: Float64Array.from(kept, (i) => y[i]!), up: Uint8Array.from(up) };
}

/** A thing this many sigmas high is told from roof seen below it; the noise of a lower one is its own, whatever it is. */
const SEEN_BELOW_SIGMAS = 8;
const SEEN_BELOW_SHARE = 0.4;

/**
 * Height of the top above the middle of the footprint: median of the points away from the rim, and how much rougher than
 * the roof they are. Glass scatters several times as much, so no band about a guess may cut its points.
 */
function middleOfTop(
  { x, y, z, rise }: PatchPoints, top: Top, { centre, turn, size }: Footprint, spacing: number, roughRise: number, fit: FaceFit,
): { height: number; count: number; roughness: number } {
  const [c, s] = [cos(turn), sin(turn)];
  const inset = (side: number): number => side / 2 - Math.min(ROUNDED * spacing, ROUNDED_SHARE * side);
  const [reachU, reachV] = [inset(size[0]), inset(size[1])];
  const least = roughRise > SEEN_BELOW_SIGMAS * fit.noise ? SEEN_BELOW_SHARE * roughRise : -Infinity;
  const heights: number[] = [];
  for (let i = 0; i < x.length; i++) {
    const [dx, dy] = [x[i]! - centre[0], y[i]! - centre[1]];
    if (Math.abs(dx * c + dy * s) > reachU || Math.abs(dy * c - dx * s) > reachV || rise[i]! < least) continue;
    heights.push(z[i]! - top.slopeX * dx - top.slopeY * dy);
  }
  if (heights.length < 4) return { height: topAbove(centre, top), count: top.z.length, roughness: 1 };
  heights.sort((a, b) => a - b);
  const height = heights[heights.length >> 1]!;
  const away = heights.map((h) => Math.abs(h - height)).sort((a, b) => a - b);
  return { height, count: heights.length, roughness: Math.max(1, (1.4826 * away[away.length >> 1]!) / fit.noise) };
}

/** How far the roof around a patch lies off its plane, and how well that is known. */
interface RoofLevel {
  /** How far the roof around a patch lies off its plane. [m] */
  readonly offset: number;
  readonly u95: number;
}

function roofAround(patch: RaisedPatch, fit: FaceFit, { raster, points, faces, taken }: ObstructionContext): RoofLevel {
  const near = new Set(grown(raster, patch.cells, GAP_CELLS + 1));
  const values: number[] = [];
  const { label } = faces[patch.face - 1]!;
  for (const k of grown(raster, patch.cells, ANNULUS_CELLS)) {
    if (near.has(k) || taken[k] || raster.face[k] !== patch.face) continue;
    points.each(k, (x, y, z, own) => {
      if (own === label) values.push(z - elevationAt(fit, [x, y]));
    });
  }
  if (values.length < 8) return { offset: 0, u95: SIGMAS_95 * fit.noise };
  values.sort((a, b) => a - b);
  const width = Math.sqrt(values.length / Math.max(1, fit.density));
  return { offset: values[values.length >> 1]!, u95: 1.25 * meanHeightU95(fit.correlation, values.length, 2 * width) };
}

function shapeOf({ size, round }: Footprint, rise: number, top: Top, fit: FaceFit, patch: RaisedPatch): { shape: ObstructionShape; note?: string } {
  const across = patch.cells.length > 0 && patch.beyondRim > Math.sqrt(patch.cells.length) ? 'reaches beyond the roof' : null;
  const rough = top.roughness > ROUGH_SIGMAS * fit.noise || top.share < 0.25;
  const note = across ? { note: across } : {};
  if (rough) return { shape: 'unknown', note: across ? `${across}; its top is rough` : 'its top is rough' };
  if (size[0] >= LINE_ASPECT * size[1] && size[1] <= LINE_WIDTH) return { shape: 'line', ...note };
  if (top.follows && rise <= FLUSH_HEIGHT) return { shape: 'flush', ...note };
  return { shape: round ? 'cylinder' : 'box', ...note };
}

/** Cells within some cells of a patch, the patch included, in order. */
export function grown({ columns, rows }: RoofRaster, cells: readonly number[], by: number): number[] {
  const found = new Set<number>();
  for (const k of cells) {
    const [x, y] = [k % columns, Math.floor(k / columns)];
    for (let dy = -by; dy <= by; dy++) {
      for (let dx = -by; dx <= by; dx++) {
        if (x + dx >= 0 && x + dx < columns && y + dy >= 0 && y + dy < rows) found.add((y + dy) * columns + x + dx);
      }
    }
  }
  return [...found].sort((a, b) => a - b);
}

/** Middle of a patch's cells in plan. */
export function patchMiddle(raster: RoofRaster, cells: readonly number[]): Vector2 {
  let [x, y] = [0, 0];
  for (const k of cells) {
    const [cx, cy] = cellCentre(raster, k);
    x += cx / cells.length;
    y += cy / cells.length;
  }
  return [x, y];
}
