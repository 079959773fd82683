import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { nodeEnvironment } from '../../src/cli/node-environment.ts';
import { readTapeList } from '../../src/io/tape-list.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';
import type { AppliedCorrection, RoofRecord } from '../../src/roof/record.ts';
import { applyCorrection } from '../../src/survey/correct/apply-correction.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { snapTargets } from '../../src/survey/measure/snap-targets.ts';
import { checkTape } from '../../src/survey/tape/check-tape.ts';
import { validateRecord } from '../../src/survey/validate-record.ts';
import { openDataFolder, openDataMissing, openDataNames } from '../fixtures/open-data.ts';

const SET = 'ign-770500';

// Pitches by trimmed least squares of hand-chosen windows (README of the open data, set ign-770500), as an inclinometer
// would read them in the middle of each window; azimuth and height of the window's plane decide nothing here.
const PITCHES = [['gE-SE', 770636.8, 6277555, 20.67], ['gE-NW', 770633, 6277558, 20.22], ['row2-SW', 770572.8, 6277560.9, 19.31], ['row2-NE', 770575.9, 6277565, 19.58]] as const;

describe.skipIf(openDataFolder === null)(`readings on a scan of terraced houses${openDataMissing}`, () => {
  let record: RoofRecord;
  beforeAll(async () => {
    const files = openDataNames(SET, /^test_data_770\d\d_6277\d\d_LA93_IGN69\.laz$/).map((name) => ({ name, where: join(openDataFolder!, SET, name) }));
    ({ record } = await surveyFiles(files, {}, directRunner(nodeEnvironment())));
  }, 240_000);

  const elevationAt = (x: number, y: number): number => {
    const [x0, y0, z0] = record.frame.origin;
    const planes = snapTargets(record).planes.filter(({ outline }) => inside(outline, x - x0, y - y0));
    const [{ normal: [a, b, c], offset }] = planes as [(typeof planes)[number]];
    return z0 - (a * (x - x0) + b * (y - y0) + offset) / c;
  };

  it('published pitches, read as a list, agree within half a degree', () => {
    const rows = PITCHES.map(([name, x, y, pitch]) => `${name},pitch,${x},${y},${elevationAt(x, y).toFixed(3)},,,,${pitch},deg,,,,,inclinometer`);
    const { readings, faults } = readTapeList(['id,kind,x1,y1,z1,x2,y2,z2,value,unit,sigma_m,by,at,note,device', ...rows].join('\n'), 'pitches.csv');
    expect(faults).toEqual([]);
    const { readings: checked, verdict } = checkTape(record, readings);
    expect(checked.map(({ id, verdict: each }) => [id, each])).toEqual(PITCHES.map(([name]) => [name, 'agrees']));
    expect(verdict).toBe('agrees');
  });

  it('a shift, tilt and scale put into checkpoints of six million metres come out again', () => {
    const corners = snapTargets(record).corners.filter(({ planeCount }) => planeCount >= 2).filter((_, i) => i % 9 === 0);
    expect(corners.length).toBeGreaterThan(5);
    const [east, north, up, k, rise] = [0.12, -0.08, 0.05, 0.001, 0.0008];
    const middle = corners.reduce<Vector3>((sum, { at }) => [sum[0] + at[0] / corners.length, sum[1] + at[1] / corners.length, sum[2] + at[2] / corners.length], [0, 0, 0]);
    // Where a survey puts each corner if ours lies so: taken back step by step, not by the fit's own code.
    const surveyed = ({ at }: (typeof corners)[number]): Vector3 => {
      const moved = at.map((v, axis) => v - middle[axis]! - [east, north, up][axis]!) as [number, number, number];
      const level: Vector3 = [moved[0], moved[1] * Math.cos(rise) + moved[2] * Math.sin(rise), moved[2] * Math.cos(rise) - moved[1] * Math.sin(rise)];
      return level.map((v, axis) => middle[axis]! + v / (1 + k) + record.frame.origin[axis]!) as unknown as Vector3;
    };
    const readings = corners.map((corner, i) => ({
      id: `C${i}`, kind: 'checkpoint' as const, ends: [surveyed(corner), corner.at.map((v, axis) => v + record.frame.origin[axis]!) as unknown as Vector3], value: null, sigma: 0.01, by: '', at: '', note: '',
    }));
    const { site } = checkTape(record, readings);
    expect(site!.scale.value).toBeCloseTo(k, 7);
    expect(site!.tiltNorthDeg.value).toBeCloseTo((rise * 180) / Math.PI, 5);
    expect(site!.tiltEastDeg.value).toBeCloseTo(0, 5);
    for (const { afterM } of site!.vectors) for (const left of afterM) expect(Math.abs(left ?? 0)).toBeLessThan(1e-4);
  });

  it('corrections of scale, heights and edges leave a valid record whose areas are those of its outlines', () => {
    const total = ({ buildings }: RoofRecord): number => buildings.flatMap(({ roofPlanes }) => roofPlanes).reduce((sum, { slopeAreaM2 }) => sum + (slopeAreaM2.value ?? 0), 0);
    const correct = (kind: AppliedCorrection['kind'], amount: number): RoofRecord =>
      validateRecord(applyCorrection(record, { kind, amount, u95: 0.001, about: [0, 0, 0], readings: [], by: 'A.K.', at: '2026-05-02', why: 'test' }), kind);
    expect(total(correct('scale', 0.005)) / total(record)).toBeCloseTo(1 / 1.005 ** 2, 9);
    const lower = total(correct('vertical-scale', 0.02)) / total(record);
    expect(lower).toBeGreaterThan(1 / 1.02);
    expect(lower).toBeLessThan(1);
    const [inwards, outwards] = [total(correct('edge', 0.06)), total(correct('edge', -0.06))];
    expect(inwards).toBeLessThan(total(record));
    expect((inwards + outwards) / 2 / total(record)).toBeCloseTo(1, 3);
  });
});

function inside(outline: readonly Vector3[], x: number, y: number): boolean {
  let within = false;
  for (let i = 0, j = outline.length - 1; i < outline.length; j = i++) {
    const [[xi, yi], [xj, yj]] = [outline[i]!, outline[j]!];
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) within = !within;
  }
  return within;
}
