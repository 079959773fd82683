import type { Bounds3 } from '../io/survey-file.ts';
import type { Region } from '../io/region.ts';
import { InputError } from '../units/input-error.ts';
import type { LookedAtFile } from './describe-files.ts';
import { findSite, isDoubtful, SITE_SQUARE, type Site } from './find-site.ts';
import type { PlanSquares } from './plan-squares.ts';
import { runInOrder, type TaskRunner } from './task-runner.ts';

/** A survey of several places is one site up to here: rasters are laid out over all of it. [m²] */
const LARGEST_SITE = 4e7;
/** A point on the rim of a region may fall either way; the outermost points of a site must not. [source unit] */
const RIM = 1;

/**
 * Looks where the points lie when the bounds of all files together are hardly those of a site.
 *
 * @returns null when the bounds may be trusted, or when a mesh is among the files.
 */
export async function lookAtSite(files: readonly LookedAtFile[], runner: TaskRunner, signal: AbortSignal | undefined): Promise<Site | null> {
  const { min, max } = joinedBounds(files.map(({ bounds }) => bounds));
  const pointCount = files.reduce((sum, { description }) => sum + description.pointCount, 0);
  if (!isDoubtful((max[0] - min[0]) * (max[1] - min[1]), pointCount) || files.some(({ mesh }) => mesh)) return null;
  const jobs = files.flatMap((file) => file.description.parts.map((_, part) => ({ file, part })));
  const counted: PlanSquares[] = [];
  await runInOrder(
    runner,
    'count-part',
    jobs.length,
    (index) => {
      const { file, part } = jobs[index]!;
      const description = { ...file.description, parts: [file.description.parts[part]!] };
      return { input: { file: file.handle, description, part: 0, up: file.up, attributes: false, side: SITE_SQUARE } };
    },
    (squares) => counted.push(squares),
    { signal },
  );
  return findSite(counted);
}

/** @throws InputError for places so far apart that they are no one site. */
export function refuseFarPlaces({ bounds: { min, max }, places }: Site, unitToMetre: number, names: readonly string[]): void {
  const [width, depth] = [(max[0] - min[0]) * unitToMetre, (max[1] - min[1]) * unitToMetre];
  if (places === 1 || width * depth <= LARGEST_SITE) return;
  const far = (Math.hypot(width, depth) / 1000).toFixed(0);
  throw new InputError(names.join(', '), `the points lie in ${places} places up to ${far} km apart, expected one site: survey them one at a time, or keep one by a region of interest.`);
}

/** Where a file's bounds and those of the site overlap; the file's own where they do not. */
export function clippedBounds(own: Bounds3, site: Bounds3): Bounds3 {
  const low = (axis: 0 | 1 | 2): number => Math.max(own.min[axis], site.min[axis]);
  const high = (axis: 0 | 1 | 2): number => Math.min(own.max[axis], site.max[axis]);
  const both: Bounds3 = { min: [low(0), low(1), low(2)], max: [high(0), high(1), high(2)] };
  return both.min.every((least, axis) => least <= both.max[axis]!) ? both : own;
}

/** What leaves out points that lie far from all others; null when there are none. */
export function coreOf({ bounds: { min, max }, strays }: Site): Region | null {
  if (strays === 0) return null;
  const [x0, y0, x1, y1] = [min[0] - RIM, min[1] - RIM, max[0] + RIM, max[1] + RIM];
  return { rings: [[x0, y0, x1, y0, x1, y1, x0, y1]], bounds: { min: [x0, y0], max: [x1, y1] } };
}

export function joinedBounds(all: readonly Bounds3[]): Bounds3 {
  const pick = (choose: (...values: number[]) => number, end: 'min' | 'max', axis: number) => choose(...all.map((bounds) => bounds[end][axis]!));
  return {
    min: [pick(Math.min, 'min', 0), pick(Math.min, 'min', 1), pick(Math.min, 'min', 2)],
    max: [pick(Math.max, 'max', 0), pick(Math.max, 'max', 1), pick(Math.max, 'max', 2)],
  };
}
