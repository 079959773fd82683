import type { Cloud } from '../../cloud/cloud.ts';
import { fitMoments, MOMENT_FIT_SIZE } from '../../geometry/fit-moments.ts';
import type { Vector3 } from '../../geometry/vector.ts';
import { roughArea } from './choose-roofs.ts';
import { findCurved } from './judge-curvature.ts';
import { interiorOf, NO_MARGIN } from './region-mask.ts';
import { HISTOGRAM_REACH, PLANE_NUMBERS, RESIDUAL_BINS, type LabelCellWork, type LabelledCell } from '../voxels/label-cell.ts';
import type { RegionPair } from './merge-regions.ts';
import type { Region } from './region.ts';
import type { RoofKernels } from '../roof-kernels.ts';
import type { BuildingRegion, RoofSegment } from '../segmentation.ts';
import { MOMENTS, type VoxelPlaces, type VoxelSize } from '../voxels/sum-voxels.ts';
import { centreX, centreY, centreZ, keptNeighbours, neighboursOf, type VoxelTable } from '../voxels/voxel-table.ts';
import { cos } from '../../geometry/same-math.ts';

/** Planes a voxel may offer its points. */
const MOST_CANDIDATES = 4;
/** Points farther off are not on the plane: 3.5 sigma keep 99.95 % of the noise. */
const LABEL_SIGMAS = 3.5;
/** The final fit may turn a plane by no more than this. */
const LARGEST_TURN = cos((2.5 * Math.PI) / 180);
/** 65 535 labels fit the array; nobody's survey has as many planes, but trees might. */
const MOST_LABELS = 65_535;

export interface LabelledPoints {
  readonly segments: readonly RoofSegment[];
  readonly buildings: readonly BuildingRegion[];
  readonly labels: readonly Uint16Array[];
  readonly curvedSurfaces: readonly (readonly number[])[];
  /** Label of each region, 0 for none. */
  readonly labelOf: Uint16Array;
}

/** Points to labels, and the final fit of every plane from its own interior points. */
export async function labelPoints(
  cloud: Cloud,
  voxels: VoxelSize,
  cells: readonly VoxelPlaces[],
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  buildings: readonly (readonly number[])[],
  pairs: readonly RegionPair[],
  noise: number,
  kernels: RoofKernels,
): Promise<LabelledPoints> {
  const labelled = buildings.flat().slice(0, MOST_LABELS);
  const labelOf = new Uint16Array(regions.length);
  labelled.forEach((r, i) => (labelOf[r] = i + 1));
  const interior = new Uint8Array(table.count);
  for (const r of labelled) {
    const inside = interiorOf(table, regions[r]!);
    for (let i = 0; i < inside.length; i++) interior[regions[r]!.voxels[i]!] = inside[i]!;
  }
  const isBeside = besideLabelled(table, regions, regionOf, labelled);
  const work = cloud.cells.map((cell, c) => workOf(table, regions, regionOf, labelOf, interior, isBeside, noise, c, cells[c]!, cell, voxels));
  const answers = await kernels.labelCells(work);
  const planes = labelled.map((r) => gatherPlane(work, answers, labelOf[r]!));
  const { curved, surfaces } = findCurved(table, regions, pairs, (r) => labelOf[r]! > 0, noise);
  const segments: RoofSegment[] = [];
  const grouped: BuildingRegion[] = [];
  buildings.forEach((group, index) => {
    grouped.push({ index, segments: group.map((r) => labelOf[r]!).filter((label) => label > 0) });
    for (const r of group) {
      const label = labelOf[r]!;
      if (label === 0) continue;
      segments.push(finalSegment(table, regions[r]!, label, index, planes[label - 1]!, curved[r]!, noise));
    }
  });
  return {
    segments, buildings: grouped, labels: answers.map((answer) => answer.labels), labelOf,
    curvedSurfaces: surfaces.map((surface) => surface.map((r) => labelOf[r]!)),
  };
}

/** 1 for voxels of no labelled region that touch one. */
function besideLabelled(table: VoxelTable, regions: readonly Region[], regionOf: Int32Array, labelled: readonly number[]): Uint8Array {
  const isLabelled = new Uint8Array(regions.length);
  for (const r of labelled) isLabelled[r] = 1;
  const isBeside = new Uint8Array(table.count);
  const { first, list } = keptNeighbours(table);
  for (const r of labelled) {
    const { voxels } = regions[r]!;
    for (let i = 0; i < voxels.length; i++) {
      for (let k = first[voxels[i]!]!, end = first[voxels[i]! + 1]!; k < end; k++) {
        const other = regionOf[list[k]!]!;
        if (other < 0 || isLabelled[other] === 0) isBeside[list[k]!] = 1;
      }
    }
  }
  return isBeside;
}

const toleranceOf = (region: Region, noise: number): number => LABEL_SIGMAS * Math.max(region.sigma, 0.8 * noise);

