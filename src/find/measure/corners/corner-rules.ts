import type { Vector2 } from '../../../geometry/vector.ts';
import type { RegularRule } from '../../../roof/record.ts';
import { cos, sin, tan } from '../../../geometry/same-math.ts';
import type { CornerWeight } from './corner-scatter.ts';
import { meetShallowly, type FaceFit } from '../faces/fit-faces.ts';
import type { SolvedCorners } from './solve-corners.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';

/** How corners of a deck are set out: an observation beside those of planes and points. */
export interface CornerRule {
  readonly rule: RegularRule | 'midway';
  /** Pieces it draws. */
  readonly pieces: readonly number[];
  readonly vertices: readonly number[];
  /** What corners miss the rule by [m], and how that changes with their coordinates. */
  readonly missAt: (at: (vertex: number) => Vector2) => { miss: number; weights: CornerWeight[] };
  /** Builders keep it to this: one sigma. [m] */
  readonly sigma: number;
  /** Corners that miss it by more were never meant to follow it. [m] */
  readonly nearM: number;
  /** Corners known worse than this against it would follow any. One sigma. [m] */
  readonly vagueM: number;
  /** Rules of lower rank are judged first. */
  readonly rank: number;
  /** It is refused when corners would miss it so far by chance less often than this. */
  readonly refusedBelow: number;
}

/** Valleys that run on through a drain are set out with one line: one sigma. Common practice, no source. [m] */
const BUILT_OFFSET = 0.02;
/** Square to a wall as builders keep right angles: one sigma (methods B). [rad] 0.3° */
const BUILT_ANGLE = (0.3 * Math.PI) / 180;
/** Lines that turn by more than this at a corner were never meant to run on, or to be square. [rad] */
const MOST_TURN = (12 * Math.PI) / 180;
const MOST_ASKEW = (5 * Math.PI) / 180;
/** Planes alone may leave a line open to this much more: the rules judged before may bring it nearer. */
const LEFT_OPEN = 2;
const RUNS_ON = cos(LEFT_OPEN * MOST_TURN);
const SQUARE = sin(LEFT_OPEN * MOST_ASKEW);
const STRAIGHT = cos((3 * Math.PI) / 180);

/** Straight and square lines are so common that only this rare a miss speaks against one, and that they are judged first. */
const COMMON = { refusedBelow: 0.001, vagueM: 0.3, rank: 0 } as const;

export const RULE_WORDS: Record<CornerRule['rule'], string> = {
  'in line': 'straight through its corner', 'parallel or square': 'square to the wall', midway: 'midway between what its falls run to',
};

/** A piece as seen from one of its ends. */
interface Spoke {
  readonly index: number;
  readonly piece: Piece;
  readonly far: number;
  readonly direction: Vector2;
  readonly length: number;
}

/**
 * Rules for borders between planes that meet at less than 6°, where a millimetre of noise moves the line by centimetres but
 * the roofer's chalk line does not know of it: valleys run on straight through a drain to the corner beyond, and a ridge or
 * channel that ends in the middle of a wall ends square to it.
 */
export function cornerRules(map: RoofMap, { standsFor, vanished }: SolvedCorners, fits: readonly FaceFit[], positions: readonly Vector2[]): CornerRule[] {
  const spokes = new Map<number, Spoke[]>();
  map.pieces.forEach((piece, index) => {
    if (vanished[index] || piece.gone) return;
    const [a, b] = [standsFor[piece.from]!, standsFor[piece.to]!];
    for (const [v, far] of [[a, b], [b, a]] as const) {
      const [dx, dy] = [positions[far]![0] - positions[v]![0], positions[far]![1] - positions[v]![1]];
      const length = Math.hypot(dx, dy);
      if (length > 0) spokes.set(v, [...(spokes.get(v) ?? []), { index, piece, far, direction: [dx / length, dy / length], length }]);
    }
  });
  const isShallow = ({ piece: { counted, byRaster, drawn, left, right } }: Spoke): boolean => !counted && !byRaster && !drawn && left !== 0 && right !== 0 && meetShallowly(fits[left - 1]!, fits[right - 1]!);
  const squared = new Set<number>();
  return [...spokes].flatMap(([v, around]) => {
    const rims = around.filter(({ piece }) => piece.left === 0 || piece.right === 0);
    const shallow = around.filter(isShallow);
    if (rims.length === 0) return throughCorner(v, shallow);
    if (rims.length !== 2 || cosine(rims[0]!, rims[1]!) > -STRAIGHT) return [];
    const wall = rims[0]!.length >= rims[1]!.length ? rims[0]! : rims[1]!;
    return shallow
      .filter((spoke) => Math.abs(cosine(spoke, wall)) < SQUARE && !squared.has(spoke.index) && squared.add(spoke.index))
      .map((spoke) => squareTo(v, spoke, wall));
  });
}

const cosine = (a: Spoke, b: Spoke): number => a.direction[0] * b.direction[0] + a.direction[1] * b.direction[1];

/** Pairs of lines that run on through a corner, each the other's straightest. */
function throughCorner(v: number, shallow: readonly Spoke[]): CornerRule[] {
  const opposite = shallow.map((a) => shallow.reduce<Spoke | null>((best, b) => (b !== a && (!best || cosine(a, b) < cosine(a, best)) ? b : best), null));
  return shallow.flatMap((a, i) => {
    const b = opposite[i];
    if (!b || a.index > b.index || opposite[shallow.indexOf(b)] !== a || cosine(a, b) > -RUNS_ON || a.far === b.far) return [];
    return [{
      rule: 'in line' as const, pieces: [a.index, b.index], vertices: [a.far, v, b.far], sigma: BUILT_OFFSET, ...COMMON, nearM: tan(MOST_TURN) * ((a.length * b.length) / (a.length + b.length)),
      missAt: (at: (vertex: number) => Vector2) => besideChord(at, a.far, v, b.far),
    }];
  });
}

/** Distance of one corner from the line between two others. */
function besideChord(at: (vertex: number) => Vector2, from: number, middle: number, to: number): { miss: number; weights: CornerWeight[] } {
  const [p, m, q] = [at(from), at(middle), at(to)];
  const size = Math.hypot(q[0] - p[0], q[1] - p[1]);
  const [nx, ny] = [-(q[1] - p[1]) / size, (q[0] - p[0]) / size];
  const share = ((m[0] - p[0]) * ny - (m[1] - p[1]) * nx) / size;
  return {
    miss: (m[0] - p[0]) * nx + (m[1] - p[1]) * ny,
    weights: [{ vertex: middle, x: nx, y: ny }, { vertex: from, x: (share - 1) * nx, y: (share - 1) * ny }, { vertex: to, x: -share * nx, y: -share * ny }],
  };
}

function squareTo(v: number, { index, far, length }: Spoke, wall: Spoke): CornerRule {
  const { piece: { line: { direction: [ux, uy] }, sigmaAngle } } = wall;
  return {
    rule: 'parallel or square', pieces: [index], vertices: [v, far], sigma: length * Math.hypot(BUILT_ANGLE, sigmaAngle), ...COMMON, nearM: length * sin(MOST_ASKEW),
    missAt: (at) => ({
      miss: (at(far)[0] - at(v)[0]) * ux + (at(far)[1] - at(v)[1]) * uy,
      weights: [{ vertex: far, x: ux, y: uy }, { vertex: v, x: -ux, y: -uy }],
    }),
  };
}
