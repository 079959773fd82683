import { chiSquareTail } from '../../../geometry/distributions.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import type { RoofMap } from '../borders/split-arcs.ts';
import type { AdjustedCorners } from './adjust-corners.ts';
import { cornerRules, RULE_WORDS, type CornerRule } from './corner-rules.ts';
import { midwayRules } from './midway-rules.ts';
import type { SolvedCorners } from './solve-corners.ts';

export interface JudgedRule extends CornerRule {
  /** What planes and points alone miss it by. [m] */
  readonly missM: number;
  /** What they and the rules kept before it miss it by, at most by chance so often. */
  readonly pValue: number;
}

/** Rules that corners keep within their own scatter, and those that it refuses. */
export interface JudgedRules {
  readonly kept: readonly JudgedRule[];
  readonly refused: readonly JudgedRule[];
}

/**
 * A rule is trusted no farther than it could be tested: beside what builders keep to, one sigma of it is this share of what was
 * left open when it was judged. Else a drain that stands 10 cm off would be drawn to a line nobody laid, and called sure.
 */
const UNTESTED = 0.2;

/**
 * Rules of how decks are set out, each tested by chi-square against what planes, points and the rules kept before it leave
 * open, and refused where those speak against it. What is surest is judged first: a ridge that its planes alone leave open to
 * half a metre is known to some centimetres once the valleys that meet it run straight.
 */
export function judgeRules(map: RoofMap, solved: SolvedCorners, fits: readonly FaceFit[], { positions, covarianceOf }: Pick<AdjustedCorners, 'positions' | 'covarianceOf'>): JudgedRules {
  const rules = [...cornerRules(map, solved, fits, positions), ...midwayRules(map, solved, fits, positions)];
  const alone = rules.map(({ missAt }) => missAt((v) => positions[v]!));
  const open = covarianceOf(alone.map(({ weights }) => weights));
  const misses = alone.map(({ miss }) => miss);
  const kept: JudgedRule[] = [];
  const refused: JudgedRule[] = [];
  const waiting = new Set(rules.keys());
  for (let i = surest(waiting, rules, open); i >= 0; i = surest(waiting, rules, open)) {
    waiting.delete(i);
    const rule = rules[i]!;
    if (Math.abs(misses[i]!) > rule.nearM) continue;
    const scatter = open[i * rules.length + i]!;
    const sigma = Math.hypot(rule.sigma, UNTESTED * Math.sqrt(scatter));
    const variance = scatter + rule.sigma ** 2;
    const square = misses[i]! ** 2 / variance;
    const pValue = chiSquareTail(square, 1);
    const isKept = pValue >= rule.refusedBelow;
    (isKept ? kept : refused).push({ ...rule, sigma, missM: Math.abs(isKept ? alone[i]!.miss : misses[i]!), pValue });
    if (isKept) learn(i, scatter + sigma ** 2, misses, open);
  }
  return { kept, refused };
}

/** The rule its corners are known best against, the commonest rules first; below zero where all that are left are vague. */
function surest(waiting: ReadonlySet<number>, rules: readonly CornerRule[], open: Float64Array): number {
  let best = -1;
  const scatter = (i: number): number => open[i * rules.length + i]!;
  for (const i of waiting) {
    const { rank, vagueM } = rules[i]!;
    if (scatter(i) >= vagueM * vagueM) continue;
    if (best < 0 || rank < rules[best]!.rank || (rank === rules[best]!.rank && scatter(i) < scatter(best))) best = i;
  }
  return best;
}

/** What an observation of one sum leaves of all: their misses and their covariance, in place. */
function learn(i: number, variance: number, misses: number[], open: Float64Array): void {
  const count = misses.length;
  const shared = open.slice(i * count, (i + 1) * count);
  const off = misses[i]!;
  for (let a = 0; a < count; a++) {
    const gain = shared[a]! / variance;
    misses[a]! -= gain * off;
    for (let b = 0; b < count; b++) open[a * count + b]! -= gain * shared[b]!;
  }
}

/** What is said of rules on an edge. */
export function ruleNotes({ kept, refused }: JudgedRules, piece: number): string[] {
  const metres = (miss: number): string => `${miss.toFixed(2)} m`;
  const chance = (p: number): string => (p < 0.001 ? 'p < 0.001' : `p = ${p.toFixed(3)}`);
  return [
    ...kept.filter(({ pieces }) => pieces.includes(piece)).map(({ rule, missM, pValue }) => `drawn ${RULE_WORDS[rule]}, which its planes alone miss by ${metres(missM)} (${chance(pValue)})`),
    ...refused.filter(({ pieces }) => pieces.includes(piece)).map(({ rule, missM, pValue }) => `not ${RULE_WORDS[rule]}: its planes miss that by ${metres(missM)}, more than they scatter (${chance(pValue)})`),
  ];
}