function workOf(
  table: VoxelTable,
  regions: readonly Region[],
  regionOf: Int32Array,
  labelOf: Uint16Array,
  interior: Uint8Array,
  isBeside: Uint8Array,
  noise: number,
  c: number,
  cellVoxels: VoxelPlaces,
  cell: LabelCellWork['cell'],
  voxels: VoxelSize,
): LabelCellWork {
  const first = table.cellFirst[c]!;
  const { count, columns, levels } = cellVoxels;
  const near = new Int32Array(26);
  const candidateFirst = new Uint32Array(count + 1);
  const candidates: number[] = [];
  const rowOf = new Map<number, number>();
  const here: number[] = [];
  const isCoarse = table.size > NO_MARGIN;
  for (let k = 0; k < count; k++) {
    const v = first + k;
    here.length = 0;
    const own = regionOf[v]!;
    const labelled = own >= 0 && labelOf[own]! > 0;
    if (labelled) here.push(own);
    // Deep inside a plane nothing else is near, and far from every plane nothing is.
    if (labelled ? isCoarse || !interior[v] : isBeside[v]) {
      const found = neighboursOf(table, v, near);
      for (let i = 0; i < found && here.length < MOST_CANDIDATES; i++) {
        const r = regionOf[near[i]!]!;
        if (r >= 0 && labelOf[r]! > 0 && !here.includes(r)) here.push(r);
      }
    }
    for (const r of here) {
      if (!rowOf.has(r)) rowOf.set(r, rowOf.size);
      candidates.push(rowOf.get(r)!);
    }
    candidateFirst[k + 1] = candidates.length;
  }
  const planes = new Float64Array(PLANE_NUMBERS * rowOf.size);
  for (const [r, row] of rowOf) planes.set(planeRow(table, regions[r]!, labelOf[r]!, noise), PLANE_NUMBERS * row);
  return {
    cell,
    voxels,
    columns,
    levels,
    candidateFirst,
    candidates: Uint16Array.from(candidates),
    interior: interior.slice(first, first + count),
    planes,
  };
}

function planeRow(table: VoxelTable, region: Region, label: number, noise: number): number[] {
  const point = referencePoint(table, region);
  return [label, region.a, region.b, region.c, toleranceOf(region, noise), ...point, 0];
}

/** Centre of gravity of the fitted points, which lies on the plane. */
function referencePoint(table: VoxelTable, { about, moments }: Region): Vector3 {
  const w = 1 / moments[0]!;
  return [
    centreX(table, about) + moments[1]! * w,
    centreY(table, about) + moments[2]! * w,
    centreZ(table, about) + moments[3]! * w,
  ];
}

interface PlaneSums {
  readonly pointCount: number;
  readonly sums: Float64Array;
  readonly residuals: Uint32Array;
}

/** Adds up what the cells say about one plane, in cell order. */
function gatherPlane(work: readonly LabelCellWork[], answers: readonly LabelledCell[], label: number): PlaneSums {
  const sums = new Float64Array(MOMENTS);
  const residuals = new Uint32Array(RESIDUAL_BINS);
  let pointCount = 0;
  work.forEach(({ planes }, c) => {
    for (let row = 0; row * PLANE_NUMBERS < planes.length; row++) {
      if (planes[PLANE_NUMBERS * row] !== label) continue;
      const answer = answers[c]!;
      pointCount += answer.pointCounts[row]!;
      for (let m = 0; m < MOMENTS; m++) sums[m]! += answer.sums[MOMENTS * row + m]!;
      for (let bin = 0; bin < RESIDUAL_BINS; bin++) residuals[bin]! += answer.residuals[RESIDUAL_BINS * row + bin]!;
    }
  });
  return { pointCount, sums, residuals };
}

function finalSegment(
  table: VoxelTable,
  region: Region,
  label: number,
  building: number,
  { pointCount, sums, residuals }: PlaneSums,
  curved: boolean,
  noise: number,
): RoofSegment {
  const reference = referencePoint(table, region);
  let normal: Vector3 = [region.a, region.b, region.c];
  let centroid = reference;
  let rms = region.sigma;
  if (sums[0]! >= 12) {
    const fit = new Float64Array(MOMENT_FIT_SIZE);
    fitMoments(sums, fit);
    const w = 1 / sums[0]!;
    // A few points in a corner of the plane can say anything about its pitch; the voxels it was found by know better.
    if (fit[0]! * region.a + fit[1]! * region.b + fit[2]! * region.c > LARGEST_TURN && sums[0]! > 0.1 * pointCount) {
      normal = [fit[0]!, fit[1]!, fit[2]!];
      centroid = [reference[0] + sums[1]! * w, reference[1] + sums[2]! * w, reference[2] + sums[3]! * w];
    }
    rms = lowerHalfScale(residuals, toleranceOf(region, noise)) ?? Math.sqrt(fit[3]!);
  }
  const offset = -(normal[0] * centroid[0] + normal[1] * centroid[1] + normal[2] * centroid[2]);
  return {
    label,
    building,
    normal,
    offset,
    centroid,
    pointCount,
    residualRms: rms,
    curved,
    roughSlopeArea: roughArea(table, region),
  };
}

/**
 * One sigma from the residuals below the plane alone: 1.4826 times their median distance. Clutter lies above a roof and
 * never below it.
 */
function lowerHalfScale(residuals: Uint32Array, tolerance: number): number | null {
  const zero = RESIDUAL_BINS / 2;
  const width = (2 * HISTOGRAM_REACH * tolerance) / RESIDUAL_BINS;
  let total = 0;
  for (let bin = 0; bin < zero; bin++) total += residuals[bin]!;
  if (total < 12) return null;
  let left = total / 2;
  for (let bin = zero - 1; bin >= 0; bin--) {
    const here = residuals[bin]!;
    if (left <= here) return 1.4826 * (zero - 1 - bin + left / here) * width;
    left -= here;
  }
  return null;
}
