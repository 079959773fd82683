import { makeRandom, type Random } from '../../sample-data/generator/random.ts';
import { explainResiduals, type ExplanationKind, type ResidualCase } from '../../src/reading/explain-residuals.ts';
import { suggestTapes, type TapeCandidate } from '../../src/reading/next-tape.ts';

/** One sigma of a tape and the model together. [m] */
const SIGMA = 0.01;
const TRIALS = 2000;
const TAPES = 8;
/** Share of trials in which each cause must be named. */
const MUST = 0.8;

interface Span {
  readonly length: number;
  readonly height: number;
}

/** What is put into the readings; none of it is known to the finder. */
const CAUSES: readonly { readonly kind: ExplanationKind; readonly says: string; readonly residual: (span: Span, index: number, blundered: number) => number; /** What was put in, where one number says it. */ readonly truth?: number }[] = [
  { kind: 'chance', says: 'nothing', residual: () => 0 },
  { kind: 'scale', says: 'scale 0.3 %', residual: ({ length }) => 0.003 * length, truth: 0.003 },
  { kind: 'edge', says: 'edge 25 mm', residual: () => 0.025, truth: 0.025 },
  { kind: 'scale-and-edge', says: 'scale 0.4 % and edge −30 mm', residual: ({ length }) => 0.004 * length - 0.03 },
  { kind: 'blunder', says: 'one blunder of 100 mm', residual: (_span, index, blundered) => (index === blundered ? 0.1 : 0) },
  { kind: 'vertical-scale', says: 'heights 1 %', residual: ({ length, height }) => (0.01 * height * height) / length, truth: 0.01 },
];

/** Eight tapes spread over 1 to 20 m as a checker would choose them, three of them with a rise. */
const SPREAD: readonly Span[] = [[1, 0], [2, 0], [3, 3], [5, 0], [8, 8], [12, 0], [16, 2.5], [20, 0.1]].map(([length, height]) => ({ length: length!, height: height! }));

/** Eight tapes of any length from 1 to 20 m; every third rises by any share of its length. */
const anyTapes = (random: Random): Span[] =>
  Array.from({ length: TAPES }, (_, i) => {
    const length = random.between(1, 20);
    return { length, height: i % 3 === 2 ? length * random.between(0, 1) : 0 };
  });

type Cause = (typeof CAUSES)[number];

function residualsOf(spans: readonly Span[], cause: Cause, random: Random): ResidualCase[] {
  const blundered = random.whole(0, spans.length - 1);
  return spans.map((span, index) => ({
    residual: cause.residual(span, index, blundered) + SIGMA * random.normal(),
    sigma: SIGMA,
    spanLength: span.length,
    spanHeight: span.height,
    edgeShare: 1,
  }));
}

interface Tally {
  readonly says: string;
  right: number;
  cannotTell: number;
  readonly wrong: Map<string, number>;
  /** Of those named right, how many have the truth within their ±; null where no one number says it. */
  held: number | null;
  /** Trials in which a test that knew the cause would see it, were one clean set in twenty let pass for it; null where no one number says it. */
  seen: number | null;
}

/** Chi-square of one degree of freedom that chance exceeds in one case of twenty. */
const ONE_IN_TWENTY = 3.841;

/** Whether readings tell a cause from nothing, its shape known and only its size asked for. */
function isSeen(cause: Cause, spans: readonly Span[], cases: readonly ResidualCase[]): boolean {
  const effects = spans.map((span, i) => cause.residual(span, i, -1));
  const size = effects.reduce((sum, effect) => sum + effect * effect, 0);
  const along = effects.reduce((sum, effect, i) => sum + effect * cases[i]!.residual, 0);
  return size > 0 && (along * along) / (size * SIGMA * SIGMA) > ONE_IN_TWENTY;
}

function tally(cause: Cause, spansOf: () => readonly Span[], random: Random): Tally {
  const counted: Tally = { says: cause.says, right: 0, cannotTell: 0, wrong: new Map(), held: cause.truth === undefined ? null : 0, seen: cause.truth === undefined ? null : 0 };
  for (let trial = 0; trial < TRIALS; trial++) {
    const spans = spansOf();
    const cases = residualsOf(spans, cause, random);
    if (counted.seen !== null && isSeen(cause, spans, cases)) counted.seen++;
    const { kind, fits } = explainResiduals(cases);
    if (kind === cause.kind) {
      counted.right++;
      const fit = fits.find((each) => each.kind === kind)!;
      if (cause.truth !== undefined && Math.abs(fit.parameters[0]! - cause.truth) <= 1.96 * fit.sigmas[0]!) counted.held!++;
    }
    else if (kind === 'cannot-tell') counted.cannotTell++;
    else counted.wrong.set(kind, (counted.wrong.get(kind) ?? 0) + 1);
  }
  return counted;
}

