import { correlatedFits, type CorrelatedFit, type ErrorShape, type PatchMeans } from '../../../geometry/correlated-fit.ts';
import { addAt, factorOf, inverseOf, solveDecomposed, wholeRows } from '../../../geometry/solve-symmetric.ts';
import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import { cellCentre } from '../raster/roof-raster.ts';
import type { DeckHeights } from './deck-heights.ts';
import { risesOf, hollowSides, sidesOf, type HollowCells, type Sheet } from './hollow-sides.ts';

/** Lowest point of a hollow with plane sides. */
export interface TaperBottom {
  readonly kind: 'point';
  readonly at: readonly [number, number];
  readonly elevation: number;
  /** [m] */
  readonly elevationSigma: number;
  /** Of its place along the axis it is known least along. [m] */
  readonly sigma: number;
}

/** Two boards that meet in a level line: nothing in their shape says where along it the water leaves. */
export interface TaperLine {
  readonly kind: 'line';
  readonly from: readonly [number, number, number];
  readonly to: readonly [number, number, number];
}

const FEWEST_CELLS = 48;
/** Heights are taken together over patches this wide, or wider so that there are no more than so many. [m] */
const PATCH = 0.3;
const MOST_PATCHES = 300;
/** For the make-up of the error wider patches do, and are tried for many shapes. */
const SHAPE_PATCH = 0.4;
const MOST_SHAPE_PATCHES = 150;
/** Sides and planes settle each other, on wide patches first. */
const ROUNDS = 6;
const LAST_ROUNDS = 2;

/**
 * Fits hollows of one deck by the greatest of a few planes and gives the point, or the level line, where they
 * meet: water on tapered boards runs there. The lowest cell wanders with the noise over the fall; planes average it over whole boards, and by generalised
 * least squares the creases count for what they are: waves of the noise bend softly, boards do not.
 *
 * @param hollows  Cells of each; heights of single cells are used, as smoothing would fill the bottom.
 * @returns null where no planes, or none that cross well, make up a hollow.
 */
export function taperBottoms(hollows: readonly (readonly number[])[], deck: DeckHeights): (TaperBottom | TaperLine | null)[] {
  const parted = hollows.map((cells) => partedHollow(cells, deck));
  const shape = errorShape(parted.filter((one) => one !== null), deck.step);
  return parted.map((one) => one && shape && bottomOf(one, shape, deck.step));
}

interface PartedHollow {
  readonly cells: HollowCells;
  readonly middle: readonly [number, number];
  readonly sheets: readonly Sheet[];
}

function partedHollow(cells: readonly number[], deck: DeckHeights): PartedHollow | null {
  const used = cells.filter((k) => deck.weights[k]! > 0);
  if (used.length < FEWEST_CELLS) return null;
  const places = used.map((k) => cellCentre(deck, k));
  const middle = [0, 1].map((axis) => places.reduce((sum, p) => sum + p[axis]!, 0) / places.length) as [number, number];
  const hollow: HollowCells = {
    x: Float64Array.from(places, (p) => p[0] - middle[0]),
    y: Float64Array.from(places, (p) => p[1] - middle[1]),
    z: Float64Array.from(used, (k) => deck.heights[k]!),
    count: Float64Array.from(used, (k) => deck.weights[k]!),
  };
  const sheets = hollowSides(hollow, risesOf(used, deck));
  return sheets.length < 2 ? null : { cells: hollow, middle, sheets };
}

function bottomOf(parted: PartedHollow, shape: ErrorShape, step: number): TaperBottom | TaperLine | null {
  const { cells, middle } = parted;
  let { sheets } = parted;
  if (sheets.length === 2) return lineOf(parted, shape, step);
  let meet: Meeting | null = null;
  let before: Int8Array | null = null;
  for (let round = 0; round < ROUNDS; round++) {
    const isLast = round >= ROUNDS - LAST_ROUNDS;
    const sides = sidesOf(cells, sheets);
    // Sides that stay give the planes they gave, until patches are narrower.
    if (round !== ROUNDS - LAST_ROUNDS && before?.every((side, i) => side === sides[i])) continue;
    before = sides;
    const fit = fitSheets(patchesOf(cells, sides, step, isLast ? PATCH : SHAPE_PATCH, isLast ? MOST_PATCHES : MOST_SHAPE_PATCHES), sheets.length, shape);
    meet = fit && sheetsMeet(fit, sheets.length);
    if (!meet) return null;
    ({ sheets } = meet);
  }
  return meet && { kind: 'point', at: [meet.x + middle[0], meet.y + middle[1]], elevation: meet.z, elevationSigma: meet.zSigma, sigma: meet.sigma };
}

/** Cells this near the line are on it. [m] */
const ON_LINE = 0.3;
/** A line that falls by less from end to end is level as far as water is concerned. [m] */
const LEVEL = 0.012;


