import { roughArea } from './choose-roofs.ts';
import { groundAt } from '../buildings/ground-model.ts';
import { maskOf, type RegionMask } from './region-mask.ts';
import { residualOf, type Region } from './region.ts';
import type { GroundModel } from '../segmentation.ts';
import { MOMENTS } from '../voxels/sum-voxels.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';
import { cos } from '../../geometry/same-math.ts';

/** Narrower and long: the top of a parapet or a wall, a gutter, the rounded rim of an eave. [m] */
const NARROWEST = 0.7;
/** How many times longer than wide makes a strip. */
const STRIP = 4;
/** Beyond this it is a strip whatever lies beside it. */
const LONG_STRIP = 8;
/**
 * A strip between planes that go on at its level along this share of its rim, turning away from it by so much, is part of a
 * curved roof: less is sag, more a crease. [-], cos 9°, cos 4°
 */
const FLANKED = 0.6;
const GENTLE_TURN = cos((9 * Math.PI) / 180);
const LEAST_TURN = cos((4 * Math.PI) / 180);
/** A flat top up to this size that stands on a roof is an obstruction's, not a roof plane. [m²] */
const LARGEST_BOX_TOP = 6;
/** Below this it need not even be surrounded: chimneys at a gable end. [m²] */
const SMALL_TOP = 1;
/** Lone flat tops below this height and size are vehicles and bins. [m], [m²] */
const VEHICLE_HEIGHT = 2.6;
const VEHICLE_SIZE = 15;
/** No vehicle on a road is wider: 2.60 m with insulated walls (Council Directive 96/53/EC, Annex I; from memory). [m] */
const WIDEST_VEHICLE = 2.6;
/** Plants, and walls seen with their copings, are thicker than the noise, in sigmas; large surfaces may be rougher (tiles, moss) unless they are steep. */
const PLANT_SIGMAS = 2.2;
const SMALL_SIGMAS = 2;
const ROUGH_SIGMAS = 4;
const LARGE = 10;
/**
 * Strays near a surface lie on a plane as thick as growing allows (1.7 sigmas, when spread evenly over 3 either way), and thin:
 * small planes with less than this share of the usual points an area must be as flat as the noise. [-], [sigmas]
 */
const THIN_SHARE = 0.3;
const STRAY_SIGMAS = 1.3;
/** With less than this a small plane is none, however flat. [-] */
const STRAY_SHARE = 0.05;
/** From here on a plane must show that it is no piece of wall. cos 60° */
const STEEP = 0.5;
const SMALLEST_STEEP = 3;

/**
 * Sorts out planes that look like roofs and are none: strips, tops of boxes and chimneys, vehicles, plants, pieces of
 * wall.
 *
 * @param isRoof  What `chooseRoofs` left.
 * @param noise  Of the cloud, one sigma. [m]
 * @param pointSpacing  [m]
 * @returns The same with the lookalikes struck out.
 */
