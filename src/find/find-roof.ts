import type { Cloud } from '../cloud/cloud.ts';
import { estimateSpacing } from '../cloud/estimate-spacing.ts';
import { absorbVoxels } from './planes/absorb-voxels.ts';
import { chooseRoofs } from './planes/choose-roofs.ts';
import { dissolveStrips } from './facets/dissolve-strips.ts';
import { giveBackStrips } from './planes/give-back-strips.ts';
import { groundVoxels, modelGround } from './buildings/ground-model.ts';
import { rejectPlants } from './buildings/reject-plants.ts';
import { groupBuildings } from './buildings/group-buildings.ts';
import { growRegions } from './planes/grow-regions.ts';
import { judgeSeparations } from './planes/judge-separations.ts';
import { labelPoints } from './planes/label-points.ts';
import { mergeRegions, touchingPairs } from './planes/merge-regions.ts';
import { estimateNoise } from './voxels/pooled-normals.ts';
import { rejectLookalikes } from './planes/reject-lookalikes.ts';
import { sharedError } from './planes/shared-error.ts';
import { splitNecks } from './planes/split-necks.ts';
import { splitFacets } from './facets/split-facets.ts';
import { splitSteps } from './facets/split-steps.ts';
import { directKernels, type RoofKernels } from './roof-kernels.ts';
import type { Segmentation } from './segmentation.ts';
import type { VoxelPlaces, VoxelSize } from './voxels/sum-voxels.ts';
import { buildVoxelTable, type VoxelTable } from './voxels/voxel-table.ts';

/** Fewer voxels than a plane needs to show both its directions. */
const FEWEST_VOXELS = 6;

export interface FindRoofOptions {
  /** Smallest slope area a roof plane may have. [m²] Default 0.5: below it a plane of a drone cloud has no pitch worth stating. */
  readonly smallestArea?: number;
  /** Asked at least once a stage; true ends the search with an AbortError. */
  readonly shouldStop?: () => boolean;
}

/**
 * Finds the roof planes of a cloud: voxel moments, normals, growing, merging, ground, buildings, labels, final fit.
 *
 * @param kernels  Who touches the points; any implementation gives the same bytes.
 * @param onProgress  0 to 1.
 */
export async function findRoof(
  cloud: Cloud,
  options: FindRoofOptions = {},
  kernels: RoofKernels = directKernels,
  onProgress: (fraction: number) => void = () => {},
): Promise<Segmentation> {
  const advance = (fraction: number): void => {
    if (options.shouldStop?.()) throw new DOMException('Stopped on request.', 'AbortError');
    onProgress(fraction);
  };
  const pointSpacing = estimateSpacing(cloud);
  const voxels = chooseVoxels(cloud, pointSpacing);
  const { table, cells } = await sumCloud(cloud, voxels, kernels);
  advance(0.3);
  const ground = modelGround(table);
  const isGround = groundVoxels(table, ground);
  const pooled = await kernels.poolNormals(table, isGround);
  const noise = Math.max(estimateNoise(table, pooled), LEAST_NOISE);
  advance(0.45);
  const { regions: grown, regionOf } = growRegions(table, pooled, { noise, fewestVoxels: FEWEST_VOXELS });
  advance(0.55);
  absorbVoxels(table, grown, regionOf, isGround, noise, 2);
  const rules = { noise, inflation: sharedError(table, grown, noise, pointSpacing) };
  const merged = dissolveStrips(table, mergeRegions(table, grown, regionOf, rules), regionOf, noise);
  advance(0.6);
  const roofRules = { noise, smallestArea: options.smallestArea ?? 0.5 };
  const mayBeRoof = chooseRoofs(table, merged, ground, roofRules);
  const { regions: split, falls } = await splitFacets(table, pooled, merged, regionOf, mayBeRoof, rules, kernels);
  absorbVoxels(table, split, regionOf, isGround, noise, 2);
  const joined = mergeRegions(table, split, regionOf, rules);
  const rejoined = splitSteps(table, joined, regionOf, chooseRoofs(table, joined, ground, roofRules), rules);
  const regions = splitNecks(table, rejoined, regionOf, chooseRoofs(table, rejoined, ground, roofRules), (region) =>
    2 * region.voxels.filter((v) => falls.has(v)).length > region.voxels.length,
  );
  const looksLikeRoof = chooseRoofs(table, regions, ground, roofRules);
  const isRoof = rejectLookalikes(table, regions, regionOf, looksLikeRoof, ground, noise, pointSpacing);
  giveBackStrips(table, regions, regionOf, looksLikeRoof, isRoof, noise);
  const pairs = touchingPairs(table, regionOf, regions, isRoof);
  const buildings = rejectPlants(table, regions, pooled, groupBuildings(table, regions, pairs, regionOf, isRoof, noise), noise);
  advance(0.75);
  const { labelOf, ...answer } = await labelPoints(cloud, voxels, cells, table, regions, regionOf, buildings, pairs, noise, kernels);
  advance(1);
  const joins = regions.flatMap((region, r) => (labelOf[r] === 0 || region.joins === 0 ? [] : [{ label: labelOf[r]!, patches: region.joins + 1, chiSquared: region.mostChiSquared }]));
  return { ...answer, joins, separations: judgeSeparations(table, regions, pairs, labelOf, rules), ground, pointSpacing, noise };
}

/** The voxels of a cloud, and where each cell's stand; their sums are kept in the table alone, as they are the largest part. */
async function sumCloud(cloud: Cloud, voxels: VoxelSize, kernels: RoofKernels): Promise<{ table: VoxelTable; cells: VoxelPlaces[] }> {
  const cells = await kernels.sumVoxels(cloud.cells.map((cell) => ({ cell, voxels })));
  return { table: buildVoxelTable(cloud, voxels, cells), cells: cells.map(({ count, columns, levels }) => ({ count, columns, levels })) };
}

/** Drawn surfaces have no noise, but their corners are rounded to the millimetre, and every tolerance grows from it. [m] */
const LEAST_NOISE = 0.002;

/** Smaller voxels show nothing more in a reconstructed cloud, whose neighbours share their error over a decimetre or so. [m] */
const SMALLEST_VOXEL = 0.16;

/**
 * Voxel edge for a spacing: 1.6 spacings and a decimetre, so that a voxel of a sparse cloud still holds three or four
 * points, and never below `SMALLEST_VOXEL`. Rounded to a whole number of voxels a cell.
 *
 * Tried on scenes of 2 to 25 cm spacing: larger voxels lose falls and small faces (1 % of planes at 2 spacings and
 * 5 cm), smaller ones leave too few points for a normal (8 % of faces at 1 spacing and 25 cm).
 */
export function chooseVoxels(cloud: Cloud, pointSpacing: number): VoxelSize {
  const wanted = Math.max(SMALLEST_VOXEL, 0.1 + 1.6 * pointSpacing);
  const perCell = Math.max(1, Math.min(2000, Math.round(cloud.grid.cellSize / wanted)));
  return { size: cloud.grid.cellSize / perCell, perCell };
}
