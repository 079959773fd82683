import { coverageFigures, figuresOf } from '../../src/survey/score/figures.ts';
import { POORLY_DETERMINED_DEG, poolScores, type Score } from '../../src/survey/score/score.ts';
import { farthestCorner, LOST_SIDE } from '../../src/survey/score/score-outlines.ts';
import { quantile, rmsOf } from '../../src/survey/score/statistics.ts';
import { NOISES } from './case-list.ts';
import type { KnownOutline } from './area-oracle.ts';
import { oracleErrorAt95 } from './oracle.ts';
import { HEADLINES, headlineValues, reaches, type HeadlineValue } from './headline.ts';
import type { CaseResult } from './run-case.ts';

const number = (value: number | null, digits: number): string => (value === null ? '–' : value.toFixed(digits));
const row = (cells: readonly string[]): string => `| ${cells.join(' | ')} |`;
const table = (head: readonly string[], rows: readonly (readonly string[])[]): string =>
  [row(head), row(head.map(() => '-')), ...rows.map(row)].join('\n');
const centimetres = (spacing: number): string => `${Math.round(spacing * 1000) / 10} cm`;
const goal = (g: number | readonly [number, number]): string => (typeof g === 'number' ? String(g) : `${g[0]} to ${g[1]}`);

/** Figures of the promise with bootstrap intervals, for one group of cases. */
export function headlineTable(values: readonly HeadlineValue[]): string {
  return table(
    ['figure', 'unit', 'value', '95 % of bootstrap draws', 'must', 'aim', ''],
    values.map(({ headline: h, value, low, high }) => [
      h.name, h.unit, number(value, h.digits), low === null ? '–' : `${number(low, h.digits)} to ${number(high, h.digits)}`, goal(h.must), goal(h.aim),
      value === null ? '–' : reaches(h, value, h.aim) ? 'aim reached' : reaches(h, value, h.must) ? 'reached' : '**short**',
    ]),
  );
}

/** The same figures for every noise model and spacing, values only. */
export function gridTable(results: readonly CaseResult[]): string {
  const groups = groupsOf(results);
  const values = groups.map((g) => headlineValues(g.results, 0));
  return table(
    ['figure', 'unit', ...groups.map((g) => `${g.noise} ${centimetres(g.spacing)}`)],
    HEADLINES.map((h, i) => [h.name, h.unit, ...values.map((v) => number(v[i]!.value, h.digits))]),
  );
}

function groupsOf(results: readonly CaseResult[]) {
  const spacings = [...new Set(results.map((r) => r.case.spacing))].sort((a, b) => a - b);
  return spacings.flatMap((spacing) => NOISES.map((noise) => ({ spacing, noise, results: results.filter((r) => r.case.noise === noise && r.case.spacing === spacing) })))
    .filter((g) => g.results.length > 0);
}

export function sizeClassTable(results: readonly CaseResult[]): string {
  const figures = figuresOf(poolScores(results.map((r) => r.score)));
  return table(
    ['slope area of the plane', 'true', 'found', 'completeness', 'ours', 'right', 'correctness', 'quality'],
    figures.planes.map((p) => [
      p.name, String(p.completeness.of), String(p.completeness.hits), shareText(p.completeness), String(p.correctness.of), String(p.correctness.hits),
      shareText(p.correctness), number(p.quality, 3),
    ]),
  );
}

const shareText = (s: { share: number | null; low: number; high: number }): string =>
  s.share === null ? '–' : `${(100 * s.share).toFixed(1)} % (${(100 * s.low).toFixed(1)} to ${(100 * s.high).toFixed(1)})`;

