import { describe, expect, it } from 'vitest';
import { chanceText, edgeSentences, measuredAsSentence, planeSentences, ruleText, thingSentences } from '../../../src/reading/evidence-words.ts';
import type { Obstruction, RoofEdge, RoofPlane } from '../../../src/roof/record.ts';

const names = (id: string): string => id.toUpperCase();
const plane = (evidence: object, rest: object = {}): RoofPlane => ({ id: 'p1', evidence, ...rest }) as unknown as RoofPlane;
const edge = (rest: object): RoofEdge => ({ id: 'e1', planes: ['p1'], ...rest }) as unknown as RoofEdge;

describe('what stands behind a plane', () => {
  it('tells how it was told from its neighbour, and when the points alone would not', () => {
    const said = planeSentences(plane({ degreesOfFreedom: 17, sigmasIn95: 2.1098, apartFrom: [{ plane: 'p2', pValue: 1e-12, independentCount: 149 }, { plane: 'p3', pValue: 0.724, independentCount: 146 }] }), names);
    expect(said[0]).toBe('The scatter of single points is known with 17 degrees of freedom: 95 % is 2.11 standard deviations.');
    expect(said[1]).toContain('Told from P2');
    expect(said[1]).toContain('p < 0.000001');
    expect(said[2]).toContain('could be one plane with P3 (p = 0.72');
  });

  it('says nothing where nothing is known', () => expect(planeSentences(plane({}), names)).toEqual([]));
});

describe('which edge was measured', () => {
  it('says what it was and what it stands for by a stated offset', () => {
    expect(measuredAsSentence(edge({ measuredAs: 'cover-edge' }))).toContain('where the cover ends');
    const said = measuredAsSentence(edge({ measuredAs: 'gutter-lip', convertedFrom: { measuredAs: 'cover-edge', offsetM: { value: 0.12, u95: 0.02 }, by: 'A. L.', why: 'taped' } }));
    expect(said).toContain('Stands for the gutter lip');
    expect(said).toContain('0.12');
    expect(said).toContain('outwards (A. L.: taped)');
  });

  it('tells each rule with how far off the side is and what chance that has', () => {
    expect(ruleText({ rule: 'parallel or square', offDeg: -2.04, pValue: 0.0004, kept: false })).toBe('“parallel or square” refused (2.04° off, p = 0.0004)');
    const regular = { from: [0, 0, 0], to: [1, 0, 0], shiftM: 0.023, kept: ['in line'], refused: [], tests: [{ rule: 'in line', offM: 0.031, pValue: 0.24, kept: true }] };
    expect(edgeSentences(edge({ regular }))[0]).toContain('moves by 0.023');
    expect(edgeSentences(edge({ regular: { ...regular, off: true } }))[0]).toContain('as a person decided');
  });

  it('writes chances as they are known', () => {
    expect([chanceText(0.2389), chanceText(0.00412), chanceText(0.00004), chanceText(1e-12)]).toEqual(['p = 0.24', 'p = 0.0041', 'p = 0.00004', 'p < 0.000001']);
  });
});

describe('what a height rests on', () => {
  const evidence = { ring: { points: 612, widthM: 0.74, aboveM: -0.0018, u95M: 0.0053 }, top: { points: 10, roughness: 1, alongRoof: false }, samplesAcross: 6.5, smoothedM: 0.0129, shareUp: 0.78, roughAreaM2: 0.46, timesLimit: 36 };
  const thing = { id: 'o1', evidence } as unknown as Obstruction;

  it('is told: ring, top, smoothing, limit', () => {
    const said = thingSentences(thing, true).join(' ');
    for (const words of ['612 points', 'below the fitted plane', 'mean of 10 points', '36.0 times the limit']) expect(said).toContain(words);
  });

  it('a ring of few points is said to be none', () => {
    expect(thingSentences({ ...thing, evidence: { ...evidence, ring: { ...evidence.ring, points: 3 } } }, true)[0]).toContain('Too few points');
  });
});
