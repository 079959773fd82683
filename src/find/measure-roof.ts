import type { CellGrid, Cloud } from '../cloud/cloud.ts';
import { DEFAULT_ASSUMPTIONS, type Assumptions } from '../reading/assumptions.ts';
import type { Building, Sampling, SmallFeature } from '../roof/record.ts';
import type { LocalFrame } from '../site/local-frame.ts';
import { cropTiles } from './crop-tiles.ts';
import type { BuildingAnswer, FaceScatter } from './measure-alone.ts';
import { directMeasureKernels, type MeasureKernels } from './measure-kernels.ts';
import { tileKey, type Tile } from './measure/raster/point-lookup.ts';
import { cutOutRaster, labelBoxes } from './measure/raster/roof-raster.ts';
import type { TileInput } from './measure/raster/tile-sums.ts';
import { groundElevation } from './buildings/ground-elevation.ts';
import { renameBuilding } from './buildings/rename-building.ts';
import type { Segmentation } from './segmentation.ts';

export { directMeasureKernels, type MeasureKernels } from './measure-kernels.ts';

export interface MeasureOptions {
  /** Ground size of one image pixel when it is known. [m] */
  readonly groundSampleDistance?: number | null;
  /** What is taken for granted about level, scale and north. Default `DEFAULT_ASSUMPTIONS`. */
  readonly assumptions?: Assumptions;
  /** Nobody needs the points and labels of the cells in their order afterwards: less memory. Default false. */
  readonly mayReorder?: boolean;
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
  const tiles = await sumTiles(cloud, segmentation, { side, planes, mayReorder: options.mayReorder ?? false }, kernels, (fraction) => onProgress(0.4 * fraction));
  const answers = await measureBuildings(cloud.grid, segmentation, tiles, { side, planes, gridToTrue: frame.gridToTrue, assumptions, options }, kernels, (fraction) => onProgress(0.4 + 0.6 * fraction));
  const buildings: Building[] = [];
  const smallFeatures: SmallFeature[] = [];
  const buildingLabels: (readonly number[])[] = [];
  const buildingBoxes: (readonly [number, number, number, number])[] = [];
  const planeIds = new Array<string | null>(planes.length / 4).fill(null);
  answers.forEach((answered, index) => {
    if (!answered) return;
    const id = `b${buildings.length + 1}`;
    const { building, ...rest } = renameBuilding(answered.answer, provisionalId(index), id);
    for (const [label, plane] of rest.planeOfLabel) planeIds[label] ??= plane;
    buildings.push({ ...building, groundElevationM: groundElevation(segmentation.ground, building.outline) });
    smallFeatures.push(...rest.smallFeatures);
    buildingLabels.push(segmentation.buildings[index]!.segments);
    buildingBoxes.push(answered.box);
  });
  onProgress(1);
  const scatter = answers.flatMap((answered) => answered?.answer.scatter ?? []);
  return { buildings, sampling: samplingOf(segmentation, scatter, options), smallFeatures, planeIds, buildingLabels, buildingBoxes };
}

/** Buildings are numbered once it is known which of them are left. */
const provisionalId = (index: number): string => `b${index + 1}`;

interface HandingOut {
  readonly side: number;
  readonly planes: Float64Array;
  readonly gridToTrue: number;
  readonly assumptions: Assumptions;
  readonly options: MeasureOptions;
}

interface Answered {
  readonly answer: BuildingAnswer;
  readonly box: readonly [number, number, number, number];
}

/**
 * Hands the buildings out, those with most points first so that no thread is left with a large one at the end. A building's
 * points are copied when its turn comes: only those under way are in memory twice.
 *
 * @returns By building of the segmentation; null where no roof is left.
 */
