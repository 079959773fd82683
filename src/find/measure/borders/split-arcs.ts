import type { LabelArc, LabelMap } from '../../../geometry/label-arcs.ts';
import { alongLine, besideLine, cutIntoStraights, fitLine, onLine, sumPositions, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import { NONE_DRAWN, type DrawnLineOf } from './drawn-border.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { heightDifference, intersectionLine } from './intersections.ts';
import { intersectionScatter, rasterSigma } from './piece-sigmas.ts';
import type { RasterFrame } from '../raster/roof-raster.ts';
import { turnedEnds } from './turned-ends.ts';

/** A straight piece of the roof's plan, between two vertices; the same for the faces on both sides. */
export interface Piece {
  /** Face on the left and on the right, 0 for none. */
  left: number;
  right: number;
  /** Indices of vertices. */
  from: number;
  to: number;
  line: PlanLine;
  /** True where the planes of both faces meet in the line: it is their intersection, or was drawn between parts of one plane. */
  meets: boolean;
  /** True when the line is where points were counted to end. */
  counted: boolean;
  /** True when the lines of its face did not fit together and it was drawn by the raster again. */
  byRaster: boolean;
  /** True when a person drew the line. */
  drawn: boolean;
  /** Cells of raster line behind it. */
  cells: number;
  /** One sigma of the line's sideways position at `line.at` [m] and of its direction [rad]. */
  sigma: number;
  sigmaAngle: number;
  /** Part of sigma that every counted side of a roof has alike, all out or all in; positive to the left of the line. [m] */
  bias: number;
  /** True when another piece has taken its place. */
  gone: boolean;
}

export interface Vertex {
  /** First guess from the raster. Local frame. [m] */
  at: Vector2;
}

export interface RoofMap {
  readonly vertices: Vertex[];
  readonly pieces: Piece[];
  /** Closed boundaries of faces, the face on the left: pieces in order. */
  readonly rings: { readonly face: number; pieces: { piece: number; forward: boolean }[] }[];
}

/** Scatter of the raster's rim about a straight edge, in cells: half a cell of staircase and what noise adds. */
const RIM_SIGMA = 0.45;
/** Cost of one more straight piece, in squared sigmas. Less cuts pieces at noise, more rounds corners off. */
const PIECE_PRICE = 16;
/** Distance within which a rim follows the intersection of its planes, in cells. */
const MEETING_CELLS = 2.5;
/** Noise moves a rim between two planes by this many sigmas over how fast they part, in clumps. */
const MEETING_SIGMAS = 4;
/** An end of a run that turns off the intersection lies farther from it than this; it pays as for a bend. [cells] */
const TURNED_CELLS = 1.5;
/** Runs shorter than this are not told apart from their neighbours. [cells] */
const SHORTEST_RUN = 5;
/** A stretch that strays between two that follow the intersection is noise up to this length. [m] */
const STRAYING_RUN = 0.7;
/** One sigma of a border drawn by labels, over the noise and how fast the planes part. */
const LABEL_WANDER = 0.7;
/**
 * Share of that straying that gets into the planes themselves, each fitted to some of the other's points. On simulated roofs with
 * independent noise intersections stray by 1 mm at 5 cm spacing, all of which their fits explain: no more than this is left.
 */
const SMEAR_IN_FIT = 0.05;
/** [m] */
const MOST_SMEAR = 1;
const STEP_SIGMAS = 4;
/** However poorly two planes fix their intersection, farther away the rim is not on it. [m] */
const FARTHEST_MEETING = 1.5;
/** How surely a person drew a line: where it is said to be, it is; what the screen shows is good to a few millimetres. [m] */
const DRAWN_SIGMA = 0.005;

/** Cuts the arcs of the face raster into straight pieces, and says which of them are intersections of planes. */
export function splitArcs(map: LabelMap, frame: RasterFrame, fits: readonly FaceFit[], drawnLineOf: DrawnLineOf = NONE_DRAWN): RoofMap {
  const vertices: Vertex[] = [];
  const pieces: Piece[] = [];
  const vertexAt = new Map<string, number>();
  const vertexOf = (at: Vector2): number => {
    const key = `${Math.round(at[0] / frame.step)} ${Math.round(at[1] / frame.step)}`;
    let vertex = vertexAt.get(key);
    if (vertex === undefined) {
      vertex = vertices.length;
      vertices.push({ at });
      vertexAt.set(key, vertex);
    }
    return vertex;
  };
  const piecesOf = map.arcs.map((arc) => {
    const corners = arcCorners(arc, frame);
    const drawn = drawnLineOf(arc.left, arc.right);
    const list: number[] = [];
    for (const stretch of stretchesOf(arc, corners, frame, fits, drawn)) {
      list.push(pieces.length);
      pieces.push({
        left: arc.left,
        right: arc.right,
        from: vertexOf(stretch.corners[0]!),
        to: vertexOf(stretch.corners.at(-1)!),
        meets: stretch.meets,
        drawn: stretch.meets && drawn !== null,
        cells: stretch.corners.length - 1,
        ...(stretch.meets && drawn ? { line: stretch.line, sigma: DRAWN_SIGMA, sigmaAngle: 0 } : sigmasOf(stretch, arc, frame.step, fits)),
        bias: 0,
        gone: false,
        counted: false,
        byRaster: false,
      });
    }
    return list;
  });
  const rings = map.rings.map((ring) => ({
    face: ring.label,
    pieces: ring.arcs.flatMap(({ arc, forward }) => {
      const list = piecesOf[arc]!;
      return (forward ? list : [...list].reverse()).map((piece) => ({ piece, forward }));
    }),
  }));
  return { vertices, pieces, rings };
}

function arcCorners(arc: LabelArc, { origin, step }: RasterFrame): Vector2[] {
  const corners: Vector2[] = [];
  for (let i = 0; i < arc.path.length; i += 2) corners.push([origin[0] + arc.path[i]! * step, origin[1] + arc.path[i + 1]! * step]);
  return corners;
}

/**
 * The line where two planes meet; null where the planes are so nearly one that it could lie anywhere across their border
 * (two cottages of one row with equal roofs): the border then follows the points.
 */
function knownIntersection(a: FaceFit, b: FaceFit, border: readonly Vector2[]): PlanLine | null {
  const line = intersectionLine(a, b);
  if (!line) return null;
  const middle = border[border.length >> 1]!;
  const { sigma, steepness } = heightDifference(a, b, middle);
  return (2.5 * sigma) / steepness > FARTHEST_MEETING ? null : line;
}

interface Stretch {
  readonly corners: Vector2[];
  readonly line: PlanLine;
  readonly meets: boolean;
}

function stretchesOf(arc: LabelArc, given: Vector2[], frame: RasterFrame, fits: readonly FaceFit[], drawn: PlanLine | null): Stretch[] {
  const inner = arc.left !== 0 && arc.right !== 0;
  const line = drawn ?? (inner ? knownIntersection(fits[arc.left - 1]!, fits[arc.right - 1]!, given) : null);
  let corners = given;
  if (arc.closed) corners = startAtCorner(corners, frame.step);
  const stretches: Stretch[] = [];
  for (const run of runsOf(arc, corners, line, frame, fits, drawn !== null)) {
    const part = corners.slice(run.from, run.to + 1);
    if (run.meets && line) {
      stretches.push({ corners: part, line: alongStretch(line, part[0]!, part.at(-1)!), meets: true });
      continue;
    }
    for (const [from, to] of line === null && inner ? unbentParts(part, labelSmear(fits[arc.left - 1]!, fits[arc.right - 1]!, part[part.length >> 1]!), frame.step) : straightParts(part, frame.step)) {
      const middles = middlesOf(part.slice(from, to + 1));
      stretches.push({ corners: part.slice(from, to + 1), line: fitLine(sumPositions(middles), middles, 0, middles.length), meets: false });
    }
  }
  return stretches;
}

/**
 * Points within the noise of both planes are labelled at a guess: a border drawn by labels strays by the noise over how fast
 * the planes part. Nothing where one plane ends well above the other. [m]
 */
function labelSmear(left: FaceFit, right: FaceFit, at: Vector2): number {
  const { difference, steepness } = heightDifference(left, right, at);
  const noise = Math.max(left.noise, right.noise);
  return Math.abs(difference) > STEP_SIGMAS * noise + MOST_SMEAR * steepness ? 0 : Math.min(MOST_SMEAR, (LABEL_WANDER * noise) / steepness);
}

/** Draws the pieces in which planes meet where planes that were fitted anew do. */
export function renewMeetings({ pieces, vertices }: RoofMap, step: number, fits: readonly FaceFit[]): void {
  for (const piece of pieces) {
    if (piece.gone || !piece.meets || piece.drawn) continue;
    const [left, right] = [fits[piece.left - 1]!, fits[piece.right - 1]!];
    const line = intersectionLine(left, right);
    if (!line) continue;
    const [first, last] = [vertices[piece.from]!.at, vertices[piece.to]!.at];
    Object.assign(piece, meetingOf(alongStretch(line, first, last), first, last, step, left, right));
  }
}

/** The line of a stretch with its middle in that of the stretch, and its sense. */
function alongStretch(line: PlanLine, first: Vector2, last: Vector2): PlanLine {
  const sense = (last[0] - first[0]) * line.direction[0] + (last[1] - first[1]) * line.direction[1] < 0 ? -1 : 1;
  const middle = onLine(line, (alongLine(line, first) + alongLine(line, last)) / 2);
  return { at: middle, direction: [sense * line.direction[0], sense * line.direction[1]] };
}

function meetingOf(line: PlanLine, first: Vector2, last: Vector2, step: number, left: FaceFit, right: FaceFit): Pick<Piece, 'line' | 'sigma' | 'sigmaAngle'> {
  const length = Math.max(step, Math.hypot(last[0] - first[0], last[1] - first[1]));
  const smear = labelSmear(left, right, onLine(line, 0));
  const known = intersectionScatter(left, right, line, length);
  return { line: known.line, sigma: Math.hypot(known.sigma, SMEAR_IN_FIT * smear), sigmaAngle: known.sigmaAngle };
}

function sigmasOf({ corners, line, meets }: Stretch, arc: LabelArc, step: number, fits: readonly FaceFit[]): Pick<Piece, 'line' | 'sigma' | 'sigmaAngle'> {
  const cells = corners.length - 1;
  const [first, last] = [corners[0]!, corners.at(-1)!];
  if (meets) return meetingOf(line, first, last, step, fits[arc.left - 1]!, fits[arc.right - 1]!);
  const length = Math.max(step, Math.hypot(last[0] - first[0], last[1] - first[1]));
  const inner = arc.left !== 0 && arc.right !== 0;
  const smear = inner ? labelSmear(fits[arc.left - 1]!, fits[arc.right - 1]!, onLine(line, 0)) : 0;
  const sigma = Math.hypot(rasterSigma(cells, step), smear);
  return { line, sigma, sigmaAngle: (3.5 * sigma) / length };
}

const middlesOf = (corners: readonly Vector2[]): Vector2[] =>
  corners.slice(1).map((p, i): Vector2 => [(p[0] + corners[i]![0]) / 2, (p[1] + corners[i]![1]) / 2]);

function straightParts(corners: readonly Vector2[], step: number): [number, number][] {
  const cuts = cutIntoStraights(middlesOf(corners), RIM_SIGMA * step, PIECE_PRICE);
  return cuts.slice(1).map((to, i): [number, number] => [cuts[i]!, to]);
}

/** A border of two planes that are nearly one is straight as long as it strays from a line by no more than labels do. */
function unbentParts(corners: readonly Vector2[], smear: number, step: number): [number, number][] {
  const parts = straightParts(corners, step);
  const middles = middlesOf(corners);
  const line = fitLine(sumPositions(middles), middles, 0, middles.length);
  return middles.every((at) => Math.abs(besideLine(line, at)) <= Math.max(step, smear)) ? [[0, middles.length]] : parts;
}

/** A closed rim has no natural start: take the sharpest corner of a first cut. */
function startAtCorner(corners: Vector2[], step: number): Vector2[] {
  const open = corners.slice(0, -1);
  const turned = (start: number): Vector2[] => [...open.slice(start), ...open.slice(0, start), open[start]!];
  const [cx, cy] = open.reduce(([x, y], p) => [x + p[0] / open.length, y + p[1] / open.length], [0, 0]);
  let far = 0;
  open.forEach((p, i) => {
    if (Math.hypot(p[0] - cx!, p[1] - cy!) > Math.hypot(open[far]![0] - cx!, open[far]![1] - cy!)) far = i;
  });
  const first = turned(far);
  const middles = middlesOf(first);
  const sums = sumPositions(middles);
  const cuts = cutIntoStraights(middles, RIM_SIGMA * step, PIECE_PRICE);
  const lines = cuts.slice(1).map((to, i) => fitLine(sums, middles, cuts[i]!, to));
  let [sharpest, at] = [Infinity, 0];
  for (let i = 1; i < lines.length; i++) {
    const [a, b] = [lines[i - 1]!, lines[i]!];
    const straightness = a.direction[0] * b.direction[0] + a.direction[1] * b.direction[1];
    // A corner between two long pieces is the safest place.
    const cost = straightness - 0.002 * Math.min(a.count, b.count, 100);
    if (cost < sharpest) [sharpest, at] = [cost, cuts[i]!];
  }
  return turned((far + at) % open.length);
}

interface Run {
  readonly from: number;
  readonly to: number;
  readonly meets: boolean;
}

/** Stretches of an arc that do and do not follow the intersection of its planes; indices of corners, ends shared. */
function runsOf(arc: LabelArc, corners: readonly Vector2[], line: PlanLine | null, frame: RasterFrame, fits: readonly FaceFit[], isDrawn: boolean): Run[] {
  const last = corners.length - 1;
  if (!line) return [{ from: 0, to: last, meets: false }];
  const [a, b] = [fits[arc.left - 1]!, fits[arc.right - 1]!];
  const marks = middlesOf(corners).map((at) => {
    const { sigma, steepness } = heightDifference(a, b, at);
    const reach = isDrawn ? MEETING_CELLS * frame.step : Math.min(FARTHEST_MEETING, Math.max(MEETING_CELLS * frame.step, (2.5 * sigma) / steepness, (MEETING_SIGMAS * Math.max(a.noise, b.noise)) / steepness));
    return Math.abs(besideLine(line, at)) <= reach;
  });
  const runs: { from: number; to: number; meets: boolean }[] = [];
  marks.forEach((meets, i) => {
    const before = runs.at(-1);
    if (before && before.meets === meets) before.to = i + 1;
    else runs.push({ from: i, to: i + 1, meets });
  });
  for (let i = 0; i < runs.length && runs.length > 1; ) {
    const run = runs[i]!;
    const between = !run.meets && i > 0 && i + 1 < runs.length;
    if (run.to - run.from >= (between ? Math.max(SHORTEST_RUN, STRAYING_RUN / frame.step) : SHORTEST_RUN)) {
      i++;
      continue;
    }
    const into = i === 0 ? runs[1]! : runs[i - 1]!;
    into.from = Math.min(into.from, run.from);
    into.to = Math.max(into.to, run.to);
    runs.splice(i, 1);
    // The neighbours of what was taken out may now be of one sort.
    for (let j = 1; j < runs.length; ) {
      if (runs[j]!.meets === runs[j - 1]!.meets) {
        runs[j - 1]!.to = runs[j]!.to;
        runs.splice(j, 1);
      } else j++;
    }
    i = 0;
  }
  return isDrawn ? runs : joinLikeRuns(runs.flatMap((run) => (run.meets ? withoutTurnedEnds(run, corners, line, frame.step, a, b) : [run])));
}

/** What turned off the line and what lay off it before is one run: cut anew, not where the line's reach happens to end. */
function joinLikeRuns(runs: readonly Run[]): Run[] {
  return runs.reduce<Run[]>((joined, run) => {
    const before = joined.at(-1);
    return before && !before.meets && !run.meets ? [...joined.slice(0, -1), { ...before, to: run.to }] : [...joined, run];
  }, []);
}

/** A run along the intersection of two planes, its ends a run each where they turn off it. */
function withoutTurnedEnds(run: Run, corners: readonly Vector2[], line: PlanLine, step: number, a: FaceFit, b: FaceFit): Run[] {
  const middles = middlesOf(corners.slice(run.from, run.to + 1));
  const { sigma, steepness } = heightDifference(a, b, middles[middles.length >> 1]!);
  const wander = Math.max(a.noise, b.noise) / steepness;
  const { start, end } = turnedEnds(middles, line, {
    sigma: Math.hypot(RIM_SIGMA * step, LABEL_WANDER * wander, sigma / steepness), least: TURNED_CELLS * step + MEETING_SIGMAS * wander + (2.5 * sigma) / steepness, price: PIECE_PRICE,
  });
  const parts: Run[] = [
    { from: run.from, to: run.from + start, meets: false },
    { from: run.from + start, to: run.to - end, meets: true },
    { from: run.to - end, to: run.to, meets: false },
  ];
  return parts.filter(({ from, to }) => to > from);
}
