import { makeRandom } from '../../sample-data/generator/random.ts';
import { figuresOf, type Figures } from '../../src/survey/score/figures.ts';
import { POORLY_DETERMINED_DEG, poolScores } from '../../src/survey/score/score.ts';
import { quantile } from '../../src/survey/score/statistics.ts';
import type { CaseResult } from './run-case.ts';

/** One figure of the promise: how it is drawn, what it must reach, and what is aimed for. */
export interface Headline {
  readonly name: string;
  readonly unit: string;
  readonly digits: number;
  readonly must: number | readonly [number, number];
  readonly aim: number | readonly [number, number];
  /** Larger is better for shares, smaller for errors; a pair is a range to stay within. */
  readonly better: 'more' | 'less' | 'within';
  readonly of: (figures: Figures, results: readonly CaseResult[]) => number | null;
}

const percent = (share: number | null): number | null => (share === null ? null : 100 * share);
const size = (value: number | null): number | null => (value === null ? null : Math.abs(value));
const bin = (f: Figures, name: string) => f.planes.find((p) => p.name === name)!;
/** Below this many intervals a share says little. */
const FEW_INTERVALS = 20;
const leastCoverage = (f: Figures): number | null =>
  f.coverage.reduce<number | null>((least, { quantity, within95 }) =>
    quantity === 'all' || within95.of < FEW_INTERVALS || within95.share === null ? least : Math.min(least ?? 1, within95.share), null);
/** With fewer intervals than this the bounds of a share are too far apart to say that it is too high. */
const MANY_INTERVALS = 100;
/** By the lower binomial bound: what is surely held at least. */
const mostCoverage = (f: Figures): number | null =>
  f.coverage.reduce<number | null>((most, { quantity, within95 }) =>
    quantity === 'all' || within95.of < MANY_INTERVALS ? most : Math.max(most ?? 0, within95.low), null);
const wide = (f: Figures) => f.obstructions.at(-1)!;

/** Order as in the table of the promise. */
export const HEADLINES: readonly Headline[] = [
  { name: 'planes of 2 m² and more: completeness', unit: '%', digits: 1, must: 99, aim: 99.5, better: 'more', of: (f) => percent(f.planesFrom2M2.completeness.share) },
  { name: 'planes of 2 m² and more: correctness', unit: '%', digits: 1, must: 99, aim: 99.5, better: 'more', of: (f) => percent(f.planesFrom2M2.correctness.share) },
  { name: 'planes of 0.5 to 2 m²: completeness', unit: '%', digits: 1, must: 95, aim: 97, better: 'more', of: (f) => percent(bin(f, '0.5 to 2 m²').completeness.share) },
  { name: 'planes of 0.5 to 2 m²: correctness', unit: '%', digits: 1, must: 95, aim: 97, better: 'more', of: (f) => percent(bin(f, '0.5 to 2 m²').correctness.share) },
  { name: 'planes merged and split at once', unit: '', digits: 0, must: 0, aim: 0, better: 'less', of: (_, r) => poolScores(r.map((x) => x.score)).topology.manyToMany },
  { name: 'pitch, planes of 10 m² and more: error at 95 %', unit: '°', digits: 3, must: 0.15, aim: 0.1, better: 'less', of: (f) => f.pitchErrorDeg.from10M2.at95 },
  { name: 'slope area, planes of 10 m² and more: error at 95 %', unit: '%', digits: 2, must: 1, aim: 0.5, better: 'less', of: (f) => f.slopeAreaErrorPercent.from10M2.at95 },
  { name: 'outline sides of 3 m and more: bias', unit: 'spacings', digits: 3, must: 0.15, aim: 0.1, better: 'less', of: (f) => size(f.sides.biasSpacings) },
  { name: 'outline sides of 3 m and more: rms', unit: 'spacings', digits: 3, must: 0.25, aim: 0.15, better: 'less', of: (f) => f.sides.rmsSpacings },
  { name: `those but where planes meet below ${POORLY_DETERMINED_DEG}°: rms`, unit: 'spacings', digits: 3, must: 0.25, aim: 0.15, better: 'less', of: (f) => f.determinedSides.rmsSpacings },
  { name: 'corners: rms', unit: 'spacings', digits: 2, must: 1, aim: 0.7, better: 'less', of: (f) => f.corners.rmsSpacings },
  { name: 'corners of no such side: rms', unit: 'spacings', digits: 2, must: 1, aim: 0.7, better: 'less', of: (f) => f.corners.determinedRmsSpacings },
  { name: 'edge kind right', unit: '%', digits: 1, must: 97, aim: 98, better: 'more', of: (f) => percent(f.edgeKind.share) },
  { name: 'obstructions 20 spacings wide and more: recall', unit: '%', digits: 1, must: 97, aim: 98, better: 'more', of: (f) => percent(wide(f).recall.share) },
  { name: 'their height: bias', unit: 'GSD', digits: 2, must: 0.5, aim: 0.5, better: 'less', of: (f) => size(wide(f).heightBiasGsd) },
  { name: 'their height: standard deviation', unit: 'GSD', digits: 2, must: 1, aim: 1, better: 'less', of: (f) => wide(f).heightSdGsd },
  { name: 'false obstructions per roof', unit: '', digits: 2, must: 0.1, aim: 0.1, better: 'less', of: (f) => f.falseObstructionsPerBuilding },
  { name: '95 % intervals that hold the truth, all quantities', unit: '%', digits: 1, must: [90, 99], aim: [93, 97], better: 'within', of: (f) => percent(f.coverage.at(-1)!.within95.share) },
  { name: 'the quantity whose 95 % intervals hold least', unit: '%', digits: 1, must: [90, 99], aim: [93, 97], better: 'within', of: (f) => percent(leastCoverage(f)) },
  { name: 'the quantity whose 95 % intervals hold most: lower binomial bound', unit: '%', digits: 1, must: 99, aim: 97, better: 'less', of: (f) => percent(mostCoverage(f)) },
  { name: 'median width of pitch intervals over the oracle', unit: '×', digits: 2, must: 2, aim: 1.4, better: 'less', of: (_, r) => quantile(r.flatMap((x) => [...x.widthRatios]), 0.5) },
];

export interface HeadlineValue {
  readonly headline: Headline;
  readonly value: number | null;
  /** 95 % bootstrap interval over roofs. */
  readonly low: number | null;
  readonly high: number | null;
}

/** @param draws  Bootstrap draws; 0 leaves the intervals out. */
export function headlineValues(results: readonly CaseResult[], draws: number): HeadlineValue[] {
  const at = (list: readonly CaseResult[]) => {
    const figures = figuresOf(poolScores(list.map((r) => r.score)));
    return HEADLINES.map((h) => h.of(figures, list));
  };
  const values = at(results);
  const random = makeRandom(20_260_101);
  const drawn = Array.from({ length: draws }, () => at(results.map(() => random.pick(results))));
  return HEADLINES.map((headline, i) => {
    const list = drawn.flatMap((d) => (d[i] === null ? [] : [d[i]!]));
    return { headline, value: values[i]!, low: quantile(list, 0.025), high: quantile(list, 0.975) };
  });
}

export function reaches(h: Headline, value: number | null, goal: Headline['must']): boolean {
  if (value === null) return true;
  if (typeof goal !== 'number') return value >= goal[0] && value <= goal[1];
  return h.better === 'more' ? value >= goal : value <= goal;
}
