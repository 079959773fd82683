import { keptNeighbours, type VoxelTable } from '../voxels/voxel-table.ts';
import { residualOf, type Region } from './region.ts';
import { cos } from '../../geometry/same-math.ts';

/** A strip that turns more from what lies beside it is something else: a gutter, the rounded rim of an eave. cos 4° */
const ALIKE = cos((4 * Math.PI) / 180);
/** Share of its voxels that lie on the roof planes beside it, within so many sigmas of the points. [-] */
const EXPLAINED = 0.7;
const WITHIN_SIGMAS = 2.5;
/** Points that scatter so much more than those of the plane beside it are of plants and clutter on it. [-] */
const ROUGHER = 1.5;

/**
 * Gives what was refused as a roof plane of its own back to the roof planes whose surface it is: a long wave of noise makes a
 * strip along the rim of a fall look like a plane, and refused as a strip it would leave the roof a metre short of its edge. Tops of
 * parapets and of boxes lie above the planes beside them, and stay what they are.
 *
 * @param mayBeRoof  What looked like a roof.
 * @param isRoof  What is left of it.
 * @param noise  Of the cloud, one sigma. [m]
 * @returns How many voxels were given back; `regions` and `regionOf` are brought up to date.
 */
export function giveBackStrips(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, mayBeRoof: readonly boolean[], isRoof: readonly boolean[], noise: number): number {
  let given = 0;
  regions.forEach((strip, r) => {
    if (!mayBeRoof[r] || isRoof[r]) return;
    const beside = planesBeside(table, regions, regionOf, isRoof, strip, noise);
    const isOn = (other: Region, v: number): boolean => Math.abs(residualOf(table, other, v)) < WITHIN_SIGMAS * Math.max(other.sigma, noise);
    const explained = strip.voxels.filter((v) => [...beside].some((other) => isOn(regions[other]!, v))).length;
    if (explained === 0 || explained < EXPLAINED * strip.voxels.length) return;
    given += spreadInto(table, regions, regionOf, r, (other, v) => beside.has(other) && isOn(regions[other]!, v));
  });
  return given;
}

/** Roof planes that touch a strip, face its way and are as rough. */
function planesBeside(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, isRoof: readonly boolean[], strip: Region, noise: number): Set<number> {
  const { first, list } = keptNeighbours(table);
  const found = new Set<number>();
  for (const v of strip.voxels) {
    for (let k = first[v]!, end = first[v + 1]!; k < end; k++) {
      const other = regionOf[list[k]!]!;
      if (other < 0 || !isRoof[other] || found.has(other)) continue;
      const { a, b, c, sigma } = regions[other]!;
      if (a * strip.a + b * strip.b + c * strip.c > ALIKE && strip.sigma <= ROUGHER * Math.max(sigma, noise)) found.add(other);
    }
  }
  return found;
}

/** Ring by ring, each voxel to the plane beside it that it lies nearest to. */
function spreadInto(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, r: number, mayTake: (region: number, voxel: number) => boolean): number {
  const { first, list } = keptNeighbours(table);
  const strip = regions[r]!;
  const before = strip.voxels.length;
  for (;;) {
    const takers = strip.voxels.map((v) => {
      let [best, least] = [-1, Infinity];
      for (let k = first[v]!, end = first[v + 1]!; k < end; k++) {
        const other = regionOf[list[k]!]!;
        if (other < 0 || other === r || other === best || !mayTake(other, v)) continue;
        const off = Math.abs(residualOf(table, regions[other]!, v));
        if (off < least || (off === least && other < best)) [best, least] = [other, off];
      }
      return best;
    });
    if (takers.every((taker) => taker < 0)) return before - strip.voxels.length;
    const voxels = strip.voxels.splice(0);
    voxels.forEach((v, i) => {
      const taker = takers[i]!;
      if (taker >= 0) regionOf[v] = taker;
      regions[taker < 0 ? r : taker]!.voxels.push(v);
    });
  }
}
