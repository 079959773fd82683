import { besideLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import { addAt, decompose, emptyRows, solveDecomposed, type RowsFromFirst } from '../../../geometry/solve-symmetric.ts';
import { cornerNetwork, jointVariance, type NetworkPiece, type NetworkPlane } from './corner-network.ts';
import { scatterOf, type CornerWeight, type PlaneWeight, type Scatter } from './corner-scatter.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { endPrecision, looseEnd, misfitOf, placeAt, PULL_SIGMAS, withoutEnd, type EndPrecision } from './side-ends.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { CornerRule } from './corner-rules.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';

/** Corners of a building adjusted together, with what each may be off by. */
export interface AdjustedCorners {
  /** Position of every vertex of the map. Local frame. [m] */
  readonly positions: readonly Vector2[];
  /** One sigma of a weighted sum of coordinates: what the sum of `weights · positions` may be off by. [m times the weights] */
  readonly sigmaOf: (weights: readonly CornerWeight[]) => number;
  /** Covariance of several such sums, row by row. [m²] */
  readonly covarianceOf: (sums: readonly (readonly CornerWeight[])[]) => Float64Array;
  /** The same of a sum of coordinates and of planes' heights and slopes, by what it comes of. */
  readonly scatterOf: (weights: readonly CornerWeight[], planes: readonly PlaneWeight[]) => Scatter;
  /** Planes that were adjusted with their corners, by face. */
  readonly fits: ReadonlyMap<number, FaceFit>;
}

export interface AdjustOptions {
  /** Of every face; planes that meet below 6° are adjusted too. Default: every piece is a line of its own. */
  readonly fits?: readonly FaceFit[] | null;
  readonly rules?: readonly CornerRule[];
}

/** How well the raster alone places a corner that no lines cross at. [cells] */
const RASTER_SIGMA = 2.5;
/** Or this many times the scatter of a line through it. */
const GUESS_TIMES = 3;
/** Said of a plane that was adjusted with its corners. */
const TOGETHER = 'fitted together with the planes it meets at shallow angles';
const ROUNDS = 4;
/** A corner moved farther than this by the adjustment stays where it was. [cells] */
const FARTHEST = 12;

/**
 * Least squares over all corners at once: each piece's line was seen with a sideways and an angular error of known size,
 * and runs through the corners at its ends. So a valley that is known to some decimetres only, but starts at a corner known
 * to a centimetre, turns about that corner; and numbers made of several corners (lengths, areas) get the error they share.
 * Planes that meet at a shallow angle are unknowns too, each seen with the covariance of its own fit, and have one height at
 * the corners of their border: the likeliest continuous surface of a deck's falls, its drains and ridges among the unknowns.
 */
export function adjustCorners(map: RoofMap, solved: SolvedCorners, step: number, { fits = null, rules = [] }: AdjustOptions = {}): AdjustedCorners {
  const { standsFor } = solved;
  const { offsetOf, planes, first, live } = cornerNetwork(map, solved, fits, rules);
  const start = new Float64Array(first.length);
  for (const [v, offset] of offsetOf) start.set(solved.positions[v]!, offset);
  const at = start.slice();
  const guessed = guessSigmas(live, first.length, step);
  const pull = live.map(() => 1);
  const looseEnds = live.some(({ piece }) => piece.drawn) ? live.map((side) => looseEnd(side, live, at)) : [];
  const precisionAt = (i: number): EndPrecision => {
    const { piece, a, b } = live[i]!;
    const precision = endPrecision(piece, placeAt(at, a), placeAt(at, b));
    return looseEnds[i] ? withoutEnd(precision, looseEnds[i]) : precision;
  };
  let factor = emptyRows(new Int32Array(0));
  for (let round = 0; round < ROUNDS; round++) {
    const system = emptyRows(first);
    const right = new Float64Array(first.length);
    for (const i of offsetOf.values()) {
      for (const row of [i, i + 1]) {
        const prior = 1 / guessed[row]! ** 2;
        addAt(system, row, row, prior);
        right[row] = prior * (start[row]! - at[row]!);
      }
    }
    for (const plane of planes) addPlane(system, right, plane, at);
    for (const rule of rules) addRule(system, right, rule, (v) => offsetOf.get(v)!, at);
    live.forEach((one, i) => (one.planes ? addMeeting(system, right, one.planes, [one.a, one.b], at) : addPiece(system, right, [one.a, one.b], at, one.piece, precisionAt(i), pull[i]!)));
    factor = decompose(system);
    const change = solveDecomposed(factor, right);
    for (let i = 0; i < at.length; i++) at[i]! += change[i]!;
    live.forEach(({ piece, a, b }, i) => {
      const misfit = Math.sqrt(misfitOf(piece, precisionAt(i), placeAt(at, a), placeAt(at, b)));
      pull[i] = misfit > PULL_SIGMAS ? (PULL_SIGMAS / misfit) ** 2 : 1;
    });
  }
  for (const i of offsetOf.values()) {
    if (Math.hypot(at[i]! - start[i]!, at[i + 1]! - start[i + 1]!) > FARTHEST * step) at.set(placeAt(start, i), i);
  }
  const positions = map.vertices.map((_, v) => {
    const offset = offsetOf.get(standsFor[v]!);
    return offset === undefined ? solved.positions[v]! : placeAt(at, offset);
  });
  const adjustment = { factor, at, live, pull, planes, fits, precisionAt };
  const vectorOf = (weights: readonly CornerWeight[]): Float64Array => {
    const vector = new Float64Array(first.length);
    for (const { vertex, x, y } of weights) {
      const i = offsetOf.get(standsFor[vertex]!)!;
      vector[i]! += x;
      vector[i + 1]! += y;
    }
    return vector;
  };
  const covarianceOf = (sums: readonly (readonly CornerWeight[])[]): Float64Array => {
    const moved = sums.map((weights) => solveDecomposed(factor, vectorOf(weights)));
    return Float64Array.from(sums.flatMap((weights) => moved.map((by) => weights.reduce((sum, { vertex, x, y }) => {
      const i = offsetOf.get(standsFor[vertex]!)!;
      return sum + x * by[i]! + y * by[i + 1]!;
    }, 0))));
  };
  const scatter = (weights: readonly CornerWeight[], own: readonly PlaneWeight[]): Scatter => {
    const vector = vectorOf(weights);
    const unknown = new Map(planes.map(({ face, offset }) => [face, offset]));
    for (const { face, elevation, slopeX, slopeY } of own) {
      const i = unknown.get(face);
      if (i === undefined) continue;
      vector[i]! += elevation;
      vector[i + 1]! += slopeX;
      vector[i + 2]! += slopeY;
    }
    return scatterOf(adjustment, vector, own.filter(({ face }) => !unknown.has(face)));
  };
  const sigmaOf = (weights: readonly CornerWeight[]): number => {
    const { edges, rim, planes: ofPlanes } = scatter(weights, []);
    return Math.hypot(edges, rim, ofPlanes);
  };
  return { positions, sigmaOf, covarianceOf, scatterOf: scatter, fits: new Map(planes.map((plane) => [plane.face, adjustedFit(plane, at, factor)])) };
}

/**
 * Planes of a deck share the waves of their noise over their borders, so their neighbours tell less of a plane than if each
 * erred alone: this share of what they took off its variance is put back. By the covariance of two bays of 1.75 % under waves
 * of 3 m, worked out for all eight planes at once, 0.24 to 0.32 with rules and without.
 */
const SHARED_WAVES = 0.28;

function adjustedFit({ fit, offset }: NetworkPlane, at: Float64Array, factor: RowsFromFirst): FaceFit {
  const covariance = [0, 1, 2].flatMap((i) => {
    const unit = new Float64Array(at.length);
    unit[offset + i] = 1;
    const column = solveDecomposed(factor, unit);
    return [0, 1, 2].map((j) => column[offset + j]! + SHARED_WAVES * (fit.covariance[3 * i + j]! - column[offset + j]!));
  });
  return { ...fit, elevation: fit.elevation + at[offset]!, slopeX: fit.slopeX + at[offset + 1]!, slopeY: fit.slopeY + at[offset + 2]!, covariance, notes: [...fit.notes, TOGETHER] };
}

/** How well each coordinate's first value is taken to be known: worse than the lines it was found by, which count for themselves. [m] */
function guessSigmas(live: readonly NetworkPiece[], count: number, step: number): Float64Array {
  const sigmas = new Float64Array(count).fill(RASTER_SIGMA * step);
  for (const { piece, a, b } of live) for (const v of [a, a + 1, b, b + 1]) sigmas[v] = Math.max(sigmas[v]!, GUESS_TIMES * (piece.meets ? piece.sigma : 0));
  return sigmas;
}

/** What a plane's own points say of it. */
function addPlane(system: RowsFromFirst, right: Float64Array, { offset, precision }: NetworkPlane, at: Float64Array): void {
  for (let i = 0; i < 3; i++) {
    for (let j = 0; j < 3; j++) {
      right[offset + i]! -= precision[3 * i + j]! * at[offset + j]!;
      if (j <= i) addAt(system, offset + i, offset + j, precision[3 * i + j]!);
    }
  }
}

/** Two planes have one height at both ends of their border. */
function addMeeting(system: RowsFromFirst, right: Float64Array, planes: readonly [NetworkPlane, NetworkPlane], ends: readonly [number, number], at: Float64Array): void {
  const precision = 1 / jointVariance(planes[0].fit, planes[1].fit);
  for (const end of ends) {
    const [x, y] = placeAt(at, end);
    let miss = 0;
    const parts: LinearPart[] = [{ row: end, value: 0 }, { row: end + 1, value: 0 }];
    planes.forEach(({ fit, offset }, k) => {
      const sense = k === 0 ? 1 : -1;
      const [dx, dy] = [x - fit.centroid[0], y - fit.centroid[1]];
      const [slopeX, slopeY] = [fit.slopeX + at[offset + 1]!, fit.slopeY + at[offset + 2]!];
      miss += sense * (fit.elevation + at[offset]! + slopeX * dx + slopeY * dy);
      parts[0]!.value += sense * slopeX;
      parts[1]!.value += sense * slopeY;
      parts.push({ row: offset, value: sense }, { row: offset + 1, value: sense * dx }, { row: offset + 2, value: sense * dy });
    });
    addObservation(system, right, parts, miss, precision);
  }
}

interface LinearPart {
  readonly row: number;
  value: number;
}

function addObservation(system: RowsFromFirst, right: Float64Array, parts: readonly LinearPart[], miss: number, precision: number): void {
  for (const { row, value } of parts) {
    right[row]! -= precision * miss * value;
    for (const other of parts) if (other.row <= row) addAt(system, row, other.row, precision * value * other.value);
  }
}

function addPiece(system: RowsFromFirst, right: Float64Array, ends: readonly [number, number], at: Float64Array, { line }: Piece, { aa, ab, bb }: EndPrecision, pull: number): void {
  const normal = [-line.direction[1], line.direction[0]];
  const beside = ends.map((end) => besideLine(line, placeAt(at, end)));
  const weights = [[aa, ab], [ab, bb]];
  for (let i = 0; i < 2; i++) {
    const force = -pull * (weights[i]![0]! * beside[0]! + weights[i]![1]! * beside[1]!);
    for (let k = 0; k < 2; k++) {
      const row = ends[i]! + k;
      right[row]! += force * normal[k]!;
      for (let j = 0; j < 2; j++) {
        for (let l = 0; l < 2; l++) {
          const column = ends[j]! + l;
          if (column <= row) addAt(system, row, column, pull * weights[i]![j]! * normal[k]! * normal[l]!);
        }
      }
    }
  }
}

function addRule(system: RowsFromFirst, right: Float64Array, { missAt, sigma }: CornerRule, offsetOf: (vertex: number) => number, at: Float64Array): void {
  const { miss, weights } = missAt((v) => placeAt(at, offsetOf(v)));
  const parts = weights.flatMap(({ vertex, x, y }) => [{ row: offsetOf(vertex), value: x }, { row: offsetOf(vertex) + 1, value: y }]);
  addObservation(system, right, parts, miss, 1 / (sigma * sigma));
}
