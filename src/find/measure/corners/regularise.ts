import { chiSquareQuantile, chiSquareTail } from '../../../geometry/distributions.ts';
import { alongLine, besideLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import type { RegularRule, RuleTest } from '../../../roof/record.ts';
import { pieceLength, type SolvedCorners } from './solve-corners.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';
import { atan2, cos, sin } from '../../../geometry/same-math.ts';

export interface RegularPiece {
  readonly line: PlanLine;
  readonly sigma: number;
  readonly sigmaAngle: number;
  readonly kept: readonly RegularRule[];
  /** Rules the side comes near, but which its own scatter refuses. */
  readonly refused: readonly RegularRule[];
  /** How each of both was judged; of lines that run on with several others the least likely. */
  readonly tests: readonly RuleTest[];
}

/** Builders keep parallels and right angles to this: one sigma (methods B). [rad] 0.3° */
const BUILT_ANGLE = (0.3 * Math.PI) / 180;
/** And lines that run on to this. One sigma. [m] */
const BUILT_OFFSET = 0.01;
/** A rule is refused when the sides would show such a difference by chance less often than this. */
const REFUSED_BELOW = 0.01;
/** A side farther off than this was never meant to follow the rule. [rad], [m] */
const NEAR_ANGLE = (5 * Math.PI) / 180;
const NEAR_OFFSET = 0.3;
/** Sides known worse than this follow any rule. One sigma. [rad] 1.5° */
const VAGUE_ANGLE = (1.5 * Math.PI) / 180;
const SHORTEST = 1;
/** A direction is the building's when so many sides have it. */
const FEWEST_SIDES = 3;
const MOST_DIRECTIONS = 3;

/**
 * Soft regularisation: sides drawn to the building's own directions (parallel and square) and to one line where they run on,
 * each rule a pseudo-observation with the scatter builders keep, tested by chi-square against the side's own scatter and
 * refused where the points say otherwise.
 *
 * @returns By piece; pieces that no rule touches are left out.
 */
export function regularPieces(map: RoofMap, solved: SolvedCorners): Map<number, RegularPiece> {
  const limit = chiSquareQuantile(1 - REFUSED_BELOW, 1);
  const sides = map.pieces.flatMap((piece, index) =>
    solved.vanished[index] || piece.byRaster || piece.sigmaAngle > VAGUE_ANGLE || pieceLength(piece, solved.positions) < SHORTEST ? [] : [{ piece, index, length: pieceLength(piece, solved.positions) }],
  );
  const found = new Map<number, RegularPiece>();
  let left = sides;
  for (let round = 0; round < MOST_DIRECTIONS && left.length >= FEWEST_SIDES; round++) {
    const group = directionGroup(left, limit);
    if (group.members.size < FEWEST_SIDES) break;
    for (const { piece, index } of left) {
      const off = quarterTurn(angleOf(piece.line) - group.angle);
      const test: RuleTest = { rule: 'parallel or square', offDeg: off * DEGREES, pValue: chanceOf((off * off) / turnVariance(piece, group.sigma)), kept: group.members.has(index) };
      if (test.kept) found.set(index, { ...turned(piece, off, group.sigma), tests: [test] });
      else if (Math.abs(off) < NEAR_ANGLE && !found.has(index)) found.set(index, { ...piece, kept: [], refused: [test.rule], tests: [test] });
    }
    left = left.filter(({ index }) => !group.members.has(index));
  }
  joinLines(sides, found, solved, limit);
  return found;
}

const DEGREES = 180 / Math.PI;

/** Chance of so large a square of one standard normal difference; what is below one in a million is written so. */
const chanceOf = (square: number): number => Number(Math.max(1e-6, chiSquareTail(square, 1)).toPrecision(4));

/** Of the angle between a side and a direction. [rad²] */
const turnVariance = ({ sigmaAngle }: Piece, sigma: number): number => sigmaAngle ** 2 + sigma ** 2 + BUILT_ANGLE ** 2;

interface Seen {
  readonly piece: Piece;
  readonly index: number;
  readonly length: number;
}

const angleOf = ({ direction }: PlanLine): number => atan2(direction[1], direction[0]);

/** An angle brought within an eighth of a turn by quarter turns. */
const quarterTurn = (angle: number): number => angle - (Math.PI / 2) * Math.round(angle / (Math.PI / 2));

/** Sides that pass the test for one direction, and that direction as their weighted mean; begun at the longest side. */
function directionGroup(sides: readonly Seen[], limit: number): { angle: number; sigma: number; members: Set<number> } {
  const longest = sides.reduce((a, b) => (b.length > a.length ? b : a));
  let angle = angleOf(longest.piece.line);
  let sigma = longest.piece.sigmaAngle;
  let members = new Set<number>();
  for (let round = 0; round < 4; round++) {
    const passing = sides.filter(({ piece }) => {
      const off = quarterTurn(angleOf(piece.line) - angle);
      return (off * off) / turnVariance(piece, sigma) < limit;
    });
    let [weights, sum] = [0, 0];
    for (const { piece } of passing) {
      const weight = 1 / (piece.sigmaAngle ** 2 + BUILT_ANGLE ** 2);
      weights += weight;
      sum += weight * quarterTurn(angleOf(piece.line) - angle);
    }
    members = new Set(passing.map(({ index }) => index));
    if (weights === 0) break;
    angle += sum / weights;
    sigma = 1 / Math.sqrt(weights);
  }
  return { angle, sigma, members };
}

/** A side's line drawn towards the direction, as far as both scatters say. */
function turned(piece: Piece, off: number, sigma: number): Omit<RegularPiece, 'tests'> {
  const own = 1 / Math.max(1e-6, piece.sigmaAngle) ** 2;
  const rule = 1 / (sigma ** 2 + BUILT_ANGLE ** 2);
  const turn = (-off * rule) / (own + rule);
  return { line: { at: piece.line.at, direction: rotated(piece.line.direction, turn) }, sigma: piece.sigma, sigmaAngle: 1 / Math.sqrt(own + rule), kept: ['parallel or square'], refused: [] };
}

const rotated = ([x, y]: Vector2, turn: number): Vector2 => [x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn)];

