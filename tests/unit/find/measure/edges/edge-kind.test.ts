import { describe, expect, it } from 'vitest';
import { freeKind, sharedKind } from '../../../../../src/find/measure/edges/edge-kind.ts';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';

const fit = (slopeX: number, slopeY: number): FaceFit => ({
  centroid: [0, 0], elevation: 0, slopeX, slopeY, covariance: [1e-6, 0, 0, 0, 1e-8, 0, 0, 0, 1e-8], noise: 0.01, pointCount: 1000, density: 400, notes: [],
  correlation: { distances: new Float64Array(0), covariance: new Float64Array(0), alone: 1e-4, length: 0, inflation: 1 },
});
// Falling away from the x axis on both sides, rising on both, and one of each.
const [northFalls, southFalls, northRises, southRises] = [fit(0, -0.5), fit(0, 0.5), fit(0, 0.5), fit(0, -0.5)];

describe('where two planes meet', () => {
  it('level lines', () => {
    // East along the x axis: north is on the left.
    expect(sharedKind(northFalls, southFalls, [1, 0])).toEqual({ kind: 'ridge' });
    expect(sharedKind(northRises, southRises, [1, 0])).toEqual({ kind: 'valley' });
    expect(sharedKind(fit(0, 0.2), fit(0, 1.5), [1, 0]).kind).toBe('unknown');
  });

  it('sloping lines: hip bends down, valley up', () => {
    const [a, b] = [Math.SQRT1_2, Math.SQRT1_2];
    expect(sharedKind(fit(0.5, 0), fit(0, 0.5), [a, b])).toEqual({ kind: 'hip' });
    expect(sharedKind(fit(0, 0.5), fit(0.5, 0), [a, b])).toEqual({ kind: 'valley' });
  });

  it('a bend within the scatter of the slopes is none', () => {
    // One sigma of each slope is 1e-4, so 2 sigmas of the bend are 2.8e-4.
    expect(sharedKind(fit(0.5, 1e-4), fit(0.5, 3e-4), [1, 0])).toMatchObject({ kind: 'unknown', note: expect.stringContaining('one as far as their points tell') });
    expect(sharedKind(fit(0.5, -1e-3), fit(0.5, 1e-3), [1, 0]).kind).toBe('hip');
  });

  it('notes planes that meet at less than three degrees', () => {
    expect(sharedKind(fit(0, 0.015), fit(0, -0.015), [1, 0])).toMatchObject({ kind: 'valley', note: expect.stringContaining('poorly determined') });
  });
});

describe('free edges of a plane that rises to the north', () => {
  const plane = fit(0, 0.5);
  it('eave below, rake beside, high edge above', () => {
    expect(freeKind(plane, [1, 0], 'nothing')).toEqual({ kind: 'eave' });
    expect(freeKind(plane, [0, 1], 'nothing')).toEqual({ kind: 'rake' });
    expect(freeKind(plane, [-1, 0], 'nothing')).toEqual({ kind: 'unknown', note: 'high edge of a single slope' });
  });
  it('what stands beyond decides first', () => {
    expect(freeKind(plane, [1, 0], 'strip')).toEqual({ kind: 'parapet' });
    expect(freeKind(plane, [0, 1], 'wall')).toEqual({ kind: 'abutment' });
  });
  it('a level roof has only eaves', () => {
    expect(freeKind(fit(0, 0.0005), [0, 1], 'nothing')).toEqual({ kind: 'eave' });
  });
});
