import { cos, sin } from '../../geometry/same-math.ts';
import type { MergeRules } from '../planes/merge-regions.ts';
import { newRegion, type Region } from '../planes/region.ts';
import { refitInside } from '../planes/region-mask.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';
import { cutIntoBlocks, independentVariance, type Blocks } from './facet-blocks.ts';
import { addSquare, heightAt, planeOfSums, spreadAt, stripsAcross, SUMS, sumsBetween, type LocalPlane, type Strips } from './strip-sums.ts';

/** A part counts as a plane of its own from this slope area up. [m²] */
const SMALLEST_PART = 4;
/** Directions a step may run in. */
const DIRECTIONS = 12;
/** Squares the heights are gathered in, and the patches whose means tell how much is independent. [m] */
const SQUARE = 0.4;
const PATCH = 0.8;
/** How far the surface is looked at on either side of a line, at most and at least. [m] */
const WINDOW = 3;
const LEAST_WINDOW = 1.5;
/** A lower step is the thickness of a tile, or a sheet over another. [m] */
const LEAST_STEP = 0.025;
/** Share of the scatter of the whole plane that a step must reach: what stands out of its scatter no more is unevenness. [-] */
const LEAST_SHARE = 1.5;
/** Steps are looked for at every place in every direction; the greatest of them all passes this by chance once in some thousand roofs. [-] */
const LEAST_SIGMAS = 5;
/** What is left of the step when half as much is looked at, at least: a step stays, of a bend a third is left. [-] */
const STAYS = 0.6;
/** Lengths the line is looked at in, how many at most, and what is left of the step in the one that shows it least. [m], [-], [-] */
const SECTION = 2;
const MOST_SECTIONS = 5;
const SHOWS = 0.35;
/** A section counts where the emptier side has this share of the other's points, and so many of the sections must. [-] */
const LEAST_FACED = 0.25;
const LEAST_SEEN = 0.6;
/** Waves longer than patches: twice as many points share an error as patches say. [-] */
const WAVES = 2;

/** A line between two parts of a surface, and how far one stands above the other. */
interface Step {
  /** Direction across the line, from u to w. [rad] */
  readonly turn: number;
  /** Where the line lies across. [m] */
  readonly at: number;
  /** [m] */
  readonly height: number;
  /** Height over its own uncertainty. [-] */
  readonly sigmas: number;
}

/**
 * Cuts planes where one line parts them into a higher and a lower half: two houses in a row of one pitch, whose roofs lie
 * some centimetres apart. Slopes are no evidence, as a single roof sags by more than neighbours differ; where a roof
 * sags or bends no step is seen, as both sides are looked at equally far.
 *
 * @param mayBeRoof  Regions worth the effort.
 * @returns All regions; `regionOf` is brought up to date.
 */
export function splitSteps(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, mayBeRoof: readonly boolean[], rules: MergeRules): Region[] {
  const result = [...regions];
  regions.forEach((_, r) => {
    if (!mayBeRoof[r]) return;
    const open = [r];
    for (let part = open.pop(); part !== undefined; part = open.pop()) {
      const cut = cutAtStep(table, result[part]!, rules);
      if (!cut) continue;
      const added = result.push(cut.right) - 1;
      result[part] = cut.left;
      for (const v of cut.right.voxels) regionOf[v] = added;
      open.push(part, added);
    }
  });
  return result;
}

function cutAtStep(table: VoxelTable, region: Region, rules: MergeRules): { left: Region; right: Region } | null {
  const least = SMALLEST_PART / (table.size * table.size);
  if (region.voxels.length < 2 * least) return null;
  const blocks = cutIntoBlocks(table, region.voxels, region, Math.max(table.size, SQUARE));
  const variance = pointVariance(table, region, rules);
  let best: Step | null = null;
  for (let direction = 0; direction < DIRECTIONS; direction++) {
    const found = greatestStep(blocks, (Math.PI * direction) / DIRECTIONS, variance, Math.max(LEAST_STEP, LEAST_SHARE * region.sigma));
    if (found && (!best || found.sigmas > best.sigmas)) best = found;
  }
  if (!best) return null;
  const [c, s] = [cos(best.turn), sin(best.turn)];
  const [left, right] = [newRegion(region.about), newRegion(region.about)];
  for (let i = 0; i < region.voxels.length; i++) {
    const b = blocks.blockOf[i]!;
    (c * blocks.u[b]! + s * blocks.w[b]! < best.at ? left : right).voxels.push(region.voxels[i]!);
  }
  if (Math.min(left.voxels.length, right.voxels.length) < least) return null;
  for (const side of [left, right]) refitInside(table, side);
  return { left, right };
}

