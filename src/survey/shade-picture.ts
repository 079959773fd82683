import { cellCentres, gridStep, planeGrid, type PlaneGrid } from '../layout/shade-grid.ts';
import { standingScene } from '../layout/fit-group.ts';
import { contentBox } from '../layout/record-window.ts';
import { checkFitOptions, type FitOptions } from '../layout/fit-options.ts';
import type { RoofRecord } from '../roof/record.ts';
import type { CellLight } from '../sun/cell-light.ts';
import { recordScene, sceneNear } from '../sun/record-scene.ts';
import { REACH } from '../sun/relief.ts';
import type { ShadeCells } from '../sun/solar-access.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import { InputError } from '../units/input-error.ts';
import type { FitRunHooks } from './fit-on.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/** Light and horizons on the roof planes of some buildings, cell by cell. */
export interface ShadePicture {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
  readonly gridToTrueDeg: number;
  readonly hasSurface: boolean;
  /** Cells of the planes stand one plane after the other in `light`; orientation `i` is that of plane `i`. */
  readonly grids: readonly PlaneGrid[];
  readonly light: CellLight;
}

/** Cells a picture has in all: fine enough to see a chimney's shade on a house, a few seconds of work. */
const CELLS = 20_000;
/** Cells a message carries. */
const CHUNK = 2048;

/**
 * Shade of buildings through a year, in the runner's threads.
 *
 * @param buildings  Ids; light on their roof planes is computed, whatever stands near throws shade.
 * @throws InputError when the place on the Earth is not known.
 */
export async function shadePicture(record: RoofRecord, buildings: readonly string[], options: FitOptions, surface: SurfaceModel | null, runner: TaskRunner, hooks: FitRunHooks = {}): Promise<ShadePicture> {
  const { latitudeDeg, longitudeDeg, ...checked } = checkFitOptions(options);
  if (latitudeDeg === null || longitudeDeg === null) throw new InputError('latitude', 'and longitude are not known: the survey states no projection. Type them.');
  const wanted = record.buildings.filter(({ id }) => buildings.includes(id));
  const planes = wanted.flatMap(({ roofPlanes }) => roofPlanes);
  const box = contentBox(wanted);
  const whole = standingScene(record, recordScene(record, surface ?? undefined));
  const scene = box ? sceneNear(whole, box, REACH) : whole;
  const area = planes.reduce((sum, { slopeAreaM2 }) => sum + (slopeAreaM2.value ?? 0), 0);
  const grids = planes.map((plane) => planeGrid(plane, gridStep(area, CELLS)));
  const chunks = chunksOf(grids);
  const year = { ...checked, latitudeDeg, longitudeDeg, gridToTrueDeg: record.frame.gridToTrueDeg };
  const answers = new Array<CellLight>(chunks.length);
  await runInOrder(
    runner, 'light-on-cells', chunks.length,
    (index) => ({ input: { solids: scene.solids, surface: scene.surface, cells: chunks[index]!, year, albedo: checked.albedo } }),
    (answer, index) => (answers[index] = answer), hooks,
  );
  return { latitudeDeg, longitudeDeg, gridToTrueDeg: year.gridToTrueDeg, hasSurface: surface !== null, grids, light: joined(answers) };
}

/** Cells of all planes in messages of even size. */
function chunksOf(grids: readonly PlaneGrid[]): ShadeCells[] {
  const orientations = grids.map(({ normal }) => normal);
  const count = grids.reduce((sum, { cells }) => sum + cells.length, 0);
  const positions = new Float64Array(count * 3);
  const orientation = new Uint16Array(count);
  let at = 0;
  grids.forEach((grid, g) => {
    positions.set(cellCentres(grid), at * 3);
    orientation.fill(g, at, at + grid.cells.length);
    at += grid.cells.length;
  });
  return Array.from({ length: Math.ceil(count / CHUNK) }, (_, i) => ({
    orientations, positions: positions.slice(i * CHUNK * 3, (i + 1) * CHUNK * 3), orientation: orientation.slice(i * CHUNK, (i + 1) * CHUNK),
  }));
}

function joined(answers: readonly CellLight[]): CellLight {
  const total = (pick: (one: CellLight) => { readonly length: number }): number => answers.reduce((sum, one) => sum + pick(one).length, 0);
  const monthlyKwhM2 = new Float32Array(total((one) => one.monthlyKwhM2));
  const horizons = new Uint16Array(total((one) => one.horizons));
  let [months, azimuths] = [0, 0];
  for (const one of answers) {
    monthlyKwhM2.set(one.monthlyKwhM2, months);
    horizons.set(one.horizons, azimuths);
    months += one.monthlyKwhM2.length;
    azimuths += one.horizons.length;
  }
  return { monthlyKwhM2, horizons, unshadedMonthlyKwhM2: answers[0]?.unshadedMonthlyKwhM2 ?? [] };
}
