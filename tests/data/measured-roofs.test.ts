import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { nodeEnvironment } from '../../src/cli/node-environment.ts';
import { planeElevationAt } from '../../src/geometry/plane.ts';
import { ringContains } from '../../src/geometry/polygon.ts';
import type { Vector2 } from '../../src/geometry/vector.ts';
import type { EdgeKind, RoofPlane, RoofRecord } from '../../src/roof/record.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { openDataFolder, openDataMissing, openDataNames } from '../fixtures/open-data.ts';

// Heights read by hand-chosen windows of the same points (README of the open data, set ign-770500; airborne scan of the
// Institut national de l'information géographique et forestière, 27 points/m²): eaves, ridges, chimneys, boxes.
const SET = 'ign-770500';
const FACES = [
  { name: 'gE-SE', at: [770636.8, 6277555], eave: 26.51, ridge: 28.35 },
  { name: 'gE-NW', at: [770633, 6277558], eave: 26.55, ridge: 28.35 },
  { name: 'row2-SW', at: [770572.8, 6277560.9], eave: 27.04, ridge: 28.78 },
  { name: 'row2-NE', at: [770575.9, 6277565], eave: 27.05, ridge: 28.78 },
] as const;
const CHIMNEYS = [[770578.0, 6277562.4], [770580.6, 6277562.2], [770572.5, 6277569.6]] as const;
const BOXES = [[770571.7, 6277510.4], [770565.2, 6277514.9]] as const;

describe.skipIf(openDataFolder === null)(`terraced houses from the air${openDataMissing}`, () => {
  let record: RoofRecord;
  let origin: RoofRecord['frame']['origin'];
  beforeAll(async () => {
    const files = openDataNames(SET, /^test_data_770\d\d_6277\d\d_LA93_IGN69\.laz$/).map((name) => ({ name, where: join(openDataFolder!, SET, name) }));
    expect(files).toHaveLength(6);
    ({ record } = await surveyFiles(files, {}, directRunner(nodeEnvironment())));
    origin = record.frame.origin;
  }, 120_000);

  const local = ([x, y]: readonly [number, number]): Vector2 => [x - origin[0], y - origin[1]];
  const planeAt = (at: Vector2): { plane: RoofPlane; building: RoofRecord['buildings'][number] } => {
    for (const building of record.buildings) {
      const plane = building.roofPlanes.find(({ outline, holes }) => ringContains(outline, at) && !holes.some((hole) => ringContains(hole, at)));
      if (plane) return { plane, building };
    }
    throw new Error(`No roof plane at ${at}.`);
  };
  /** Mean elevation of the longest edge of a kind. */
  const elevationOf = (at: readonly [number, number], kind: EdgeKind): number => {
    const { plane, building } = planeAt(local(at));
    const edges = building.edges.filter((edge) => edge.kind === kind && edge.planes.includes(plane.id));
    expect(edges.length).toBeGreaterThan(0);
    const longest = edges.reduce((a, b) => (b.slopeLengthM.value! > a.slopeLengthM.value! ? b : a));
    return (longest.from[2] + longest.to[2]) / 2 + origin[2];
  };

  for (const { name, at, eave, ridge } of FACES) {
    it(`${name}: eave within 0.15 m, ridge within 0.10 m`, () => {
      expect(Math.abs(elevationOf(at, 'eave') - eave)).toBeLessThan(0.15);
      expect(Math.abs(elevationOf(at, 'ridge') - ridge)).toBeLessThan(0.1);
    });
  }

  const nearest = (at: readonly [number, number]): { away: number; top: number } => {
    const [x, y] = local(at);
    let best = { away: Infinity, top: Number.NaN };
    for (const { obstructions, roofPlanes } of record.buildings) {
      for (const { footprint, onPlane, heightAboveRoofM } of obstructions) {
        const middle: Vector2 = [footprint.reduce((sum, p) => sum + p[0], 0) / footprint.length, footprint.reduce((sum, p) => sum + p[1], 0) / footprint.length];
        const away = Math.hypot(middle[0] - x, middle[1] - y);
        const plane = roofPlanes.find(({ id }) => id === onPlane)!;
        if (away < best.away) best = { away, top: planeElevationAt(plane, middle) + heightAboveRoofM.value! + origin[2] };
      }
    }
    return best;
  };

  it.each(CHIMNEYS)('chimney at %f %f', (...at) => {
    const { away, top } = nearest(at);
    expect(away).toBeLessThan(0.3);
    // The highest points of all three in the files themselves read 29.2 to 29.24.
    expect(Math.abs(top - 29.22)).toBeLessThan(0.3);
  });

  it.each(BOXES)('box on the flat roof at %f %f', (...at) => {
    const { away, top } = nearest(at);
    expect(away).toBeLessThan(0.3);
    expect(Math.abs(top - 38.54)).toBeLessThan(0.3);
  });

  it('the flat roof is level and stands at 36.99', () => {
    const at = local([770561, 6277512]);
    const { plane } = planeAt(at);
    expect(plane.pitchDeg.value!).toBeLessThan(0.3);
    expect(Math.abs(planeElevationAt(plane, at) + origin[2] - 36.99)).toBeLessThan(0.06);
  });
});
