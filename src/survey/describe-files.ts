import type { Mesh } from '../cloud/mesh.ts';
import { defaultMeshSpacing, meshArea } from '../cloud/sample-mesh.ts';
import type { Region } from '../io/region.ts';
import type { Bounds3, FileDescription } from '../io/survey-file.ts';
import { makeLocalFrame } from '../site/make-local-frame.ts';
import type { LocalFrame } from '../site/local-frame.ts';
import { differenceOf, resolveCrs } from '../site/resolve-crs.ts';
import { InputError } from '../units/input-error.ts';
import { clippedBounds, coreOf, joinedBounds, lookAtSite, refuseFarPlaces } from './look-at-site.ts';
import type { SourceHandle } from './source-handle.ts';
import type { SurveyOptions } from './survey-options.ts';
import type { SurveyHooks } from './survey-result.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/** A file of which is known what stands in it and where. */
export interface LookedAtFile {
  readonly handle: SourceHandle;
  readonly description: FileDescription;
  readonly up: 'z' | 'y';
  /** Source unit, z up. */
  readonly bounds: Bounds3;
  readonly mesh: Mesh | null;
}

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
  /** What leaves out points that lie far from all others; null when there are none. Source coordinates. */
  readonly core: Region | null;
}

/** Coordinates beyond this are damage: no projection reaches so far. [m] */
const FARTHEST = 1e9;

/**
 * Opens every file, settles unit and projection, and finds the frame they share.
 *
 * @throws InputError when a file cannot be used, or when files do not agree in projection and unit.
 */
export async function describeFiles(files: readonly SourceHandle[], options: SurveyOptions, runner: TaskRunner, hooks: SurveyHooks): Promise<OpenedSite> {
  const { signal, onProgress } = hooks;
  if (files.length === 0) throw new InputError('survey', 'no file is given.');
  // In the order given: which file a message names must not depend on which worker was faster.
  const looked = new Array<LookedAtFile>(files.length);
  for (const [index, handle] of files.entries()) {
    looked[index] = await lookAtFile(handle, options, runner, signal);
    onProgress?.('opening files', (index + 1) / files.length);
  }
  await refuseTwins(looked, runner, signal);
  const site = options.within === undefined ? await lookAtSite(looked, runner, signal) : null;
  const opened = new Array<OpenedFile>(files.length);
  for (const [index, file] of looked.entries()) opened[index] = await settle(site ? { ...file, bounds: clippedBounds(file.bounds, site.bounds) } : file, options);
  for (const file of opened.slice(1)) {
    const difference = differenceOf(opened[0]!, file);
    if (difference) throw new InputError(file.description.name, `does not fit ${opened[0]!.description.name}: ${difference}`);
  }
  if (site) refuseFarPlaces(site, opened[0]!.unitToMetre, opened.map(({ description }) => description.name));
  return { files: opened, frame: await makeLocalFrame(sharedBounds(opened), opened[0]!.crs), core: site && coreOf(site) };
}

async function lookAtFile(handle: SourceHandle, options: SurveyOptions, runner: TaskRunner, signal: AbortSignal | undefined): Promise<LookedAtFile> {
  const run = signal ? { signal } : {};
  const description = await runner.run('describe-file', { file: handle, salvage: options.salvage ?? false }, run);
  const up = options.up ?? description.up;
  const read = description.kind === 'mesh' ? await runner.run('read-mesh', { file: handle, description, up }, run) : null;
  const bounds = read ? read.bounds : await boundsOfPoints(handle, description, up, runner, signal);
  refuseDamaged(description.name, bounds);
  if (read && !(meshArea(read.mesh) > 0)) throw new InputError(description.name, 'its triangles have no area, expected a mesh with a surface.');
  return { handle, description, up, bounds, mesh: read && read.mesh };
}

/** Unit, projection and, for a mesh, how near points are laid. */
async function settle(file: LookedAtFile, options: SurveyOptions): Promise<OpenedFile> {
  const { description, bounds, mesh } = file;
  const resolved = await resolveCrs({ statements: description.crsStatements, bounds, name: description.name }, options);
  const spacing = mesh ? (options.meshSpacingM ?? defaultMeshSpacing(mesh, resolved.unitToMetre)) / resolved.unitToMetre : 0;
  return {
    ...file,
    ...resolved,
    mesh: mesh && { mesh, spacing, pointCount: Math.ceil(meshArea(mesh) / spacing ** 2) },
    notes: [...description.notes, ...resolved.notes],
  };
}

/** A file given twice would count every point twice, and every ± would be too small. */
async function refuseTwins(files: readonly LookedAtFile[], runner: TaskRunner, signal: AbortSignal | undefined): Promise<void> {
  const looks = ({ description, bounds }: LookedAtFile): string => JSON.stringify([description.pointCount, description.triangleCount, bounds]);
  const hash = (file: LookedAtFile): Promise<string> => runner.run('hash-file', { file: file.handle }, signal ? { signal } : {});
  for (const [index, file] of files.entries()) {
    const twin = files.slice(0, index).find((other) => looks(other) === looks(file));
    if (twin && (await hash(twin)) === (await hash(file))) {
      throw new InputError(file.description.name, `holds the same bytes as ${twin.description.name}, so every point would count twice: give it once.`);
    }
  }
}

function refuseDamaged(name: string, { min, max }: Bounds3): void {
  for (const value of [...min, ...max]) {
    if (!(Math.abs(value) <= FARTHEST)) throw new InputError(name, `coordinates reach ${value.toPrecision(3)}, expected at most ${FARTHEST.toExponential(0)}: scale or offset look damaged.`);
  }
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
  return joinedBounds(found);
}

const turned = ({ min, max }: Bounds3): Bounds3 => ({ min: [min[0], -max[2], min[1]], max: [max[0], -min[2], max[1]] });

function sharedBounds(files: readonly OpenedFile[]): Bounds3 {
  const inMetres = files.map(({ bounds, unitToMetre, verticalUnitToMetre }): Bounds3 => {
    const units = [unitToMetre, unitToMetre, verticalUnitToMetre];
    const scaled = (corner: readonly number[]) => [corner[0]! * units[0]!, corner[1]! * units[1]!, corner[2]! * units[2]!] as const;
    return { min: scaled(bounds.min), max: scaled(bounds.max) };
  });
  return joinedBounds(inMetres);
}
