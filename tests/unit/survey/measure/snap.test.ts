import { describe, expect, test } from 'vitest';
import type { PickRay } from '../../../../src/survey/measure/pick-ray.ts';
import { snapAt, type SnapOptions } from '../../../../src/survey/measure/snap.ts';
import { snapTargets } from '../../../../src/survey/measure/snap-targets.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const targets = snapTargets(gableRecord());
/** Straight down at a plan position, one pixel a centimetre. */
const down = (x: number, y: number): PickRay => ({ origin: [x, y, 0], direction: [0, 0, -1], right: [1, 0, 0], up: [0, 1, 0], metresPerPixel: 0.01 });
const options: SnapOptions = { snapping: true, previous: null, point: null, spacingM: 0.05, noiseM: 0.006 };

describe('snapAt', () => {
  test('a corner wins over the edges it ends', () => {
    const snap = snapAt(down(0.05, 4.97), targets, options)!;
    expect(snap.pick.landedOn).toBe('corner');
    expect(snap.pick.at).toEqual([0, 5, 8]);
    expect(snap.name).toBe('corner of p1, p2');
  });

  test('an edge wins over the planes it parts', () => {
    const snap = snapAt(down(3, 5.04), targets, options)!;
    expect(snap.pick).toMatchObject({ landedOn: 'edge', of: 'b1.e2', at: [3, 5, 8] });
    expect(snap.name).toBe('edge R1');
  });

  test('elsewhere the plane is taken, at its own height', () => {
    const snap = snapAt(down(3, 2), targets, options)!;
    expect(snap.pick).toMatchObject({ landedOn: 'plane', of: 'b1.p1' });
    expect(snap.pick.at[2]).toBeCloseTo(5, 9);
  });

  test('off the roof only a measured point can be taken', () => {
    expect(snapAt(down(-3, -3), targets, options)).toBeNull();
    expect(snapAt(down(-3, -3), targets, { ...options, point: [-3, -3, 0] })!.pick.landedOn).toBe('point');
  });

  test('with snapping freed nothing but a bare point is taken, even on a corner', () => {
    expect(snapAt(down(0, 5), targets, { ...options, snapping: false })).toBeNull();
    expect(snapAt(down(0, 5), targets, { ...options, snapping: false, point: [0.01, 5, 7.99] })!.pick.landedOn).toBe('point');
  });

  test('points clearly above a plane are what the pointer sees', () => {
    const point = [4.5, 2.5, 6.7] as const;
    expect(snapAt(down(4.5, 2.5), targets, { ...options, point })!.pick).toMatchObject({ landedOn: 'point', at: point });
    expect(snapAt(down(4.5, 2.5), targets, { ...options, point: [4.5, 2.5, 5.505] })!.pick.landedOn).toBe('plane');
  });

  test('hysteresis: what is held is let go later than it is caught', () => {
    const caught = snapAt(down(0.1, 5), targets, options)!;
    expect(caught.pick.landedOn).toBe('corner');
    // 15 px away: beyond the 12 px of catching, within the 18 px of holding.
    expect(snapAt(down(0.15, 5), targets, options)!.pick.landedOn).toBe('edge');
    expect(snapAt(down(0.15, 5), targets, { ...options, previous: caught })!.pick.landedOn).toBe('corner');
    expect(snapAt(down(0.2, 5), targets, { ...options, previous: caught })!.pick.landedOn).toBe('edge');
  });

  test('what lies behind a plane is hidden: from the south the north eave cannot be taken', () => {
    const fromSouth: PickRay = { origin: [5, -20, 3.02], direction: [0, 1, 0], right: [1, 0, 0], up: [0, 0, 1], metresPerPixel: 0.01 };
    expect(snapAt(fromSouth, targets, options)!.pick).toMatchObject({ of: 'b1.e1' });
  });

  test('what a person refused is no target', () => {
    const without = snapTargets(gableRecord(), new Set(['b1.p1', 'b1.e1']));
    expect(without.planes.map(({ id }) => id)).toEqual(['b1.p2']);
    expect(snapAt(down(3, 2), without, options)).toBeNull();
  });

  test('across an edge the pick is as sure as the edge, along it as sure as the pointer', () => {
    const { sigmaM } = snapAt(down(3, 5.04), targets, options)!.pick;
    expect(sigmaM[0]).toBeCloseTo(0.01 / Math.sqrt(3), 6);
    expect(sigmaM[1]).toBeCloseTo(0.01, 6);
  });
});
