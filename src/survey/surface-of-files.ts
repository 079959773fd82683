import { sampleMesh } from '../cloud/sample-mesh.ts';
import { contentBox } from '../layout/record-window.ts';
import type { RoofRecord } from '../roof/record.ts';
import type { LocalFrame, SourceToLocal } from '../site/local-frame.ts';
import { toLocalInPlace } from '../site/to-local.ts';
import { REACH } from '../sun/relief.ts';
import { cellSizeFor, type SurfaceModel } from '../sun/surface-model.ts';
import { SurfaceRaiser } from '../sun/surface-raiser.ts';
import { degrees, toRadians } from '../units/quantity.ts';
import { moveInPlace } from './correct/correct-cloud.ts';
import { movesOf, type Move } from './correct/move-model.ts';
import { partCompanions } from './companions.ts';
import { describeFiles, type OpenedFile } from './describe-files.ts';
import type { FitRunHooks } from './fit-on.ts';
import { heightsOf, type SurfaceCells } from './heights-of-part.ts';
import type { SourceHandle } from './source-handle.ts';
import type { SurveyOptions } from './survey-options.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/**
 * Heights of the measured cloud about the buildings of a record, as far as things throw shade. Reads the files the record
 * was made from, and any others of the same projection that show more of the surroundings; the record's own frame is kept.
 *
 * @throws InputError when a file cannot be used.
 */
export async function surfaceOfFiles(record: RoofRecord, files: readonly SourceHandle[], runner: TaskRunner, hooks: FitRunHooks = {}): Promise<SurfaceModel | null> {
  const box = contentBox(record.buildings);
  if (!box) return null;
  // The region of interest limited what was surveyed, not what throws shade on it.
  const { within: _, ...options } = record.madeBy.options as SurveyOptions;
  const site = await describeFiles(partCompanions(files).surveyed, options, runner, hooks.signal ? { signal: hooks.signal } : {});
  const { origin, scaleFactor, gridToTrueDeg } = record.frame;
  const frame: LocalFrame = { origin, scaleFactor, gridToTrue: toRadians(degrees(gridToTrueDeg)) };
  const [x0, y0, x1, y1] = box;
  const raiser = new SurfaceRaiser([x0 - REACH, y0 - REACH, x1 + REACH, y1 + REACH], cellSizeFor(record.sampling.pointSpacingM));
  const { cells } = raiser;
  const moves = movesOf(record.corrections ?? [], gridToTrueDeg);
  const jobs = site.files.flatMap((file) => partsNear(file, frame, cells).map((part) => ({ file, part })));
  await runInOrder(
    runner, 'heights-of-part', jobs.length,
    (index) => {
      const { file, part } = jobs[index]!;
      const description = { ...file.description, parts: [file.description.parts[part]!] };
      return { input: { file: file.handle, description, part: 0, up: file.up, attributes: false, toLocal: toLocalOf(file, frame), moves, cells } };
    },
    ({ cells: hit, heights }) => raiser.add(hit, heights), hooks,
  );
  for (const file of site.files) if (file.mesh) raiseByMesh(raiser, file, frame, moves);
  return raiser.finish();
}

const toLocalOf = (file: OpenedFile, frame: LocalFrame): SourceToLocal =>
  ({ up: file.up, unitToMetre: file.unitToMetre, verticalUnitToMetre: file.verticalUnitToMetre, frame });

/** Parts of a point file whose stated bounds reach into the surface. */
function partsNear(file: OpenedFile, { origin }: LocalFrame, { origin: low, cellSize, columns, rows }: SurfaceCells): number[] {
  if (file.mesh) return [];
  const toSource = (value: number, axis: 0 | 1): number => (value + origin[axis]) / file.unitToMetre;
  const [left, right] = [toSource(low[0], 0), toSource(low[0] + columns * cellSize, 0)];
  const [bottom, top] = [toSource(low[1], 1), toSource(low[1] + rows * cellSize, 1)];
  return file.description.parts.flatMap(({ bounds }, part) =>
    (bounds && file.up === 'z' && (bounds.min[0] > right || bounds.max[0] < left || bounds.min[1] > top || bounds.max[1] < bottom) ? [] : [part]));
}

/** Lays points on a mesh twice as near as the cells are wide. */
function raiseByMesh(raiser: SurfaceRaiser, file: OpenedFile, frame: LocalFrame, moves: readonly Move[]): void {
  const spacing = Math.min(file.mesh!.spacing, raiser.cells.cellSize / 2 / file.unitToMetre);
  const { positions } = sampleMesh(file.mesh!.mesh, spacing);
  toLocalInPlace(positions, toLocalOf(file, frame));
  moveInPlace(positions, moves);
  const { cells, heights } = heightsOf(positions, raiser.cells);
  raiser.add(cells, heights);
}