export function kindTable(results: readonly CaseResult[]): string {
  const kinds = [...new Set(results.map((r) => r.case.kind))];
  return table(
    ['roof', 'planes missed', 'invented', 'split, merged, both', 'pitch at 95 % [°]', 'area at 95 % [%]', 'sides bias, rms [spacings]', 'edge kinds right', 'edges missed, extra', 'obstructions missed, false', 'intervals that hold'],
    kinds.map((kind) => {
      const score = poolScores(results.filter((r) => r.case.kind === kind).map((r) => r.score));
      const f = figuresOf(score);
      const t = score.topology;
      return [
        kind, String(score.truthPlanes.filter((p) => p.overlap < 0.5).length), String(score.recordPlanes.filter((p) => p.overlap < 0.5).length),
        `${t.oneToMany}, ${t.manyToOne}, ${t.manyToMany}`, number(f.pitchErrorDeg.from2M2.at95, 3), number(f.slopeAreaErrorPercent.from2M2.at95, 2),
        `${number(f.sides.biasSpacings, 2)}, ${number(f.sides.rmsSpacings, 2)}`, shareText(f.edgeKind),
        `${score.edges.filter((e) => e.record === null).length} of ${score.edges.length}, ${score.extraEdges.length}`,
        `${score.obstructions.filter((o) => o.record === null).length} of ${score.obstructions.length}, ${score.falseObstructions.length}`,
        shareText(f.coverage.at(-1)!.within95),
      ];
    }),
  );
}

/** Whether the share of intervals that hold may be 90 to 99 %: its binomial bounds reach into that range. */
const verdict = ({ low, high }: { low: number; high: number }): string => (high < 0.9 ? ' **low**' : low > 0.99 ? ' wide' : '');

export function coverageTable(results: readonly CaseResult[], { withControl = true } = {}): string {
  const intervalsOf = (noise: string) => results.filter((r) => r.case.noise === noise).flatMap((r) => (withControl ? r.score.intervals : r.ownIntervals));
  const noises = NOISES.filter((n) => results.some((r) => r.case.noise === n));
  const by = noises.map((noise) => coverageFigures(intervalsOf(noise)));
  const quantities = [...new Set(by.flatMap((list) => list.map((c) => c.quantity)))];
  return table(
    ['quantity', ...noises.flatMap((n) => [`${n}: in 95 %`, 'in 68 %', 'rms z'])],
    quantities.map((q) => [q, ...by.flatMap((list) => {
      const c = list.find((x) => x.quantity === q);
      return c ? [`${shareText(c.within95)} of ${c.within95.of}${verdict(c.within95)}`, shareText(c.within68), number(c.rmsZ, 2)] : ['–', '–', '–'];
    })]),
  );
}

export function obstructionTable(results: readonly CaseResult[]): string {
  const f = figuresOf(poolScores(results.map((r) => r.score)));
  return table(
    ['width in spacings', 'recall', 'height bias [GSD]', 'height sd [GSD]', 'median height error [m]', 'shape right'],
    f.obstructions.map((o) => [o.name, shareText(o.recall), number(o.heightBiasGsd, 2), number(o.heightSdGsd, 2), number(o.heightErrorM.median, 3), shareText(o.shapeRight)]),
  );
}

export function sideTable(results: readonly CaseResult[]): string {
  const f = figuresOf(poolScores(results.map((r) => r.score)));
  return table(
    ['side of 3 m and more', 'count', 'nowhere near', 'bias [spacings]', 'rms [spacings]'],
    [{ kind: 'all', ...f.sides }, { kind: `all but sides where planes meet below ${POORLY_DETERMINED_DEG}°`, ...f.determinedSides }, ...f.sidesByKind].map((s) => [s.kind, String(s.count), String(s.lost), number(s.biasSpacings, 3), number(s.rmsSpacings, 3)]),
  );
}

/** How badly a roof went: planes weigh most, then gross errors of the found ones. */
function badness(score: Score): number {
  const wrong = score.truthPlanes.filter((p) => p.overlap < 0.5).length + score.recordPlanes.filter((p) => p.overlap < 0.5).length;
  const pitch = Math.max(0, ...score.planeMatches.map((m) => Math.abs(m.pitchErrorDeg ?? 0)));
  const area = Math.max(0, ...score.planeMatches.map((m) => Math.abs(m.slopeAreaErrorShare ?? 0)));
  return 10 * wrong + pitch + 10 * area + score.falseObstructions.length + score.edges.filter((e) => e.record === null).length;
}