export function rejectLookalikes(
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  isRoof: readonly boolean[],
  ground: GroundModel,
  noise: number,
  pointSpacing: number,
): boolean[] {
  const masks = regions.map((region, r) => (isRoof[r] ? maskOf(table, region) : null));
  const areas = regions.map((region, r) => (isRoof[r] ? roughArea(table, region) : 0));
  // First what a region shows by itself, so that the second look sees only sound neighbours.
  const isStrip = new Uint8Array(regions.length);
  const sound = regions.map((region, r) => {
    const mask = masks[r];
    if (!mask) return false;
    const { width, length } = extentOf(table, mask);
    if (region.sigma > roughestOf(region, areas[r]!) * noise) return false;
    const isNarrow = width < NARROWEST && length > STRIP * width;
    if (areas[r]! < LARGE && areStrays(region, pointShare(table, region, areas[r]!, pointSpacing), isNarrow, noise)) return false;
    if (region.c < STEEP && (areas[r]! < SMALLEST_STEEP || width < NARROWEST)) return false;
    isStrip[r] = width < NARROWEST && length > LONG_STRIP * width ? 1 : 0;
    return !isStrip[r];
  });
  isStrip.forEach((strip, r) => {
    if (strip && isFlanked(table, regions, regionOf, sound, r, masks[r]!)) sound[r] = true;
  });
  return regions.map((region, r) => {
    const area = areas[r]!;
    if (!sound[r] || area >= VEHICLE_SIZE) return sound[r]!;
    const rim = lookAround(table, regions, regionOf, sound, r, masks[r]!);
    const { width, length } = extentOf(table, masks[r]!);
    if (!isStrip[r] && width < NARROWEST && length > STRIP * width && rim.continues < 0.3) return false;
    const alone = rim.continues < 0.1 && rim.roofBelow < 0.3;
    if (alone && ground.seen && narrowSide(table, region) < WIDEST_VEHICLE && meanAboveGround(table, region, ground) < VEHICLE_HEIGHT) return false;
    if (area < SMALL_TOP && rim.continues < 0.15) return false;
    return !(area < LARGEST_BOX_TOP && rim.continues < 0.15 && rim.roofBelow > 0.5);
  });
}

/** [sigmas] */
function roughestOf({ c }: Region, area: number): number {
  if (area < SMALL_TOP) return SMALL_SIGMAS;
  return area < LARGE || c < STEEP ? PLANT_SIGMAS : ROUGH_SIGMAS;
}

/** Points of a region over those usual on its area. [-] */
function pointShare({ sums }: VoxelTable, { voxels }: Region, area: number, pointSpacing: number): number {
  let points = 0;
  for (const v of voxels) points += sums[MOMENTS * v]!;
  return (points / area) * pointSpacing * pointSpacing;
}

/** A narrow strip with few points is the blur between two levels, however flat: the side of a skylight. */
const areStrays = ({ sigma }: Region, share: number, isNarrow: boolean, noise: number): boolean =>
  share < STRAY_SHARE || (share < THIN_SHARE && (isNarrow || sigma > STRAY_SIGMAS * noise));

/** Cells from the rim to the middle of a strip at its widest: a parapet's top with a corner. */
const DEEPEST_STRIP = 3;

/**
 * Widest square that fits in (of a strip its mean width: the top of a parapet is wider where it turns), and greatest extent. Both as
 * the mask shows them: their ratio is asked, and a slope that lengthens one only would make strips of dormers. [m]
 */
function extentOf({ size }: VoxelTable, { depth, columns, cellOf }: RegionMask): { width: number; length: number } {
  let deepest = 1;
  let [cells, rim] = [0, 0];
  for (const d of depth) {
    if (d > 0) cells++;
    if (d === 1) rim++;
  }
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const cell of cellOf) {
    deepest = Math.max(deepest, depth[cell]!);
    const x = cell % columns;
    const y = Math.floor(cell / columns);
    x0 = Math.min(x0, x);
    x1 = Math.max(x1, x);
    y0 = Math.min(y0, y);
    y1 = Math.max(y1, y);
  }
  const widest = 2 * deepest - 1;
  // Half of a strip's length is its rim: twice the cells over the cells of the rim.
  const width = deepest <= DEEPEST_STRIP ? Math.min(widest, (2 * cells) / rim) : widest;
  const length = Math.hypot(x1 - x0 + 1, y1 - y0 + 1) * size;
  return { width: width * size, length };
}

/** True for a strip of a vault: planes that turn little away from it go on along both its sides. */
function isFlanked(
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  sound: readonly boolean[],
  r: number,
  mask: RegionMask,
): boolean {
  const { a, b, c } = regions[r]!;
  const isGentle = regions.map((other, i) => {
    const turn = a * other.a + b * other.b + c * other.c;
    return sound[i]! && turn > GENTLE_TURN && turn < LEAST_TURN;
  });
  return lookAround(table, regions, regionOf, isGentle, r, mask).continues > FLANKED;
}