/** The line two boards meet in; null where it falls, as water then runs to its lower end. */
function lineOf({ cells, middle, sheets }: PartedHollow, shape: ErrorShape, step: number): TaperLine | null {
  const fit = fitSheets(patchesOf(cells, sidesOf(cells, sheets), step, PATCH, MOST_PATCHES), 2, shape);
  if (!fit) return null;
  const [level, slopeX, slopeY, otherLevel, otherX, otherY] = fit.parameters as unknown as [number, number, number, number, number, number];
  const [dx, dy] = [slopeX - otherX, slopeY - otherY];
  const bend = Math.hypot(dx, dy);
  const across = [0, dx / bend, dy / bend, 0, -dx / bend, -dy / bend];
  if (!(bend > SIGMAS_95 * Math.sqrt(varianceOf(across, fit)))) return null;
  const [ux, uy] = [-dy / bend, dx / bend];
  // Foot of the line: where both are as high, nearest to the middle.
  const [fx, fy] = [(dx * (otherLevel - level)) / (bend * bend), (dy * (otherLevel - level)) / (bend * bend)];
  let [least, most] = [Infinity, -Infinity];
  cells.x.forEach((x, i) => {
    const [ax, ay] = [x - fx, cells.y[i]! - fy];
    if (Math.abs(ax * uy - ay * ux) > ON_LINE) return;
    least = Math.min(least, ax * ux + ay * uy);
    most = Math.max(most, ax * ux + ay * uy);
  });
  if (!(most > least)) return null;
  const along = [0, ux / 2, uy / 2, 0, ux / 2, uy / 2];
  const fall = along.reduce((sum, a, i) => sum + a * fit.parameters[i]!, 0);
  if (Math.abs(fall) * (most - least) > LEVEL + SIGMAS_95 * Math.sqrt(varianceOf(along, fit)) * (most - least)) return null;
  const end = (t: number): [number, number, number] => {
    const [x, y] = [fx + t * ux, fy + t * uy];
    return [x + middle[0], y + middle[1], level + slopeX * x + slopeY * y];
  };
  return { kind: 'line', from: end(least), to: end(most) };
}

/** Of a sum of parameters, each so many times. */
const varianceOf = (times: readonly number[], { covariance }: CorrelatedFit): number =>
  times.reduce((sum, a, i) => sum + times.reduce((part, b, j) => part + a * b * covariance[times.length * i + j]!, 0), 0);

interface SidePatches extends PatchMeans {
  readonly side: readonly number[];
}

/** Means over square patches, each of one side alone: a plane's mean is its height at the mean place. */
function patchesOf({ x, y, z, count }: HollowCells, sides: Int8Array, step: number, patch: number, most: number): SidePatches {
  const width = Math.max(patch, Math.sqrt((x.length * step * step) / most));
  const sums = new Map<number, [number, number, number, number, number]>();
  for (let i = 0; i < x.length; i++) {
    const key = (Math.floor(x[i]! / width) * 4096 + Math.floor(y[i]! / width)) * 8 + sides[i]!;
    const n = count[i]!;
    const sum = sums.get(key);
    if (!sum) sums.set(key, [n * x[i]!, n * y[i]!, n * z[i]!, n, sides[i]!]);
    else {
      sum[0] += n * x[i]!;
      sum[1] += n * y[i]!;
      sum[2] += n * z[i]!;
      sum[3] += n;
    }
  }
  const all = [...sums.values()];
  const mean = (axis: 0 | 1 | 2): number[] => all.map((sum) => sum[axis] / sum[3]);
  return { x: mean(0), y: mean(1), z: mean(2), count: all.map((sum) => sum[3]), side: all.map((sum) => sum[4]) };
}

const fitSheets = (patches: SidePatches, sides: number, shape: ErrorShape): CorrelatedFit | null => sheetFits(patches, sides)(shape);

/** Fits of the sheets by the shape of the error. */
function sheetFits(patches: SidePatches, sides: number): (shape: ErrorShape) => CorrelatedFit | null {
  const columns = Array.from({ length: 3 * sides }, (_, p) => {
    const effect = [null, patches.x, patches.y][p % 3]!;
    return patches.side.map((side, i) => (side === Math.floor(p / 3) ? (effect ? effect[i]! : 1) : 0));
  });
  return correlatedFits(patches, columns);
}

const LENGTHS = [0.2, 0.3, 0.45, 0.65, 1, 1.5];
const POWERS = [1, 1.5, 2] as const;
const ALONE = [0.5, 2, 8, 32, 128];

/** One of each list in turn, the others kept, until twice round: the likelihood has one ridge, and every trial costs a factorisation. */
const SEARCHES = 2;

/** The noise is the same all over a deck; so many of its hollows tell enough of it. */
const MOST_TELLING = 4;
const FIRST_SHAPE: ErrorShape = { length: 0.65, power: 2, alone: 8 };

