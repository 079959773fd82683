import type { CellFragment } from '../cloud/bin-into-cells.ts';
import type { Cloud } from '../cloud/cloud.ts';
import { planGrid } from '../cloud/plan-grid.ts';
import type { Mesh } from '../cloud/mesh.ts';
import { parseRegion, regionKeeps, type Region } from '../io/region.ts';
import type { RecordSource } from '../roof/record.ts';
import { InputError } from '../units/input-error.ts';
import type { LocalFrame, SourceToLocal } from '../site/local-frame.ts';
import { toLocalInPlace } from '../site/to-local.ts';
import { withCompanions } from './companions.ts';
import { describeFiles, type OpenedFile } from './describe-files.ts';
import { letGo } from './let-go.ts';
import { CellCollector } from './read-cloud.ts';
import { ReadingPreview } from './reading-preview.ts';
import { surveyCloud } from './survey-cloud.ts';
import type { SourceHandle } from './source-handle.ts';
import type { SurveyOptions } from './survey-options.ts';
import type { SurveyHooks, SurveyResult } from './survey-result.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/**
 * From files to a measured survey. The record depends on the bytes of the files and the options alone: not on the number
 * of threads, nor on the order of the points, nor on where the code runs.
 *
 * @throws InputError for files that cannot be used; CancelledError when `hooks.signal` ended it.
 */
export async function surveyFiles(
  given: readonly SourceHandle[],
  options: SurveyOptions,
  runner: TaskRunner,
  hooks: SurveyHooks = {},
): Promise<SurveyResult> {
  const { signal, onProgress } = hooks;
  const files = withCompanions(given);
  const site = await describeFiles(files, options, runner, hooks);
  const region = options.within === undefined ? site.core : parseRegion(options.within);
  const { collector, meshes, counts } = await readFiles(site.files, site.frame, region, runner, hooks);
  const cloud = await collector.finish(subjectOf(files), runner, { signal, onProgress: (fraction) => onProgress?.('sorting points', fraction) });
  await letGo(runner, hooks);
  hooks.onCloud?.(cloud, site.frame);
  const sources = async (): Promise<RecordSource[]> => {
    const hashes = await Promise.all(files.map((file) => runner.run('hash-file', { file }, signal ? { signal } : {})));
    return site.files.map((file, index) => sourceOf(file, counts[index]!, hashes[index]!, site.core !== null));
  };
  const measuredCloud = await surveyCloud(cloud, site.frame, sources, options, runner, hooks);
  return { ...measuredCloud, cloud, meshes, frame: site.frame };
}

const subjectOf = (files: readonly SourceHandle[]): string => files.map((file) => file.name).join(', ');

interface ReadResult {
  readonly collector: CellCollector;
  readonly meshes: readonly Mesh[];
  /** Points kept of each file. */
  readonly counts: readonly number[];
}

/** One part of one file, ready to be read. */
interface Job {
  readonly fileIndex: number;
  readonly file: OpenedFile;
  readonly part: number;
}

/** Reads every part that the region touches, binned in the runner's threads, and lays points on meshes. */
async function readFiles(
  files: readonly OpenedFile[],
  frame: LocalFrame,
  region: Region | null,
  runner: TaskRunner,
  { signal, onProgress, onCloud, positionsOnly = false }: SurveyHooks,
): Promise<ReadResult> {
  const jobs = files.flatMap((file, fileIndex) => jobsOf(file, fileIndex, region));
  const { bounds, expected } = extentOf(files, frame, region, jobs);
  const collector = new CellCollector(planGrid(bounds, expected));
  const preview = onCloud ? new ReadingPreview(collector.grid, bounds, expected) : null;
  const show = (fragments: readonly CellFragment[]): void => {
    const shown = preview?.add(fragments);
    if (shown) onCloud?.(shown, frame);
  };
  const counts = files.map(() => 0);
  const placement = (file: OpenedFile) => ({ toLocal: toLocalOf(file, frame), grid: collector.grid, region });
  await runInOrder(
    runner,
    'read-part',
    jobs.length,
    (index) => {
      const { file, part } = jobs[index]!;
      // A large COPC file has thousands of parts: only the one that is asked for crosses.
      const description = { ...file.description, parts: [file.description.parts[part]!] };
      return { input: { file: file.handle, description, part: 0, up: file.up, attributes: !positionsOnly, ...placement(file) } };
    },
    ({ fragments, pointCount }, index) => {
      show(fragments);
      collector.add(fragments);
      counts[jobs[index]!.fileIndex]! += pointCount;
    },
    { signal, onProgress: (fraction) => onProgress?.('reading points', fraction) },
  );
  const meshes: Mesh[] = [];
  for (const [index, file] of files.entries()) {
    if (!file.mesh) continue;
    const input = { mesh: file.mesh.mesh, spacing: file.mesh.spacing, ...placement(file) };
    const sampled = await runner.run('sample-mesh', input, signal ? { signal } : {});
    show(sampled.fragments);
    collector.add(sampled.fragments);
    counts[index]! += sampled.pointCount;
    toLocalInPlace(file.mesh.mesh.positions, toLocalOf(file, frame));
    meshes.push(file.mesh.mesh);
  }
  return { collector, meshes, counts };
}

