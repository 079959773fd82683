import { describe, expect, it } from 'vitest';
import type { RoofRecord } from '../../src/roof/record.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { portableEnvironment } from '../../src/survey/portable-environment.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';

/**
 * A house drawn as a mesh, as city models give it: exact, closed below, with walls, and with ground that runs on under it.
 * 10 m by 8 m, eaves at 5 m, ridge at 8 m: each side 10 m by the root of 4² + 3², which is 5 m, so 50 m² at 36.87°.
 */
const HOUSE = `v 0 0 0\nv 10 0 0\nv 10 8 0\nv 0 8 0\nv 0 0 5\nv 10 0 5\nv 10 8 5\nv 0 8 5\nv 0 4 8\nv 10 4 8
f 1 2 6 5\nf 2 3 7 10 6\nf 3 4 8 7\nf 4 1 5 9 8\nf 5 6 10 9\nf 9 10 7 8\n`;
const FLOOR = 'f 1 4 3 2\n';
const GROUND = 'v -20 -20 0\nv 30 -20 0\nv 30 28 0\nv -20 28 0\nf 11 12 13 14\n';

async function surveyed(obj: string): Promise<RoofRecord> {
  const file = new Blob([obj]);
  return (await surveyFiles([{ name: 'house.obj', where: file }], { unit: 'm' }, directRunner(portableEnvironment))).record;
}

function expectHouse(record: RoofRecord): void {
  expect(record.buildings).toHaveLength(1);
  const [{ roofPlanes, edges, obstructions, parapets }] = record.buildings as [RoofRecord['buildings'][number]];
  expect(roofPlanes).toHaveLength(2);
  for (const { slopeAreaM2, pitchDeg } of roofPlanes) {
    expect(Math.abs(slopeAreaM2.value! - 50)).toBeLessThan(slopeAreaM2.value === null ? 0 : slopeAreaM2.u95);
    expect(Math.abs(pitchDeg.value! - 36.8699)).toBeLessThan(0.01);
  }
  expect(edges.map(({ kind }) => kind).sort()).toEqual(['eave', 'eave', 'rake', 'rake', 'rake', 'rake', 'ridge']);
  expect(obstructions).toEqual([]);
  expect(parapets).toEqual([]);
}

describe('a house drawn as a mesh', () => {
  it('on ground that runs on below it', async () => {
    const record = await surveyed(HOUSE + FLOOR + GROUND);
    expectHouse(record);
    expect(record.buildings[0]!.groundElevationM.value).toBeCloseTo(0, 2);
  });

  it('in the air, where nobody knows the ground', async () => {
    const record = await surveyed(HOUSE);
    expectHouse(record);
    expect(record.buildings[0]!.groundElevationM.value).toBeNull();
  });
});
