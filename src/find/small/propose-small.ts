import { ringContains } from '../../geometry/polygon.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import { judgeFeature } from '../../reading/resolvability.ts';
import { SIGMAS_95 } from '../../reading/plane-uncertainty.ts';
import type { SmallFeature } from '../../roof/record.ts';
import { measured } from '../../units/measured.ts';
import { awayFromRims, type HeightsAbove } from '../measure/obstructions/find-obstructions.ts';
import type { FaceFit } from '../measure/faces/fit-faces.ts';
import { elevationAt } from '../measure/borders/intersections.ts';
import type { MeasuredObstruction } from '../measure/obstructions/measure-obstruction.ts';
import { grown } from '../measure/obstructions/patch-points.ts';
import type { PointLookup } from '../measure/raster/point-lookup.ts';
import { meanHeightU95 } from '../measure/faces/residual-correlation.ts';
import { cellCentre, type RoofRaster } from '../measure/raster/roof-raster.ts';
import { findStandingClusters, type Cluster } from './find-clusters.ts';
import { findLines, type RasterLine } from './find-lines.ts';

/** A small thing proposed on a face. */
export type ProposedFeature = Omit<SmallFeature, 'id' | 'onPlane'> & { readonly face: number };

export interface Proposals {
  readonly features: readonly ProposedFeature[];
  /** Obstructions that are pieces of a line proposed as a whole. */
  readonly joined: ReadonlySet<MeasuredObstruction>;
}

/** Sigmas of a line window: some 50 000 independent ones on 200 m². Measured in the accuracy run, as the rate below. */
const LINE_LIMIT = 6;
/** What is said of the proposals: of ten roofs, about one has one that is nothing. */
export const FALSE_PER_ROOF = 0.1;
const LEAST_LENGTH = 1.5;
const LEAST_CELLS = 12;
/** Heights beyond this many sigmas of a cell add nothing, so that one tall thing is no line. */
const CLIP = 4;
/** Cells beside borders and things found show those. */
const CLEAR_OF_BORDER = 4;
const CLEAR_OF_THINGS = 4;

export interface ProposalInput {
  readonly raster: RoofRaster;
  readonly fits: readonly FaceFit[];
  readonly points: PointLookup;
  /** Of `stepCells`. */
  readonly steps: Uint8Array;
  readonly heights: HeightsAbove;
  readonly obstructions: readonly MeasuredObstruction[];
  readonly groundSampleDistance: number | null;
}

/**
 * Small things near the limit, for a person to look at: lines by integration along them (pipes, conduits, grooves), and
 * clusters of points that stand above a roof with too few cells to be measured (vents, posts).
 */
export function proposeSmall(input: ProposalInput): Proposals {
  const { raster, fits, heights: { height, weight } } = input;
  const pieces = input.obstructions.filter(isPiece);
  const free = freeCells(input, input.obstructions.filter((thing) => !pieces.includes(thing)));
  const values = new Float32Array(height.length).fill(Number.NaN);
  for (let k = 0; k < values.length; k++) {
    if (!free[k] || weight[k] === 0) continue;
    const { noise } = fits[raster.face[k]! - 1]!;
    values[k] = Math.max(-CLIP, Math.min(CLIP, (height[k]! * Math.sqrt(weight[k]!)) / noise));
  }
  const windowCells = Math.max(LEAST_CELLS, Math.round(LEAST_LENGTH / raster.step));
  const found = findLines(values, raster.columns, raster.rows, windowCells, LINE_LIMIT).map((line) => ({ line, on: pieces.filter((piece) => liesOn(piece, line, raster)) }));
  // One small thing is no line, however long its row of cells; it was measured already.
  const lines = found.filter(({ on }) => on.length !== 1).flatMap(({ line, on }) => {
    const feature = describeLine(line, input);
    return feature ? [{ feature, on }] : [];
  });
  const joined = new Set(lines.flatMap(({ on }) => on));
  const kept = input.obstructions.filter((thing) => !joined.has(thing));
  for (const k of grown(raster, kept.flatMap(({ footprint }) => cellsIn(footprint, raster)), CLEAR_OF_THINGS)) free[k] = 0;
  const clusters = findStandingClusters({ ...input, free }).filter((cluster) => !found.some(({ line }) => liesNear(cluster.at, line, raster)));
  return { features: [...lines.map(({ feature }) => feature), ...clusters.map((cluster) => describeCluster(cluster, input))], joined };
}

/** Pieces of a faint line stand out of it here and there. [m², m] */
const LARGEST_PIECE = 0.25;
const HIGHEST_PIECE = 0.2;
const isPiece = ({ planAreaM2, heightAboveRoofM }: MeasuredObstruction): boolean => planAreaM2.value! < LARGEST_PIECE && heightAboveRoofM.value! < HIGHEST_PIECE;

