import { describe, expect, it } from 'vitest';
import { makeLocalFrame } from '../../../src/site/make-local-frame.ts';

const bounds = { min: [770503, 6277497, 20.3] as const, max: [770661, 6277611, 43] as const };

describe('the local frame', () => {
  it('has its origin on whole tens of metres, in the middle and at the foot', async () => {
    expect(await makeLocalFrame(bounds, null)).toEqual({ origin: [770580, 6277550, 20], gridToTrue: 0, scaleFactor: 1 });
  });

  it('never shows a minus zero', async () => {
    const { origin } = await makeLocalFrame({ min: [-3, -2, 0], max: [1, 1, 5] }, null);
    expect(origin.map((value) => Object.is(value, -0))).toEqual([false, false, false]);
  });

  it('knows north and scale from the projection: Lambert-93 by its formula', async () => {
    const { gridToTrue, scaleFactor } = await makeLocalFrame(bounds, 'EPSG:2154');
    // On a conic, convergence is the angle at its apex: atan((E - 700000) / (apex northing - N)). The apex of Lambert-93 lies
    // at N 12655612.0499 (constant of the note NTG 71 of its agency, from memory).
    expect(gridToTrue).toBeCloseTo(Math.atan2(770580 - 700000, 12655612.0499 - 6277550), 8);
    // South of the parallel of 44° the grid is longer than the ellipsoid; 20 m of height take 3 parts in a million off.
    expect(scaleFactor).toBeGreaterThan(1.0003);
    expect(scaleFactor).toBeLessThan(1.0004);
  });

  it('turns north over with the hemisphere and the side of the central meridian', async () => {
    const north = async (crs: string, x: number, y: number) => (await makeLocalFrame({ min: [x, y, 0], max: [x, y, 0] }, crs)).gridToTrue;
    expect(await north('EPSG:32631', 600000, 5_000_000)).toBeGreaterThan(0);
    expect(await north('EPSG:32631', 400000, 5_000_000)).toBeLessThan(0);
    expect(await north('EPSG:32731', 600000, 5_000_000)).toBeLessThan(0);
    expect(Math.abs(await north('EPSG:32631', 500000, 5_000_000))).toBeLessThan(1e-12);
  });

  it('takes grid north for true north where the coordinates lie outside the projection', async () => {
    expect(await makeLocalFrame({ min: [674521, 1206740, 627], max: [674605, 1206814, 656] }, 'EPSG:2056')).toMatchObject({ gridToTrue: 0, scaleFactor: 1 });
  });
});
