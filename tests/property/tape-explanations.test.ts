import { describe, expect, it } from 'vitest';
import { explainResiduals, type ExplanationKind, type ResidualCase } from '../../src/reading/explain-residuals.ts';
import { suggestTapes, type TapeCandidate } from '../../src/reading/next-tape.ts';
import { seededRandom } from '../../src/geometry/seeded-random.ts';

const TRIALS = 1000;
const SIGMA = 0.01;
// Eight tapes of 1 to 20 m; three of them span a height.
const SPANS = [[1, 0], [2, 0], [3, 3], [5, 0], [8, 8], [12, 0], [16, 2.5], [20, 0.1]] as const;

const { uniform: random, normal } = seededRandom(7);

type Cause = (length: number, height: number, index: number) => number;
const CAUSES: readonly (readonly [ExplanationKind, Cause])[] = [
  ['chance', () => 0],
  ['scale', (length) => 0.003 * length],
  ['edge', () => 0.025],
  ['scale-and-edge', (length) => -0.03 + 0.004 * length],
  ['blunder', (_length, _height, index) => (index === 3 ? 0.1 : 0)],
  ['vertical-scale', (length, height) => (0.01 * height * height) / length],
];

const readingOf = ([spanLength, spanHeight]: readonly [number, number], index: number, cause: Cause): ResidualCase => ({
  residual: cause(spanLength, spanHeight, index) + SIGMA * normal(),
  sigma: SIGMA,
  spanLength,
  spanHeight,
  edgeShare: 1,
});

describe('eight tapes of 1 to 20 m, standard deviation 10 mm', () => {
  it.each(CAUSES)('%s is named in at least 80 % of the trials', (kind, cause) => {
    let right = 0;
    for (let trial = 0; trial < TRIALS; trial++) {
      if (explainResiduals(SPANS.map((span, index) => readingOf(span, index, cause))).kind === kind) right++;
    }
    expect(right / TRIALS).toBeGreaterThanOrEqual(0.8);
  });
});

describe('the suggested next tapes', () => {
  // Three readings of nearly equal length tell little; two more are taken, as suggested or at random.
  const start = [[8, 0], [9, 0], [10, 0]] as const;
  const open = [[1, 0], [6, 0], [7, 0], [8.5, 0], [9.5, 0], [10.5, 0], [11, 0], [12, 0], [19, 0]] as const;
  const candidates: TapeCandidate[] = open.map(([spanLength, spanHeight], index) => ({ edge: String(index), spanLength, spanHeight, edgeShare: 1, sigma: SIGMA }));

  it('halve the wrong and undecided verdicts of tapes taken at random', () => {
    const suggested = suggestTapes(start.map(([spanLength, spanHeight]) => ({ spanLength, spanHeight, edgeShare: 1, sigma: SIGMA })), candidates, 2).map(({ edge }) => open[Number(edge)]!);
    const wrong = { suggested: 0, random: 0 };
    for (const [kind, cause] of CAUSES.slice(1, 3)) {
      for (let trial = 0; trial < TRIALS; trial++) {
        const drawn = [open[Math.floor(random() * open.length)]!, open[Math.floor(random() * open.length)]!];
        const verdict = (more: readonly (readonly [number, number])[]) => explainResiduals([...start, ...more].map((span, index) => readingOf(span, index, cause))).kind;
        if (verdict(suggested) !== kind) wrong.suggested++;
        if (verdict(drawn) !== kind) wrong.random++;
      }
    }
    expect(wrong.suggested).toBeLessThanOrEqual(wrong.random / 2);
  });
});
