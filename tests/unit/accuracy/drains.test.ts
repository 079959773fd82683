import { describe, expect, it } from 'vitest';
import { drainCase, runDrainCase } from '../../accuracy/drains.ts';

describe('a simulated deck with a drain', () => {
  it('under a puddle that leaves no points: the hole is a cue beside the hollow, one on a board is none', { timeout: 120_000 }, async () => {
    const wet = await runDrainCase(drainCase(5, true), false, 0.35);
    expect([wet.holesSeen, wet.falseHoles]).toEqual([1, 0]);
    expect(wet.likely[0]).toBeLessThan(0.3);
  });

  it('that is dry has no hole, and is found by its boards', { timeout: 120_000 }, async () => {
    const dry = await runDrainCase(drainCase(5, true));
    expect([dry.holesSeen, dry.falseHoles, dry.falseCount]).toEqual([0, 0, 0]);
    expect(dry.likely[0]).toBeLessThan(0.3);
  });

  // Fall times basin radius of 10 to 12 waves' sigmas: creases count, or three in four of these lie beyond 0.3 m.
  it('is placed where waves are as high as the methods allow', { timeout: 120_000 }, async () => {
    const { ratio, listed } = await runDrainCase(drainCase(11, true));
    expect(ratio).toBeLessThan(12);
    for (const away of listed) expect(away).toBeLessThan(0.3);
  });
});
