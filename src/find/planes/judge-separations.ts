import { chiSquaredOfJoining, type MergeRules, type RegionPair } from './merge-regions.ts';
import type { Region } from './region.ts';
import type { Separation } from '../segmentation.ts';
import type { VoxelTable } from '../voxels/voxel-table.ts';
import { cos } from '../../geometry/same-math.ts';

/** Nobody asks of planes that meet at more than this whether they are one. cos 8° */
const SHALLOW = cos((8 * Math.PI) / 180);

/**
 * For neighbours at a shallow angle: how surely they are two planes.
 *
 * @param pairs  Roof planes that touch.
 * @param labelOf  Label of each region, 0 for none.
 */
export function judgeSeparations(
  table: VoxelTable,
  regions: readonly Region[],
  pairs: readonly RegionPair[],
  labelOf: Uint16Array,
  rules: MergeRules,
): Separation[] {
  return pairs.flatMap(({ first, second }) => {
    const [a, b] = [regions[first]!, regions[second]!];
    if (labelOf[first] === 0 || labelOf[second] === 0 || a.a * b.a + a.b * b.b + a.c * b.c < SHALLOW) return [];
    const [x, y] = [labelOf[first]!, labelOf[second]!];
    return [{
      first: Math.min(x, y),
      second: Math.max(x, y),
      chiSquared: chiSquaredOfJoining(table, a, b, rules),
      independentCount: (a.moments[0]! + b.moments[0]!) / rules.inflation,
    }];
  });
}
