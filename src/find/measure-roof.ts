import type { Cell, Cloud } from '../cloud/cloud.ts';
import type { Plane } from '../geometry/plane.ts';
import { ringContains } from '../geometry/polygon.ts';
import type { Vector2 } from '../geometry/vector.ts';
import { DEFAULT_ASSUMPTIONS, type Assumptions } from '../reading/assumptions.ts';
import type { Building, Sampling, SmallFeature } from '../roof/record.ts';
import type { LocalFrame } from '../site/local-frame.ts';
import { measured, missing, type Measured } from '../units/measured.ts';
import { addFinding } from './add-finding.ts';
import { measureBuilding, type MeasuredRoof } from './measure/measure-building.ts';
import { directMeasureKernels, type MeasureKernels } from './measure/measure-kernels.ts';
import { tileKey, type Tile } from './measure/point-lookup.ts';
import { cutOutRaster } from './measure/roof-raster.ts';
import type { TileInput } from './measure/tile-sums.ts';
import { writeBuilding } from './measure/write-building.ts';
import type { GroundModel, Segmentation } from './segmentation.ts';

export { directMeasureKernels, type MeasureKernels } from './measure/measure-kernels.ts';

export interface MeasureOptions {
  /** Ground size of one image pixel when it is known. [m] */
  readonly groundSampleDistance?: number | null;
  /** What is taken for granted about level, scale and north. Default `DEFAULT_ASSUMPTIONS`. */
  readonly assumptions?: Assumptions;
  /** Asked between buildings; true stops. */
  readonly shouldStop?: () => boolean;
}

export interface MeasuredRoofs {
  readonly buildings: Building[];
  readonly sampling: Sampling;
  /** Small things proposed, for a person to look at. */
  readonly smallFeatures: SmallFeature[];
  /** Id of the roof plane each label became, by label; null for label 0 and for what turned out to be no roof plane. */
  readonly planeIds: (string | null)[];
  /** Labels of each building's segments, in the order of `buildings`. */
  readonly buildingLabels: (readonly number[])[];
  /** Least and greatest x and y looked at for each building. [m] */
  readonly buildingBoxes: (readonly [number, number, number, number])[];
}

/** Raster cells hold some four points: the smallest count that leaves few of them empty. [spacings] */
const STEP_IN_SPACINGS = 2;
/** Finer cells than this only draw the noise of a rim; edges are counted from points anyway. [m] */
const LEAST_STEP = 0.07;
/** Tiles summed in one go, so that progress shows and memory for messages stays small. */
const BATCH = 32;

/**
 * Measures the roofs that finding has labelled: outlines, edges with kinds, obstructions, parapets, low points, each
 * number with its uncertainty.
 *
 * @param kernels  Who touches the points; any implementation gives the same bytes.
 * @param onProgress  0 to 1.
 */
export async function measureRoof(
  cloud: Cloud,
  segmentation: Segmentation,
  frame: LocalFrame,
  options: MeasureOptions = {},
  kernels: MeasureKernels = directMeasureKernels,
  onProgress: (fraction: number) => void = () => undefined,
): Promise<MeasuredRoofs> {
  const assumptions = options.assumptions ?? DEFAULT_ASSUMPTIONS;
  const side = fineSide(cloud.grid.cellSize, segmentation.pointSpacing);
  const planes = planeTable(segmentation);
  const tiles = await sumTiles(cloud, segmentation, side, planes, kernels, (fraction) => onProgress(0.4 * fraction));
  const planeOf = (label: number): Plane => ({
    normal: [planes[4 * label]!, planes[4 * label + 1]!, planes[4 * label + 2]!],
    offset: planes[4 * label + 3]!,
  });
  const buildings: Building[] = [];
  const roofs: MeasuredRoof[] = [];
  const smallFeatures: SmallFeature[] = [];
  const buildingLabels: (readonly number[])[] = [];
  const buildingBoxes: (readonly [number, number, number, number])[] = [];
  const planeIds = new Array<string | null>(planes.length / 4).fill(null);
  for (const region of segmentation.buildings) {
    if (options.shouldStop?.()) throw new DOMException('Stopped on request.', 'AbortError');
    const ownLabels = new Uint8Array(planes.length / 4);
    for (const label of region.segments) ownLabels[label] = 1;
    const raster = cutOutRaster(tiles, cloud.grid, side, ownLabels);
    if (!raster) continue;
    const roof = measureBuilding(raster, { planeOf, noise: segmentation.noise, tiles, groundSampleDistance: options.groundSampleDistance ?? null });
    if (roof.rings.length === 0) continue;
    const id = `b${buildings.length + 1}`;
    const { building, planeIdOf } = writeBuilding(roof, {
      id, gridToTrue: frame.gridToTrue, assumptions, groundElevationM: missing('no ground seen'),
    });
    for (const face of roof.faces) planeIds[face.label] ??= planeIdOf.get(face.number) ?? null;
    const labelOf = new Map(roof.faces.flatMap(({ number, label }) => (planeIdOf.has(number) ? [[planeIdOf.get(number)!, label] as const] : [])));
    const told = addFinding(building, labelOf, segmentation);
    buildings.push({ ...told, groundElevationM: groundElevation(segmentation.ground, building.outline) });
    roofs.push(roof);
    roof.proposed.filter(({ face }) => planeIdOf.has(face)).forEach(({ face, ...feature }, i) => smallFeatures.push({ id: `${id}.f${i + 1}`, onPlane: planeIdOf.get(face)!, ...feature }));
    buildingLabels.push(region.segments);
    const [x, y] = raster.origin;
    buildingBoxes.push([x, y, x + raster.columns * raster.step, y + raster.rows * raster.step]);
    onProgress(0.4 + (0.6 * buildings.length) / segmentation.buildings.length);
  }
  onProgress(1);
  return { buildings, sampling: samplingOf(segmentation, roofs, options), smallFeatures, planeIds, buildingLabels, buildingBoxes };
}