/** After three tapes of 8 to 10 m, two more: as suggested, or any two of those that are open. */
const START: readonly Span[] = [8, 9, 10].map((length) => ({ length, height: 0 }));
const OPEN: readonly Span[] = [1, 6, 7, 8.5, 9.5, 10.5, 11, 12, 19].map((length) => ({ length, height: 0 }));

function nextAgainstRandom(seed: number): { readonly says: string; readonly suggested: number; readonly random: number }[] {
  const random = makeRandom(seed);
  const candidates = OPEN.map(({ length, height }, i): TapeCandidate => ({ edge: String(i), spanLength: length, spanHeight: height, edgeShare: 1, sigma: SIGMA }));
  const suggested = suggestTapes(START.map(({ length, height }) => ({ spanLength: length, spanHeight: height, edgeShare: 1, sigma: SIGMA })), candidates, 2).map(({ edge }) => OPEN[Number(edge)]!);
  return CAUSES.slice(1, 3).map((cause) => {
    const wrong = { says: cause.says, suggested: 0, random: 0 };
    for (let trial = 0; trial < TRIALS; trial++) {
      const drawn = [random.pick(OPEN), random.pick(OPEN)];
      if (explainResiduals(residualsOf([...START, ...suggested], cause, random)).kind !== cause.kind) wrong.suggested++;
      if (explainResiduals(residualsOf([...START, ...drawn], cause, random)).kind !== cause.kind) wrong.random++;
    }
    return wrong;
  });
}

export interface TapeFigures {
  readonly spread: readonly Tally[];
  readonly any: readonly Tally[];
  readonly next: readonly { readonly says: string; readonly suggested: number; readonly random: number }[];
}

/** Simulated tapes with a known cause each, and whether it is named. */
export function tapeFigures(seed: number): TapeFigures {
  const random = makeRandom(seed);
  return {
    spread: CAUSES.map((cause) => tally(cause, () => SPREAD, random)),
    any: CAUSES.map((cause) => tally(cause, () => anyTapes(random), random)),
    next: nextAgainstRandom(seed),
  };
}

const percent = (count: number, of = TRIALS): string => ((100 * count) / of).toFixed(1);

export function tapeTable({ spread, any, next }: TapeFigures): string {
  const worst = (wrong: ReadonlyMap<string, number>): string => [...wrong].toSorted(([, a], [, b]) => b - a).slice(0, 2).map(([kind, count]) => `${kind.replaceAll('-', ' ')} ${percent(count)}`).join(', ');
  const row = (t: Tally): string => `| ${t.says} | ${percent(t.right)} | ${percent(t.cannotTell)} | ${percent([...t.wrong.values()].reduce((sum, count) => sum + count, 0))} | ${worst(t.wrong)} | ${percent(t.right, TRIALS - t.cannotTell)} | ${t.held === null ? '' : percent(t.held, t.right)} | ${t.seen === null ? '' : percent(t.seen)} |`;
  const sums = next.reduce((sum, each) => ({ suggested: sum.suggested + each.suggested, random: sum.random + each.random }), { suggested: 0, random: 0 });
  return [
    `${TAPES} tapes of 1 to 20 m, sd ${1000 * SIGMA} mm, ${TRIALS} trials each; at least ${100 * MUST} % must be named right. "Cannot tell" is counted apart. The last column is what any test could do: one that knew which cause to look for and took one clean set in twenty for it.`, '',
    '| injected, tapes spread as suggested | right % | cannot tell % | wrong % | most often | right of those told % | its ± holds % | seen by a test of this cause alone % |', '| - | - | - | - | - | - | - | - |', ...spread.map(row), '',
    '| injected, tapes of any length | right % | cannot tell % | wrong % | most often | right of those told % | its ± holds % | seen by a test of this cause alone % |', '| - | - | - | - | - | - | - | - |', ...any.map(row), '',
    '| three tapes of 8 to 10 m, then two more | not right, as suggested % | not right, at random % |', '| - | - | - |',
    ...next.map(({ says, suggested, random }) => `| ${says} | ${percent(suggested)} | ${percent(random)} |`),
    `| together | ${percent(sums.suggested, next.length * TRIALS)} | ${percent(sums.random, next.length * TRIALS)} |`,
  ].join('\n');
}

/** One line for each cause that is named too seldom, and for suggestions that do not halve the wrong verdicts. */
export function tapesBelow({ spread, any, next }: TapeFigures): string[] {
  // Lengths that happen to hide a cause from every test are no fault of this one.
  const fair = any.filter(({ seen }) => seen === null || seen / TRIALS > 0.95);
  const seldom = [...spread, ...fair].filter(({ right }) => right / TRIALS < MUST).map(({ says, right }) => `tapes, ${says}: named in ${percent(right)} %, must be ${100 * MUST} %`);
  const [suggested, random] = [next.reduce((sum, each) => sum + each.suggested, 0), next.reduce((sum, each) => sum + each.random, 0)];
  return suggested > random / 2 ? [...seldom, `tapes: suggested ones leave ${suggested} wrong verdicts, any two ${random}`] : seldom;
}