/** Across a line, what still lies on it. [m] */
const ON_LINE = 0.2;

function liesNear([x, y]: readonly [number, number], { from, to }: RasterLine, { origin, step }: RoofRaster): boolean {
  const [ax, ay] = [origin[0] + (from[0] + 0.5) * step, origin[1] + (from[1] + 0.5) * step];
  const [dx, dy] = [(to[0] - from[0]) * step, (to[1] - from[1]) * step];
  const share = Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(x - ax - share * dx, y - ay - share * dy) < ON_LINE;
}

const liesOn = ({ footprint }: MeasuredObstruction, line: RasterLine, raster: RoofRaster): boolean => liesNear([
  footprint.reduce((sum, p) => sum + p[0], 0) / footprint.length, footprint.reduce((sum, p) => sum + p[1], 0) / footprint.length,
], line, raster);

/** Cells well inside one face and away from what was found already. */
function freeCells({ raster, steps }: ProposalInput, obstructions: readonly MeasuredObstruction[]): Uint8Array {
  const { face, columns } = raster;
  const borders = steps.slice();
  for (let k = columns; k < face.length; k++) if (face[k] !== face[k - 1] || face[k] !== face[k - columns]) borders[k] = 1;
  const free = awayFromRims(raster, borders, CLEAR_OF_BORDER);
  const taken = obstructions.flatMap(({ footprint }) => cellsIn(footprint, raster));
  for (const k of grown(raster, taken, CLEAR_OF_THINGS)) free[k] = 0;
  return free;
}

function cellsIn(ring: readonly Vector2[], raster: RoofRaster): number[] {
  const column = (x: number): number => Math.floor((x - raster.origin[0]) / raster.step);
  const row = (y: number): number => Math.floor((y - raster.origin[1]) / raster.step);
  const [xs, ys] = [ring.map((p) => p[0]), ring.map((p) => p[1])];
  // Footprints smaller than a cell hold no cell's middle.
  const cells: number[] = [row((Math.min(...ys) + Math.max(...ys)) / 2) * raster.columns + column((Math.min(...xs) + Math.max(...xs)) / 2)];
  for (let j = Math.max(0, row(Math.min(...ys))); j <= Math.min(raster.rows - 1, row(Math.max(...ys))); j++) {
    for (let i = Math.max(0, column(Math.min(...xs))); i <= Math.min(raster.columns - 1, column(Math.max(...xs))); i++) {
      const k = j * raster.columns + i;
      if (ringContains(ring, cellCentre(raster, k))) cells.push(k);
    }
  }
  return cells;
}

/** Reach of a line's cross profile, and where the roof beside it is read. [m, share] */
const PROFILE_REACH = 0.5;
const BESIDE = 0.6;
const FEWEST_IN_BIN = 4;

function describeLine(line: RasterLine, { raster, fits, points, groundSampleDistance }: ProposalInput): ProposedFeature | null {
  const place = ([x, y]: readonly [number, number]): [number, number] => [raster.origin[0] + (x + 0.5) * raster.step, raster.origin[1] + (y + 0.5) * raster.step];
  const [from, to] = [place(line.from), place(line.to)];
  const length = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const [dx, dy] = [(to[0] - from[0]) / length, (to[1] - from[1]) / length];
  const face = raster.face[Math.round((line.from[1] + line.to[1]) / 2) * raster.columns + Math.round((line.from[0] + line.to[0]) / 2)]!;
  if (face === 0) return null;
  const fit = fits[face - 1]!;
  const spacing = 1 / Math.sqrt(Math.max(1e-6, fit.density));
  const bin = Math.max(spacing / 2, 0.01);
  const bins = 2 * Math.ceil(PROFILE_REACH / bin) + 1;
  const sums = new Float64Array(bins);
  const counts = new Uint32Array(bins);
  for (const k of cellsAlong(line, raster)) {
    if (raster.face[k] !== face) continue;
    points.each(k, (x, y, z) => {
      const along = (x - from[0]) * dx + (y - from[1]) * dy;
      const beside = (y - from[1]) * dx - (x - from[0]) * dy;
      const rise = z - elevationAt(fit, [x, y]);
      const b = Math.round(beside / bin) + (bins >> 1);
      if (along < 0 || along > length || b < 0 || b >= bins || Math.abs(rise) > 1) return;
      sums[b]! += rise;
      counts[b]!++;
    });
  }
  const profile = sideProfile(sums, counts, bin, Math.sign(line.score));
  if (!profile) return null;
  const shift = (p: [number, number]): Vector3 => {
    const at: [number, number] = [p[0] - profile.beside * dy, p[1] + profile.beside * dx];
    return [at[0], at[1], elevationAt(fit, at) + Math.max(0, profile.height)];
  };
  const size = { width: profile.width, height: profile.height, length };
  return {
    face, kind: profile.height > 0 ? 'pipe' : 'gutter', at: [shift(from), shift(to)],
    widthM: measured(profile.width, [{ name: 'sampling', u95: spacing + bin }]),
    heightM: measured(profile.height, [{ name: 'noise', u95: meanHeightU95(fit.correlation, profile.count, Math.sqrt(profile.width * length)) }, { name: 'smoothing', u95: Math.abs(profile.height) * Math.min(1, (spacing / (2 * profile.width)) ** 2) }]),
    ...verdictOf(size, fit, spacing, groundSampleDistance), proposedBy: 'found',
  };
}