/** Cells of the fine raster along one cell of the cloud, for clouds whose points lie this far apart. [m] */
export const fineSide = (cellSize: number, pointSpacing: number): number => Math.max(4, Math.round(cellSize / Math.max(LEAST_STEP, STEP_IN_SPACINGS * pointSpacing)));

/** Four numbers a label, label 0 included: unit normal and offset of its segment's plane. */
export function planeTable(segmentation: Segmentation): Float64Array {
  const highest = segmentation.segments.reduce((most, { label }) => Math.max(most, label), 0);
  const planes = new Float64Array(4 * (highest + 1));
  for (const { label, normal, offset } of segmentation.segments) planes.set([...normal, offset], 4 * label);
  return planes;
}

async function sumTiles(
  cloud: Cloud,
  { labels }: Segmentation,
  side: number,
  planes: Float64Array,
  kernels: MeasureKernels,
  onProgress: (fraction: number) => void,
): Promise<Map<number, Tile>> {
  const step = cloud.grid.cellSize / side;
  const wanted = cellsNearRoofs(cloud, labels);
  const tiles = new Map<number, Tile>();
  for (let from = 0; from < wanted.length; from += BATCH) {
    const batch = wanted.slice(from, from + BATCH);
    const work = batch.map((i): TileInput => tileInput(cloud.cells[i]!, labels[i]!, side, step, planes));
    const answers = await kernels.sumTiles(work);
    batch.forEach((i, j) => {
      const cell = cloud.cells[i]!;
      tiles.set(tileKey(cell.column, cell.row), { column: cell.column, row: cell.row, cell, labels: labels[i]!, ...answers[j]! });
    });
    onProgress(Math.min(1, (from + BATCH) / wanted.length));
  }
  return tiles;
}

const tileInput = ({ positions, origin }: Cell, labels: Uint16Array, side: number, step: number, planes: Float64Array): TileInput => ({
  positions, origin, labels, side, step, planes,
});

/** Cells with a labelled point, and their neighbours: what stands beside a roof matters too. */
function cellsNearRoofs(cloud: Cloud, labels: readonly Uint16Array[]): number[] {
  const { columns } = cloud.grid;
  const near = new Set<number>();
  cloud.cells.forEach((cell, i) => {
    if (!labels[i]!.some((label) => label !== 0)) return;
    for (let dy = -1; dy <= 1; dy++) for (let dx = -1; dx <= 1; dx++) near.add((cell.row + dy) * columns + cell.column + dx);
  });
  return cloud.cells.flatMap((cell, i) => (near.has(cell.row * columns + cell.column) ? [i] : []));
}

/** Ground around a building: median of the ground model within reach of its outline's box. */
export function groundElevation(ground: GroundModel, outline: readonly Vector2[]): Measured {
  if (!ground.seen) return missing('no ground seen');
  const reach = 5;
  const xs = outline.map(([x]) => x);
  const ys = outline.map(([, y]) => y);
  const heights: number[] = [];
  const columnOf = (x: number): number => Math.floor((x - ground.origin[0]) / ground.cellSize);
  const rowOf = (y: number): number => Math.floor((y - ground.origin[1]) / ground.cellSize);
  for (let row = Math.max(0, rowOf(Math.min(...ys) - reach)); row <= Math.min(ground.rows - 1, rowOf(Math.max(...ys) + reach)); row++) {
    for (let column = Math.max(0, columnOf(Math.min(...xs) - reach)); column <= Math.min(ground.columns - 1, columnOf(Math.max(...xs) + reach)); column++) {
      const height = ground.elevation[row * ground.columns + column]!;
      const at: Vector2 = [ground.origin[0] + (column + 0.5) * ground.cellSize, ground.origin[1] + (row + 0.5) * ground.cellSize];
      if (Number.isFinite(height) && !ringContains(outline, at)) heights.push(height);
    }
  }
  if (heights.length === 0) return missing('no ground seen near the building');
  heights.sort((a, b) => a - b);
  const median = heights[heights.length >> 1]!;
  const spread = (heights[Math.floor(0.84 * (heights.length - 1))]! - heights[Math.floor(0.16 * (heights.length - 1))]!) / 2;
  // The ground around a building is no one number; its own spread is the uncertainty of calling it one.
  return measured(median, [{ name: 'ground relief', u95: Math.max(0.05, 2 * spread) }]);
}

function samplingOf(segmentation: Segmentation, roofs: readonly MeasuredRoof[], options: MeasureOptions): Sampling {
  let [points, squares, lengths] = [0, 0, 0];
  for (const { fits } of roofs) {
    for (const fit of fits) {
      points += fit.pointCount;
      squares += fit.pointCount * fit.noise * fit.noise;
      lengths += fit.pointCount * fit.correlation.length;
    }
  }
  return {
    pointSpacingM: segmentation.pointSpacing,
    groundSampleDistanceM: options.groundSampleDistance ?? null,
    noiseM: points > 0 ? Math.sqrt(squares / points) : segmentation.noise,
    correlationLengthM: points > 0 ? lengths / points : 0,
  };
}