export function worstLines(results: readonly CaseResult[], count: number): string[] {
  return [...results].sort((a, b) => badness(b.score) - badness(a.score)).slice(0, count).map((r) => {
    const s = r.score;
    const pitch = Math.max(0, ...s.planeMatches.map((m) => Math.abs(m.pitchErrorDeg ?? 0)));
    const area = Math.max(0, ...s.planeMatches.map((m) => 100 * Math.abs(m.slopeAreaErrorShare ?? 0)));
    return `${r.name}: ${r.failure ? `FAILED ${r.failure}; ` : ''}${s.truthPlanes.filter((p) => p.overlap < 0.5).length} planes missed, ` +
      `${s.recordPlanes.filter((p) => p.overlap < 0.5).length} invented, greatest pitch error ${pitch.toFixed(2)}°, area error ${area.toFixed(1)} %, ` +
      `${s.falseObstructions.length} false obstructions, ${s.edges.filter((e) => e.record === null).length} of ${s.edges.length} edges missed`;
  });
}

/** What the pitch figure would be at best with these points and this noise. */
export function oracleLine(results: readonly CaseResult[]): string {
  const limit = oracleErrorAt95(results.flatMap((r) => [...r.oracleU95Deg]));
  return `Least squares that knew every plane's points and the make-up of the noise would err by ${number(limit, 3)}° in pitch at 95 % on the planes of 10 m² and more. ` +
    `Planes so fitted, with outer sides known exactly, would err in area by ${number(areaErrorAt95(results), 2)} % at 95 % (${number(areaErrorAt95(results.filter(isFlat)), 2)} % on flat roofs with falls, ${number(areaErrorAt95(results.filter((r) => !isFlat(r))), 2)} % on all others): what is left is the noise's share.`;
}

/** What the outline figures would be at best, beside ours. */
export function outlineOracleLine(results: readonly CaseResult[]): string {
  const f = figuresOf(poolScores(results.map((r) => r.score)));
  // As in the score, what lies farther off is another line or corner.
  const knownRms = (list: readonly CaseResult[], pick: (o: KnownOutline) => readonly number[], farthest: (spacing: number) => number): string =>
    number(rmsOf(list.flatMap((r) => r.oracleOutlines.flatMap((o) => pick(o).filter((d) => Math.abs(d) <= farthest(r.case.spacing)).map((d) => d / r.case.spacing)))), 3);
  const others = results.filter((r) => !isFlat(r));
  const sides = (list: readonly CaseResult[]): string => knownRms(list, (o) => o.sideOffsetsM, () => LOST_SIDE);
  const corners = (list: readonly CaseResult[]): string => knownRms(list, (o) => o.cornerDistancesM, farthestCorner);
  return `The same planes would draw sides of 3 m and more with an rms of ${sides(results)} spacings (${sides(others)} on roofs other than flat ones with falls) ` +
    `and corners with ${corners(results)} (${corners(others)}), ours ${number(f.sides.rmsSpacings, 3)} and ${number(f.corners.rmsSpacings, 3)}. ` +
    `Planes that meet below ${POORLY_DETERMINED_DEG}° leave their line poorly determined: without those sides and their corners ours are ${number(f.determinedSides.rmsSpacings, 3)} and ${number(f.corners.determinedRmsSpacings, 3)}.`;
}

const isFlat = (r: CaseResult): boolean => r.case.kind === 'flat';

/** [%] */
function areaErrorAt95(results: readonly CaseResult[]): number | null {
  const at95 = quantile(results.flatMap((r) => r.oracleOutlines.flatMap((o) => (o.areaError === null ? [] : [Math.abs(o.areaError)]))), 0.95);
  return at95 === null ? null : 100 * at95;
}

export function speedLine(results: readonly CaseResult[]): string {
  const points = results.reduce((sum, r) => sum + r.pointCount, 0);
  const seconds = results.reduce((sum, r) => sum + r.seconds, 0);
  const slowest = quantile(results.map((r) => r.seconds), 1);
  return `${results.length} roofs, ${(points / 1e6).toFixed(1)} million points surveyed in ${seconds.toFixed(1)} s of processor time (${(points / seconds / 1e6).toFixed(2)} million/s); slowest roof ${number(slowest, 1)} s.`;
}
