import type { Mesh } from '../cloud/mesh.ts';
import { defaultMeshSpacing, meshArea } from '../cloud/sample-mesh.ts';
import type { Bounds3, FileDescription } from '../io/survey-file.ts';
import { makeLocalFrame } from '../site/make-local-frame.ts';
import type { LocalFrame } from '../site/local-frame.ts';
import { differenceOf, resolveCrs } from '../site/resolve-crs.ts';
import { InputError } from '../units/input-error.ts';
import type { SourceHandle } from './source-handle.ts';
import type { SurveyOptions } from './survey-options.ts';
import type { SurveyHooks } from './survey-result.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/** A file whose unit, projection and bounds are settled. */
export interface OpenedFile {
  readonly handle: SourceHandle;
  readonly description: FileDescription;
  readonly up: 'z' | 'y';
  readonly crs: string | null;
  readonly unitToMetre: number;
  readonly verticalUnitToMetre: number;
  /** Source unit, z up. */
  readonly bounds: Bounds3;
  readonly mesh: { readonly mesh: Mesh; readonly spacing: number; readonly pointCount: number } | null;
  readonly notes: readonly string[];
}

export interface OpenedSite {
  readonly files: readonly OpenedFile[];
  readonly frame: LocalFrame;
}

/**
 * Opens every file, settles unit and projection, and finds the frame they share.
 *
 * @throws InputError when a file cannot be used, or when files do not agree in projection and unit.
 */
export async function describeFiles(files: readonly SourceHandle[], options: SurveyOptions, runner: TaskRunner, hooks: SurveyHooks): Promise<OpenedSite> {
  const { signal, onProgress } = hooks;
  if (files.length === 0) throw new InputError('survey', 'no file is given.');
  // In the order given: which file a message names must not depend on which worker was faster.
  const opened = new Array<OpenedFile>(files.length);
  const run = signal ? { signal } : {};
  for (const [index, handle] of files.entries()) {
    const description = await runner.run('describe-file', { file: handle, salvage: options.salvage ?? false }, run);
    opened[index] = await openFile(handle, description, options, runner, signal);
    onProgress?.('opening files', (index + 1) / files.length);
  }
  for (const file of opened.slice(1)) {
    const difference = differenceOf(opened[0]!, file);
    if (difference) throw new InputError(file.description.name, `does not fit ${opened[0]!.description.name}: ${difference}`);
  }
  return { files: opened, frame: await makeLocalFrame(sharedBounds(opened), opened[0]!.crs) };
}

async function openFile(
  handle: SourceHandle,
  description: FileDescription,
  options: SurveyOptions,
  runner: TaskRunner,
  signal: AbortSignal | undefined,
): Promise<OpenedFile> {
  const up = options.up ?? description.up;
  const read = description.kind === 'mesh' ? await runner.run('read-mesh', { file: handle, description, up }, signal ? { signal } : {}) : null;
  const bounds = read ? read.bounds : await boundsOfPoints(handle, description, up, runner, signal);
  const resolved = await resolveCrs({ statements: description.crsStatements, bounds, name: description.name }, options);
  const spacing = read ? (options.meshSpacingM ?? defaultMeshSpacing(read.mesh, resolved.unitToMetre)) / resolved.unitToMetre : 0;
  return {
    handle,
    description,
    up,
    bounds,
    ...resolved,
    mesh: read ? { mesh: read.mesh, spacing, pointCount: Math.ceil(meshArea(read.mesh) / spacing ** 2) } : null,
    notes: [...description.notes, ...resolved.notes],
  };
}

/** What the file states, or else what reading it through tells. */
async function boundsOfPoints(handle: SourceHandle, description: FileDescription, up: 'z' | 'y', runner: TaskRunner, signal: AbortSignal | undefined): Promise<Bounds3> {
  if (description.bounds) return up === 'z' ? description.bounds : turned(description.bounds);
  const found: Bounds3[] = [];
  await runInOrder(
    runner,
    'measure-part',
    description.parts.length,
    (part) => ({ input: { file: handle, description, part, up, attributes: false } }),
    ({ bounds }) => bounds && found.push(bounds),
    { signal },
  );
  if (found.length === 0) throw new InputError(description.name, 'holds no point.');
  return joined(found);
}

const turned = ({ min, max }: Bounds3): Bounds3 => ({ min: [min[0], -max[2], min[1]], max: [max[0], -min[2], max[1]] });

function joined(all: readonly Bounds3[]): Bounds3 {
  const pick = (choose: (...values: number[]) => number, end: 'min' | 'max', axis: number) => choose(...all.map((bounds) => bounds[end][axis]!));
  return {
    min: [pick(Math.min, 'min', 0), pick(Math.min, 'min', 1), pick(Math.min, 'min', 2)],
    max: [pick(Math.max, 'max', 0), pick(Math.max, 'max', 1), pick(Math.max, 'max', 2)],
  };
}

function sharedBounds(files: readonly OpenedFile[]): Bounds3 {
  const inMetres = files.map(({ bounds, unitToMetre, verticalUnitToMetre }): Bounds3 => {
    const units = [unitToMetre, unitToMetre, verticalUnitToMetre];
    const scaled = (corner: readonly number[]) => [corner[0]! * units[0]!, corner[1]! * units[1]!, corner[2]! * units[2]!] as const;
    return { min: scaled(bounds.min), max: scaled(bounds.max) };
  });
  return joined(inMetres);
}