/** Variance of a mean of points times their number, as measured on the surface itself. [m²] */
function pointVariance(table: VoxelTable, region: Region, { noise, inflation }: MergeRules): number {
  const measured = independentVariance(cutIntoBlocks(table, region.voxels, region, Math.max(2 * table.size, PATCH)));
  const white = Math.min(region.sigma, noise) ** 2;
  return Math.max(white, measured === null ? inflation * region.sigma ** 2 : WAVES * measured);
}

/** The most certain step along lines of one direction. @param lowest  [m] */
function greatestStep(blocks: Blocks, turn: number, variance: number, lowest: number): Step | null {
  const strips = stripsAcross(blocks, turn);
  const widest = Math.max(2, Math.round(WINDOW / blocks.size));
  const narrowest = Math.max(2, Math.round(LEAST_WINDOW / blocks.size));
  let best: Step | null = null;
  for (let i = narrowest; i + narrowest <= strips.count; i++) {
    const reach = Math.min(widest, i, strips.count - i);
    const at = (strips.first + i) * blocks.size;
    const whole = stepAt(strips, i, reach, at, variance);
    if (!whole || Math.abs(whole.height) < lowest || whole.sigmas < LEAST_SIGMAS || (best && whole.sigmas <= best.sigmas)) continue;
    const half = stepAt(strips, i, Math.ceil(reach / 2), at, variance);
    if (!half || half.height / whole.height < STAYS || Math.abs(whole.height) < LEAST_SIGMAS * waviness(strips, i, reach, whole)) continue;
    const step = { turn, at, height: whole.height, sigmas: whole.sigmas };
    if (runsThrough(blocks, step, reach * blocks.size)) best = step;
  }
  return best;
}

interface Sides {
  readonly low: LocalPlane;
  readonly high: LocalPlane;
  readonly height: number;
  readonly sigmas: number;
}

/** What lies up to `reach` strips before strip i against what lies as far behind. */
function stepAt(strips: Strips, i: number, reach: number, at: number, variance: number): Sides | null {
  const low = planeOfSums(sumsBetween(strips, i - reach, i));
  const high = planeOfSums(sumsBetween(strips, i, i + reach));
  if (!low || !high) return null;
  const along = (low.n * low.l0 + high.n * high.l0) / (low.n + high.n);
  const height = heightAt(high, at, along) - heightAt(low, at, along);
  return { low, high, height, sigmas: Math.abs(height) / Math.sqrt(variance * (spreadAt(low, at, along) + spreadAt(high, at, along))) };
}

/** Uncertainty of a step from what both planes leave in the means of the strips: waves along the line, which patches take for noise. [m] */
function waviness(strips: Strips, i: number, reach: number, { low, high }: Sides): number {
  let squares = 0;
  for (let k = i - reach; k < i + reach; k++) {
    const [n, t, l, , , , h] = sumsBetween(strips, k, k + 1);
    if (n! > 0) squares += (heightAt(k < i ? low : high, t! / n!, l! / n!) - h! / n!) ** 2;
  }
  // Of either side two numbers are spent; the end of a line through k strips has four times the variance of their mean.
  return Math.sqrt((squares / Math.max(1, 2 * reach - 4)) * (8 / reach));
}

/** True where the step shows all along the line, not only where something lies on one part of the roof. */
function runsThrough(blocks: Blocks, { turn, at, height }: Step, reach: number): boolean {
  const [c, s] = [cos(turn), sin(turn)];
  const near: number[] = [];
  let low = Infinity;
  let high = -Infinity;
  for (let b = 0; b < blocks.count; b++) {
    if (Math.abs(c * blocks.u[b]! + s * blocks.w[b]! - at) > reach) continue;
    near.push(b);
    const along = c * blocks.w[b]! - s * blocks.u[b]!;
    if (along < low) low = along;
    if (along > high) high = along;
  }
  const sections = Math.max(2, Math.min(MOST_SECTIONS, Math.round((high - low) / SECTION)));
  const sums = new Float64Array(2 * SUMS * sections);
  for (const b of near) {
    const along = c * blocks.w[b]! - s * blocks.u[b]!;
    const section = Math.min(sections - 1, Math.floor((sections * (along - low)) / (high - low)));
    const side = c * blocks.u[b]! + s * blocks.w[b]! < at ? 0 : 1;
    addSquare(sums, SUMS * (2 * section + side), blocks, b, c, s);
  }
  let seen = 0;
  for (let k = 0; k < sections; k++) {
    const before = planeOfSums(sums.subarray(2 * SUMS * k, SUMS * (2 * k + 1)));
    const behind = planeOfSums(sums.subarray(SUMS * (2 * k + 1), 2 * SUMS * (k + 1)));
    if (!before || !behind || Math.min(before.n, behind.n) < LEAST_FACED * Math.max(before.n, behind.n)) continue;
    const middle = low + ((k + 0.5) * (high - low)) / sections;
    if ((heightAt(behind, at, middle) - heightAt(before, at, middle)) / height < SHOWS) return false;
    seen++;
  }
  return seen > LEAST_SEEN * sections;
}
