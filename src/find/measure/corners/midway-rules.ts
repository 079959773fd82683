import type { Vector2 } from '../../../geometry/vector.ts';
import { cos, tan } from '../../../geometry/same-math.ts';
import { meetShallowly, type FaceFit } from '../faces/fit-faces.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';
import type { CornerWeight } from './corner-scatter.ts';
import type { CornerRule } from './corner-rules.ts';
import type { SolvedCorners } from './solve-corners.ts';

/** Builders place lines in plan to this: one sigma, where DIN 18202:2013 table 1 allows 20 mm at most (dimensions in plan, 6 to 15 m). [m] */
const BUILT_PLACE = 0.02;
/** Judged after straight and square lines and refused sooner: bays may well be unequal, and a line known worse would hide it. */
const UNCOMMON = { refusedBelow: 0.05, vagueM: 0.1, rank: 1 } as const;
/** A line that lies farther from the middle was never meant to be there. [m] */
const NEAR_MIDDLE = 0.5;
/** Slopes of one fall either way: one may be so many times the other, as the noise has it. */
const MOST_UNEQUAL = 1.3;
/** The falls run square off the line to within this, and the rims they run to are parallel to it. */
const OPPOSITE = cos((150 * Math.PI) / 180);
const PARALLEL = cos((5 * Math.PI) / 180);
/** A rim shorter than this share of the line is not what the fall runs to. */
const LEAST_RIM = 0.5;
/** Planes steeper than this are no decks. [-] 5° */
const STEEPEST = tan((5 * Math.PI) / 180);

/** A piece with its ends where the corners are. */
interface Side {
  readonly index: number;
  readonly piece: Piece;
  readonly ends: readonly [number, number];
}

/**
 * Ridges and channels of decks lie midway between the drains, or the parallel rims, that the falls on both sides run to:
 * four-way falls are laid from level edges to a drain in the centre of what it drains, two-way falls to a straight line of drains
 * (trade papers on tapered roof insulation; that both sides have one slope is common practice, no source).
 */
export function midwayRules(map: RoofMap, { standsFor, vanished }: SolvedCorners, fits: readonly FaceFit[], positions: readonly Vector2[]): CornerRule[] {
  const sides: Side[] = map.pieces.flatMap((piece, index) => (vanished[index] || piece.gone ? [] : [{ index, piece, ends: [standsFor[piece.from]!, standsFor[piece.to]!] as const }]));
  return sides.flatMap((side): CornerRule[] => {
    const { index, piece: { left, right, meets, drawn }, ends: [from, to] } = side;
    if (!meets || drawn || from === to || !fallEvenly(fits[left - 1]!, fits[right - 1]!)) return [];
    const goals = [left, right].map((face) => goalOf(side, sides.filter(({ piece }) => piece.left === face || piece.right === face), positions));
    const [first, second] = goals;
    if (!first || !second || first.isRim !== second.isRim) return [];
    const shares = [from, to].map((vertex) => ({ vertex, share: 0.5 })).concat(goals.flatMap((goal) => goal!.vertices.map((vertex) => ({ vertex, share: -0.5 / goal!.vertices.length }))));
    return [{
      rule: 'midway', pieces: [index], vertices: shares.map(({ vertex }) => vertex), sigma: BUILT_PLACE, nearM: NEAR_MIDDLE, ...UNCOMMON,
      missAt: (at) => {
        const [nx, ny] = normalOf(at(from), at(to));
        const weights = shares.map(({ vertex, share }): CornerWeight => ({ vertex, x: share * nx, y: share * ny }));
        return { miss: weights.reduce((sum, { vertex, x, y }) => sum + x * at(vertex)[0] + y * at(vertex)[1], 0), weights };
      },
    }];
  });
}

/** True for two falls of a deck away from each other, or towards each other, with nearly one slope. */
function fallEvenly(a: FaceFit, b: FaceFit): boolean {
  const [first, second] = [Math.hypot(a.slopeX, a.slopeY), Math.hypot(b.slopeX, b.slopeY)];
  return meetShallowly(a, b) && Math.max(first, second) <= Math.min(STEEPEST, MOST_UNEQUAL * Math.min(first, second)) && a.slopeX * b.slopeX + a.slopeY * b.slopeY <= OPPOSITE * first * second;
}

function normalOf(from: Vector2, to: Vector2): Vector2 {
  const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
  return [-(to[1] - from[1]) / size, (to[0] - from[0]) / size];
}

/** What a fall runs to: the rim parallel to its line, or the drain farthest from it; null where that is neither. */
function goalOf({ index, ends: [from, to] }: Side, around: readonly Side[], positions: readonly Vector2[]): { vertices: readonly number[]; isRim: boolean } | null {
  const [nx, ny] = normalOf(positions[from]!, positions[to]!);
  const away = (v: number): number => Math.abs(nx * (positions[v]![0] - positions[from]![0]) + ny * (positions[v]![1] - positions[from]![1]));
  const sizeOf = ([a, b]: readonly [number, number]): number => Math.hypot(positions[b]![0] - positions[a]![0], positions[b]![1] - positions[a]![1]);
  const isFree = ({ piece: { left, right } }: Side): boolean => left === 0 || right === 0;
  const others = around.filter((side) => side.index !== index);
  const vertices = [...new Set(others.flatMap(({ ends }) => ends))].sort((a, b) => a - b);
  if (vertices.length === 0) return null;
  const farthest = vertices.reduce((best, v) => (away(v) > away(best) ? v : best));
  const rim = others.find((side) => isFree(side) && side.ends.includes(farthest) && sizeOf(side.ends) >= LEAST_RIM * sizeOf([from, to]) && Math.abs(dot(normalOf(positions[side.ends[0]]!, positions[side.ends[1]]!), [nx, ny])) >= PARALLEL);
  if (rim) return { vertices: rim.ends, isRim: true };
  return others.some((side) => isFree(side) && side.ends.includes(farthest)) ? null : { vertices: [farthest], isRim: false };
}

const dot = (a: Vector2, b: Vector2): number => a[0] * b[0] + a[1] * b[1];
