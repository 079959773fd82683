import { describe, expect, it } from 'vitest';
import { tapeFigures, tapesBelow, tapeTable } from '../../accuracy/tapes.ts';

describe('simulated tapes', () => {
  const figures = tapeFigures(11);

  it('name every injected cause in four of five, and suggested tapes halve the wrong verdicts', () => expect(tapesBelow(figures)).toEqual([]));

  it('of the sets that say something, name each cause in four of five, at any lengths', () => {
    for (const { says, right, cannotTell } of [...figures.spread, ...figures.any]) expect(right / (2000 - cannotTell), says).toBeGreaterThanOrEqual(0.8);
  });

  it('complain of a cause that is named too seldom, and of suggestions that save too little', () => {
    const worse = { ...figures, spread: figures.spread.map((each, i) => (i === 1 ? { ...each, right: 1500 } : each)), next: figures.next.map((each) => ({ ...each, suggested: each.random })) };
    expect(tapesBelow(worse)).toEqual([expect.stringMatching(/^tapes, scale 0\.3 %: named in 75\.0 %/), expect.stringMatching(/^tapes: suggested ones leave/)]);
  });

  it('count "cannot tell" apart from wrong', () => {
    const rows = tapeTable(figures).split('\n').filter((line) => /^\| (nothing|scale|edge|one|heights)/.test(line)).map((line) => line.split('|').slice(2, 5).map(Number));
    expect(rows.length).toBeGreaterThanOrEqual(12);
    for (const shares of rows.slice(0, 12)) expect(shares.reduce((sum, share) => sum + share, 0)).toBeCloseTo(100, 0);
  });
});