/** A part whose stated bounds lie outside the region is never decoded. */
function jobsOf(file: OpenedFile, fileIndex: number, region: Region | null): Job[] {
  if (file.mesh) return [];
  return file.description.parts.flatMap(({ bounds }, part) => (region && bounds && !regionKeeps(region, bounds) ? [] : [{ fileIndex, file, part }]));
}

const toLocalOf = (file: OpenedFile, frame: LocalFrame): SourceToLocal => ({
  up: file.up,
  unitToMetre: file.unitToMetre,
  verticalUnitToMetre: file.verticalUnitToMetre,
  frame,
});

/** Where all files together lie, local frame, and how many points will come; a region shrinks both. */
function extentOf(files: readonly OpenedFile[], frame: LocalFrame, region: Region | null, jobs: readonly Job[]): { readonly bounds: Cloud['bounds']; readonly expected: number } {
  const [x0, y0, z0] = frame.origin;
  let [left, bottom, right, top] = [Infinity, Infinity, -Infinity, -Infinity];
  let [low, high] = [Infinity, -Infinity];
  let wholeArea = 0;
  for (const { bounds, unitToMetre, verticalUnitToMetre } of files) {
    const from = region ? bounds.min.map((value, axis) => Math.max(value, axis === 2 ? value : region.bounds.min[axis]!)) : bounds.min;
    const to = region ? bounds.max.map((value, axis) => Math.min(value, axis === 2 ? value : region.bounds.max[axis]!)) : bounds.max;
    wholeArea += (bounds.max[0] - bounds.min[0]) * (bounds.max[1] - bounds.min[1]) * unitToMetre ** 2;
    if (from[0]! > to[0]! || from[1]! > to[1]!) continue;
    left = Math.min(left, from[0]! * unitToMetre - x0);
    bottom = Math.min(bottom, from[1]! * unitToMetre - y0);
    right = Math.max(right, to[0]! * unitToMetre - x0);
    top = Math.max(top, to[1]! * unitToMetre - y0);
    low = Math.min(low, from[2]! * verticalUnitToMetre - z0);
    high = Math.max(high, to[2]! * verticalUnitToMetre - z0);
  }
  if (!(right >= left)) throw new InputError('--within', 'the region lies outside the files, expected corners in their coordinates.');
  const pointCount = jobs.reduce((sum, job) => sum + job.file.description.parts[job.part]!.pointCount, 0) + files.reduce((sum, file) => sum + (file.mesh?.pointCount ?? 0), 0);
  const share = wholeArea > 0 ? Math.min(1, ((right - left) * (top - bottom)) / wholeArea) : 1;
  return { bounds: { min: [left, bottom, low], max: [right, top, high] }, expected: Math.ceil(pointCount * share) };
}

function sourceOf(file: OpenedFile, pointCount: number, sha256: string, strays: boolean): RecordSource {
  const { description, unitToMetre, crs } = file;
  const lost = strays ? description.pointCount - pointCount : 0;
  const notes = lost > 0 ? [...file.notes, `${lost} of ${description.pointCount} points lie far from all others and were left out.`] : file.notes;
  return {
    file: description.name,
    sha256,
    format: description.formatDetail,
    pointCount: file.mesh ? 0 : pointCount,
    triangleCount: description.triangleCount,
    unitToMetre,
    crs,
    notes: file.mesh ? [...notes, `${pointCount} points were laid on its triangles, ${(1000 * file.mesh.spacing).toFixed(0)} mm apart.`] : notes,
  };
}