/** Cells about a line that its cross profile needs. */
function cellsAlong({ from, to }: RasterLine, raster: RoofRaster): number[] {
  const steps = Math.ceil(Math.hypot(to[0] - from[0], to[1] - from[1]));
  const cells = new Set<number>();
  for (let i = 0; i <= steps; i++) {
    const share = i / Math.max(1, steps);
    const [x, y] = [Math.round(from[0] + share * (to[0] - from[0])), Math.round(from[1] + share * (to[1] - from[1]))];
    if (x >= 0 && y >= 0 && x < raster.columns && y < raster.rows) cells.add(y * raster.columns + x);
  }
  return grown(raster, [...cells], Math.ceil(PROFILE_REACH / raster.step) + 1);
}

/** Where a line lies across, its width at half its height, and its height over the roof beside it. */
function sideProfile(sums: Float64Array, counts: Uint32Array, bin: number, sign: number): { beside: number; width: number; height: number; count: number } | null {
  const bins = sums.length;
  const middle = bins >> 1;
  const reach = BESIDE * PROFILE_REACH;
  let [outside, n] = [0, 0];
  for (let b = 0; b < bins; b++) {
    if (Math.abs(b - middle) * bin < reach) continue;
    outside += sums[b]!;
    n += counts[b]!;
  }
  if (n < 4 * FEWEST_IN_BIN) return null;
  const level = outside / n;
  const heightAt = (b: number): number => (counts[b]! >= FEWEST_IN_BIN ? sign * (sums[b]! / counts[b]! - level) : 0);
  let peak = middle;
  for (let b = 0; b < bins; b++) if (Math.abs(b - middle) * bin < reach && heightAt(b) > heightAt(peak)) peak = b;
  const half = heightAt(peak) / 2;
  if (!(half > 0)) return null;
  let [low, high] = [peak, peak];
  while (low > 0 && heightAt(low - 1) >= half) low--;
  while (high + 1 < bins && heightAt(high + 1) >= half) high++;
  let [sum, count] = [0, 0];
  for (let b = low; b <= high; b++) {
    sum += sums[b]! - counts[b]! * level;
    count += counts[b]!;
  }
  return { beside: ((low + high) / 2 - middle) * bin, width: (high - low + 1) * bin, height: sum / count, count };
}

function describeCluster({ face, at, width, height, count }: Cluster, { fits, groundSampleDistance }: ProposalInput): ProposedFeature {
  const fit = fits[face - 1]!;
  const spacing = 1 / Math.sqrt(Math.max(1e-6, fit.density));
  return {
    face, kind: 'vent', at: [[at[0], at[1], elevationAt(fit, at) + height]],
    widthM: measured(width, [{ name: 'sampling', u95: Math.max(spacing, width / 2) }]),
    heightM: measured(height, [{ name: 'noise', u95: (SIGMAS_95 * 2 * fit.noise) / Math.sqrt(count) }, { name: 'smoothing', u95: height * Math.min(1, (spacing / width) ** 2) }]),
    ...verdictOf({ width, height, length: width }, fit, spacing, groundSampleDistance), proposedBy: 'found',
  };
}

function verdictOf(size: { width: number; height: number; length: number }, fit: FaceFit, spacing: number, groundSampleDistance: number | null): Pick<SmallFeature, 'resolvability' | 'why' | 'verifyOnSite' | 'note'> {
  const { resolvability, why, verifyOnSite } = judgeFeature({ ...size, noise: fit.noise, correlationLength: fit.correlation.length, spacing, groundSampleDistance });
  return { resolvability, why, verifyOnSite, note: `Proposed by the survey; about ${Math.round(10 * FALSE_PER_ROOF)} roof in 10 has a proposal that is nothing.` };
}