async function measureBuildings(
  grid: CellGrid,
  { buildings, segments, curvedSurfaces, separations, joins, noise }: Segmentation,
  tiles: ReadonlyMap<number, Tile>,
  { side, planes, gridToTrue, assumptions, options }: HandingOut,
  kernels: MeasureKernels,
  onProgress: (fraction: number) => void,
): Promise<(Answered | null)[]> {
  const boxes = labelBoxes(tiles, side, planes.length / 4);
  const pointsOf = new Float64Array(planes.length / 4);
  for (const { label, pointCount } of segments) pointsOf[label] = pointCount;
  const weight = buildings.map((building) => building.segments.reduce((sum, label) => sum + pointsOf[label]!, 0));
  const order = buildings.map((_, index) => index).sort((a, b) => weight[b]! - weight[a]! || a - b);
  const total = weight.reduce((sum, points) => sum + points, 0);
  const answers = new Array<Answered | null>(buildings.length).fill(null);
  const boxOf = new Map<number, Answered['box']>();
  let done = 0;
  await kernels.measureBuildings(
    order.length,
    (turn) => {
      if (options.shouldStop?.()) throw new DOMException('Stopped on request.', 'AbortError');
      const index = order[turn]!;
      const own = new Uint8Array(planes.length / 4);
      for (const label of buildings[index]!.segments) own[label] = 1;
      const raster = cutOutRaster(tiles, boxes, grid, side, own);
      if (!raster) return null;
      const [x, y] = raster.origin;
      boxOf.set(index, [x, y, x + raster.columns * raster.step, y + raster.rows * raster.step]);
      const finding = {
        curvedSurfaces: curvedSurfaces.filter((surface) => surface.some((label) => own[label])),
        separations: separations.filter(({ first, second }) => own[first] && own[second]),
        joins: joins.filter(({ label }) => own[label]),
      };
      return {
        raster, tiles: cropTiles(raster, tiles), planes, noise, groundSampleDistance: options.groundSampleDistance ?? null,
        gridToTrue, assumptions, id: provisionalId(index), finding,
      };
    },
    (answer, turn) => {
      const index = order[turn]!;
      answers[index] = answer && { answer, box: boxOf.get(index)! };
      done += weight[index]!;
      onProgress(total > 0 ? Math.min(1, done / total) : 1);
    },
  );
  return answers;
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
  how: Pick<TileInput, 'side' | 'planes' | 'mayReorder'>,
  kernels: MeasureKernels,
  onProgress: (fraction: number) => void,
): Promise<Map<number, Tile>> {
  const step = cloud.grid.cellSize / how.side;
  const wanted = cellsNearRoofs(cloud, labels);
  const tiles = new Map<number, Tile>();
  for (let from = 0; from < wanted.length; from += BATCH) {
    const batch = wanted.slice(from, from + BATCH);
    const work = batch.map((i): TileInput => ({ positions: cloud.cells[i]!.positions, origin: cloud.cells[i]!.origin, labels: labels[i]!, step, ...how }));
    const answers = await kernels.sumTiles(work);
    batch.forEach((i, j) => {
      const cell = cloud.cells[i]!;
      tiles.set(tileKey(cell.column, cell.row), { column: cell.column, row: cell.row, cell, labels: labels[i]!, ...answers[j]! });
    });
    onProgress(Math.min(1, (from + BATCH) / wanted.length));
  }
  return tiles;
}

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

function samplingOf(segmentation: Segmentation, scatter: readonly FaceScatter[], options: MeasureOptions): Sampling {
  let [points, squares, lengths] = [0, 0, 0];
  for (const { pointCount, noise, correlationLength } of scatter) {
    points += pointCount;
    squares += pointCount * noise * noise;
    lengths += pointCount * correlationLength;
  }
  return {
    pointSpacingM: segmentation.pointSpacing,
    groundSampleDistanceM: options.groundSampleDistance ?? null,
    noiseM: points > 0 ? Math.sqrt(squares / points) : segmentation.noise,
    correlationLengthM: points > 0 ? lengths / points : 0,
  };
}