/** Free sides of one direction that lie nearly in one line are drawn to it, two by two from the nearest. */
function joinLines(sides: readonly Seen[], found: Map<number, RegularPiece>, { positions, standsFor }: SolvedCorners, limit: number): void {
  const free = sides.filter(({ piece, index }) => !piece.meets && found.get(index)?.kept.length);
  for (let i = 0; i < free.length; i++) {
    for (let j = 0; j < i; j++) {
      const [a, b] = [free[i]!, free[j]!];
      const [first, second] = [found.get(a.index)!, found.get(b.index)!];
      const cosine = first.line.direction[0] * second.line.direction[0] + first.line.direction[1] * second.line.direction[1];
      if (Math.abs(cosine) < cos(NEAR_ANGLE)) continue;
      // Two sides of one corner are no one line even when they turn little.
      if (standsFor[a.piece.from] === standsFor[b.piece.from] && standsFor[a.piece.to] === standsFor[b.piece.to]) continue;
      const gap = gapBetween(a.piece, b.piece, positions);
      const offset = besideLine(first.line, second.line.at);
      if (Math.abs(offset) > NEAR_OFFSET || gap > a.length + b.length) continue;
      const reach = alongLine(first.line, second.line.at);
      const variance = first.sigma ** 2 + second.sigma ** 2 + (first.sigmaAngle * reach) ** 2 + BUILT_OFFSET ** 2;
      const square = (offset * offset) / variance;
      const test: RuleTest = { rule: 'in line', offM: offset, pValue: chanceOf(square), kept: square < limit };
      if (!test.kept) {
        found.set(a.index, withRefused(first, test));
        found.set(b.index, withRefused(second, test));
        continue;
      }
      const [own, other] = [1 / first.sigma ** 2, 1 / (second.sigma ** 2 + BUILT_OFFSET ** 2)];
      const sense = cosine < 0 ? -1 : 1;
      found.set(a.index, shifted(first, (offset * other) / (own + other), 1 / Math.sqrt(own + other), test));
      const back = 1 / (first.sigma ** 2 + BUILT_OFFSET ** 2);
      const mine = 1 / second.sigma ** 2;
      found.set(b.index, shifted(second, (-sense * offset * back) / (mine + back), 1 / Math.sqrt(mine + back), test));
    }
  }
}

const withRefused = (piece: RegularPiece, test: RuleTest): RegularPiece =>
  ({ ...piece, refused: piece.refused.includes('in line') ? piece.refused : [...piece.refused, 'in line'], tests: withTest(piece.tests, test) });

/** Of several tests of one rule with one outcome the least likely. */
function withTest(tests: readonly RuleTest[], test: RuleTest): RuleTest[] {
  const before = tests.find(({ rule, kept }) => rule === test.rule && kept === test.kept);
  if (before && before.pValue <= test.pValue) return [...tests];
  return [...tests.filter((one) => one !== before), test];
}

/** Moves a line to its left. */
function shifted(piece: RegularPiece, by: number, sigma: number, test: RuleTest): RegularPiece {
  const { at, direction } = piece.line;
  const kept = piece.kept.includes('in line') ? piece.kept : [...piece.kept, 'in line' as const];
  return { ...piece, line: { at: [at[0] - by * direction[1], at[1] + by * direction[0]], direction }, sigma, kept, tests: withTest(piece.tests, test) };
}

function gapBetween(a: Piece, b: Piece, positions: readonly Vector2[]): number {
  let least = Infinity;
  for (const v of [a.from, a.to]) {
    for (const w of [b.from, b.to]) least = Math.min(least, Math.hypot(positions[v]![0] - positions[w]![0], positions[v]![1] - positions[w]![1]));
  }
  return least;
}