/** The likeliest make-up of what the planes leave, of the first few hollows together. */
function errorShape(hollows: readonly PartedHollow[], step: number): ErrorShape | null {
  const fits = hollows.slice(0, MOST_TELLING).map(({ cells, sheets }) => sheetFits(patchesOf(cells, sidesOf(cells, sheets), step, SHAPE_PATCH, MOST_SHAPE_PATCHES), sheets.length));
  const known = new Map<string, number>();
  const devianceOf = (shape: ErrorShape): number => {
    const key = `${shape.length} ${shape.power} ${shape.alone}`;
    const found = known.get(key) ?? fits.reduce((sum, fit) => sum + (fit(shape)?.deviance ?? Infinity), 0);
    known.set(key, found);
    return found;
  };
  let best = { shape: FIRST_SHAPE, deviance: devianceOf(FIRST_SHAPE) };
  const attempt = (change: Partial<ErrorShape>): void => {
    const shape = { ...best.shape, ...change };
    const deviance = devianceOf(shape);
    if (deviance < best.deviance) best = { shape, deviance };
  };
  for (let search = 0; search < SEARCHES; search++) {
    for (const alone of ALONE) attempt({ alone });
    for (const length of LENGTHS) attempt({ length });
    for (const power of POWERS) attempt({ power });
  }
  return Number.isFinite(best.deviance) ? best.shape : null;
}

const STEPS = 5;
/** A place less sure than this is none. [m] */
const UNKNOWN_PLACE = 3;

interface Meeting {
  readonly x: number;
  readonly y: number;
  readonly z: number;
  readonly sigma: number;
  readonly zSigma: number;
  /** The planes moved by their covariance so that they meet there. */
  readonly sheets: Sheet[];
}

/** Point nearest to all planes by their covariance (Gauss-Newton); planes that miss each other by more than theirs make it less sure. */
function sheetsMeet({ parameters, covariance }: CorrelatedFit, sides: number): Meeting | null {
  let [x, y, z, miss] = [0, 0, 0, 0];
  let scatter: Float64Array | null = null;
  let sheets: Sheet[] = [];
  for (let step = 0; step < STEPS; step++) {
    const here = [1, x, y];
    const heights = wholeRows(sides);
    for (let s = 0; s < sides; s++) {
      for (let t = 0; t <= s; t++) {
        for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) addAt(heights, s, t, here[i]! * here[j]! * covariance[(3 * s + i) * 3 * sides + 3 * t + j]!);
      }
    }
    const heightsRoot = factorOf(heights);
    if (!heightsRoot) return null;
    const weight = inverseOf(heightsRoot);
    const row = (s: number): readonly [number, number, number] => [parameters[3 * s + 1]!, parameters[3 * s + 2]!, -1];
    const normal = wholeRows(3);
    const right = new Float64Array(3);
    for (let s = 0; s < sides; s++) {
      for (let t = 0; t < sides; t++) {
        const w = weight[s * sides + t]!;
        for (let a = 0; a < 3; a++) {
          for (let b = 0; b <= a; b++) addAt(normal, a, b, w * row(s)[a]! * row(t)[b]!);
          right[a]! -= w * row(s)[a]! * parameters[3 * t]!;
        }
      }
    }
    const root = factorOf(normal);
    if (!root) return null;
    scatter = inverseOf(root);
    [x, y, z] = solveDecomposed(root, right) as unknown as [number, number, number];
    const off = Array.from({ length: sides }, (_, s) => parameters[3 * s]! + row(s)[0] * x + row(s)[1] * y - z);
    miss = off.reduce((sum, a, s) => sum + off.reduce((part, b, t) => part + a * b * weight[s * sides + t]!, 0), 0);
    // Planes through the point: theta - C J' (J C J')^-1 J theta.
    const pull = off.map((_, s) => off.reduce((sum, b, t) => sum + weight[s * sides + t]! * b, 0));
    sheets = off.map((_, s): Sheet => {
      const moved = [0, 1, 2].map((i) => {
        let by = 0;
        for (let t = 0; t < sides; t++) for (let j = 0; j < 3; j++) by += covariance[(3 * s + i) * 3 * sides + 3 * t + j]! * here[j]! * pull[t]!;
        return parameters[3 * s + i]! - by;
      });
      return [moved[0]!, moved[1]!, moved[2]!];
    });
  }
  const [xx, xy, yy] = [scatter![0]!, scatter![1]!, scatter![4]!];
  const greatest = (xx + yy) / 2 + Math.hypot((xx - yy) / 2, xy);
  if (!(greatest < UNKNOWN_PLACE ** 2)) return null;
  const spread = Math.max(1, sides > 3 ? miss / (sides - 3) : 1);
  return { x, y, z, sigma: Math.sqrt(spread * greatest), zSigma: Math.sqrt(spread * scatter![8]!), sheets };
}
