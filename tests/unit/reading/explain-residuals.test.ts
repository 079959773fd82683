import { describe, expect, it } from 'vitest';
import { explainResiduals, type ResidualCase } from '../../../src/reading/explain-residuals.ts';
import { suggestTapes } from '../../../src/reading/next-tape.ts';

const LENGTHS = [1, 2, 3, 5, 8, 12, 16, 20];
const HEIGHTS = [0, 0, 3, 0, 8, 0, 2.5, 0.1];
// Fixed residuals of about 10 mm, so that every case below is one and the same draw.
const NOISE = [0.004, -0.009, 0.011, -0.002, 0.007, -0.012, 0.001, 0.003];

const cases = (cause: (length: number, height: number, index: number) => number): ResidualCase[] =>
  LENGTHS.map((spanLength, index) => ({
    residual: cause(spanLength, HEIGHTS[index]!, index) + NOISE[index]!,
    sigma: 0.01,
    spanLength,
    spanHeight: HEIGHTS[index]!,
    edgeShare: 1,
  }));

describe('no reading at all', () => {
  it('leaves every cause as likely as any other, in numbers', () => {
    const { kind, odds } = explainResiduals([]);
    expect(kind).toBe('cannot-tell');
    for (const share of Object.values(odds)) expect(share).toBeCloseTo(1 / 6, 12);
  });
});

describe('explanation of residuals', () => {
  it.each([
    ['chance', () => 0],
    ['scale', (length: number) => 0.004 * length],
    ['edge', () => 0.03],
    ['scale-and-edge', (length: number) => -0.03 + 0.004 * length],
    ['vertical-scale', (length: number, height: number) => (0.012 * height * height) / length],
    ['blunder', (_l: number, _h: number, index: number) => (index === 3 ? 0.12 : 0)],
  ])('names an injected %s', (kind, cause) => {
    const explanation = explainResiduals(cases(cause as never));
    expect(explanation.kind).toBe(kind);
    expect(Object.values(explanation.odds).reduce((sum, odds) => sum + odds, 0)).toBeCloseTo(1, 12);
  });

  it('says which reading is the blunder', () => {
    const { fits } = explainResiduals(cases((_l, _h, index) => (index === 5 ? -0.2 : 0)));
    expect(fits.find((fit) => fit.kind === 'blunder')?.at).toBe(5);
  });

  it('recovers scale and edge with their sigmas', () => {
    const { fits } = explainResiduals(cases((length) => -0.03 + 0.004 * length));
    const both = fits.find((fit) => fit.kind === 'scale-and-edge')!;
    expect(Math.abs(both.parameters[0]! - 0.004)).toBeLessThan(2 * both.sigmas[0]!);
    expect(Math.abs(both.parameters[1]! + 0.03)).toBeLessThan(2 * both.sigmas[1]!);
  });

  it('cannot part scale from edge by readings of one length', () => {
    const same = [0, 1, 2].map(() => ({ residual: 0.05, sigma: 0.01, spanLength: 10, spanHeight: 0, edgeShare: 1 }));
    expect(explainResiduals(same).kind).toBe('cannot-tell');
  });

  it('does not call chance what lies in a cause that the readings would hardly show', () => {
    // One tape of six rises, by 2.5 m over 5: heights wrong by 1 % lengthen it by 12 mm, 1.2 sigmas of it.
    const level = (spanLength: number, residual: number): ResidualCase => ({ residual, sigma: 0.01, spanLength, spanHeight: 0, edgeShare: 1 });
    const set = (rising: number): ResidualCase[] => [level(4, 0.001), level(7, -0.003), level(10, 0.002), level(13, -0.001), level(16, 0.001), { ...level(5, rising), spanHeight: 2.5 }];
    const leaning = explainResiduals(set(0.016));
    expect(leaning.kind).toBe('cannot-tell');
    expect(leaning.why).toBe('The residuals lean towards vertical scale (1.28 % ± 1.57 %), but these readings would show 1.00 % of it less than four times in five.');
    expect(explainResiduals(set(0.002)).kind).toBe('chance');
    // Eight readings that would show it do not lean in vain: the same 1.6 sigmas of one reading are chance.
    expect(explainResiduals(cases((_l, _h, index) => (index === 3 ? 0.016 : 0))).kind).toBe('chance');
  });

  it('tells nothing by two readings', () => expect(explainResiduals(cases(() => 0).slice(0, 2)).kind).toBe('cannot-tell'));
});

describe('next tape', () => {
  const candidate = (edge: string, spanLength: number, spanHeight = 0) => ({ edge, spanLength, spanHeight, edgeShare: 1, sigma: 0.01 });

  it('asks for a long one first, then for a short one', () => {
    const [first, second] = suggestTapes([], [candidate('long', 18), candidate('middle', 9), candidate('short', 1)], 2);
    expect(first?.edge).toBe('long');
    expect(first?.why).toContain('scale');
    expect(second?.edge).toBe('short');
  });

  it('never says that a level length tells the height scale', () => {
    const taken = [candidate('', 7, 7), candidate('', 8, 2)];
    for (const { why } of suggestTapes(taken, [5, 7, 10, 14].map((spanLength) => candidate(String(spanLength), spanLength)), 4)) expect(why).not.toContain('height');
  });

  it('nor that an eave does whose ends stand a centimetre apart by the noise', () => {
    const taken = [candidate('', 7, 7), candidate('', 8, 2), candidate('', 12), candidate('', 3)];
    for (const { why } of suggestTapes(taken, [candidate('eave', 10.5, 0.02), candidate('ridge', 4, 0.01)], 2)) expect(why).not.toContain('height');
  });

  it('asks for a height when only level lengths were taped', () => {
    const taken = [2, 4, 8, 12, 16, 18].map((spanLength) => candidate('', spanLength));
    expect(suggestTapes(taken, [candidate('level', 10), candidate('high', 7, 7)], 1)[0]?.edge).toBe('high');
  });
});