interface Rim {
  /** Share of the cells around where another roof plane goes on at the same height. */
  readonly continues: number;
  /** Share where a roof plane lies lower. */
  readonly roofBelow: number;
}

/** Sine of the angle between two planes: how far one leaves the other in a metre from the line where they meet. */
function turnOf(first: Region, second: Region): number {
  const cosine = first.a * second.a + first.b * second.b + first.c * second.c;
  return Math.sqrt(Math.max(0, 1 - cosine * cosine));
}

/**
 * Looks at the columns up to three voxels outside a region. A steeper roof that rises from its rim (a dormer's back) goes on as
 * well: it leaves the region's plane as fast as the two are turned.
 */
function lookAround(
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  isRoof: readonly boolean[],
  r: number,
  { depth, columns, cellOf }: RegionMask,
): Rim {
  const { entry, entryFirst, entryCount, stride } = table;
  const region = regions[r]!;
  const seen = new Set<number>();
  let cells = 0;
  let continues = 0;
  let below = 0;
  const same = Math.max(0.12, 4 * region.sigma);
  region.voxels.forEach((v, i) => {
    if (depth[cellOf[i]!] !== 1) return;
    // Only steps that stay inside the padded table of the cell are safe beyond one column: walk one column at a time.
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]] as const) {
      if (region.c >= STEEP && depth[cellOf[i]! + dy * columns + dx]) continue;
      const key = (table.y[v]! + dy) * 2 ** 24 + table.x[v]! + dx;
      if (seen.has(key)) continue;
      seen.add(key);
      cells++;
      let goesOn = false;
      let lower = false;
      let at = entry[v]!;
      for (let step = 0; step < 3 && !goesOn && !lower; step++) {
        at += dx + dy * stride;
        if (at < 0 || at >= entryFirst.length) break;
        const first = entryFirst[at]!;
        let next = -1;
        for (let u = first; u < first + entryCount[at]!; u++) {
          next = entry[u]!;
          const other = regionOf[u]!;
          if (other < 0 || other === r || !isRoof[other]) continue;
          const gap = residualOf(table, region, u);
          if (Math.abs(gap) < same + 0.5 * table.size * step || (gap > 0 && step < 2 && gap < same + (step + 1) * table.size * turnOf(region, regions[other]!))) goesOn = true;
          else if (gap < 0) lower = true;
        }
        if (next < 0) break;
        at = next;
      }
      if (goesOn) continues++;
      else if (lower) below++;
    }
  });
  return { continues: continues / Math.max(1, cells), roofBelow: below / Math.max(1, cells) };
}

/** Shorter side of the even rectangle whose plan spreads as a region does: root 12 times the lesser standard deviation. [m] */
function narrowSide({ means }: VoxelTable, { voxels }: Region): number {
  const [x0, y0] = [means[3 * voxels[0]!]!, means[3 * voxels[0]! + 1]!];
  let [sx, sy, xx, xy, yy] = [0, 0, 0, 0, 0];
  for (const v of voxels) {
    const x = means[3 * v]! - x0;
    const y = means[3 * v + 1]! - y0;
    sx += x;
    sy += y;
    xx += x * x;
    xy += x * y;
    yy += y * y;
  }
  const w = 1 / voxels.length;
  const [cxx, cxy, cyy] = [xx * w - sx * sx * w * w, xy * w - sx * sy * w * w, yy * w - sy * sy * w * w];
  const lesser = (cxx + cyy) / 2 - Math.hypot((cxx - cyy) / 2, cxy);
  return Math.sqrt(12 * Math.max(0, lesser));
}

function meanAboveGround(table: VoxelTable, region: Region, ground: GroundModel): number {
  let sum = 0;
  let known = 0;
  for (const v of region.voxels) {
    const height = table.means[3 * v + 2]! - groundAt(ground, table.means[3 * v]!, table.means[3 * v + 1]!);
    if (Number.isNaN(height)) continue;
    sum += height;
    known++;
  }
  return known > 0 ? sum / known : Infinity;
}
