import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { nodeEnvironment } from '../../src/cli/node-environment.ts';
import { readTapeList } from '../../src/io/tape-list.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';
import type { AppliedCorrection, RoofRecord } from '../../src/roof/record.ts';
import { applyCorrection, offeredCorrections } from '../../src/survey/correct/apply-correction.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import type { TapeReading } from '../../src/site/tape-reading.ts';
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

  /** Where a survey puts corners if ours lies shifted, tilted and scaled so: taken back step by step, not by the fit's own code. */
  const checkpointsIf = ([east, north, up]: Vector3, k: number, rise: number): TapeReading[] => {
    const corners = snapTargets(record).corners.filter(({ planeCount }) => planeCount >= 2).filter((_, i) => i % 9 === 0);
    expect(corners.length).toBeGreaterThan(5);
    const middle = corners.reduce<Vector3>((sum, { at }) => [sum[0] + at[0] / corners.length, sum[1] + at[1] / corners.length, sum[2] + at[2] / corners.length], [0, 0, 0]);
    return corners.map(({ at }, i) => {
      const moved = at.map((v, axis) => v - middle[axis]! - [east, north, up][axis]!) as [number, number, number];
      const level: Vector3 = [moved[0], moved[1] * Math.cos(rise) + moved[2] * Math.sin(rise), moved[2] * Math.cos(rise) - moved[1] * Math.sin(rise)];
      const surveyed = level.map((v, axis) => middle[axis]! + v / (1 + k) + record.frame.origin[axis]!) as unknown as Vector3;
      return { id: `C${i}`, kind: 'checkpoint', ends: [surveyed, at.map((v, axis) => v + record.frame.origin[axis]!) as unknown as Vector3], value: null, sigma: 0.01, by: '', at: '', note: '' };
    });
  };

  it('a shift, tilt and scale put into checkpoints of six million metres come out again', () => {
    const [k, rise] = [0.001, 0.0008];
    const { site } = checkTape(record, checkpointsIf([0.12, -0.08, 0.05], k, rise));
    expect(site!.scale.value).toBeCloseTo(k, 7);
    expect(site!.tiltNorthDeg.value).toBeCloseTo((rise * 180) / Math.PI, 5);
    expect(site!.tiltEastDeg.value).toBeCloseTo(0, 5);
    for (const { afterM } of site!.vectors) for (const left of afterM) expect(Math.abs(left ?? 0)).toBeLessThan(1e-4);
  });

  it('where they stand above their ±, they are offered, and applied one after the other every corner lies where survey has it', () => {
    const rise = 0.02;
    const taken = checkpointsIf([0.6, -0.5, 0.4], 0.01, rise);
    const checked = { ...record, tape: checkTape(record, taken) };
    const offers = offeredCorrections(checked);
    expect(offers.map(({ kind }) => kind)).toEqual(['scale', 'tilt', 'shift']);
    const corrected = validateRecord(offers.reduce<RoofRecord>((so, { kind }) => {
      const { says: _says, ...what } = offeredCorrections(so).find((offer) => offer.kind === kind)!;
      return applyCorrection(so, { ...what, by: 'A.K.', at: '2026-05-02', why: 'test' });
    }, checked), 'corrected');
    for (const { beforeM } of corrected.tape!.site!.vectors) for (const left of beforeM) expect(Math.abs(left ?? 0)).toBeLessThan(0.001);
    const pitches = ({ buildings }: RoofRecord): number[] => buildings.flatMap(({ roofPlanes }) => roofPlanes.map(({ normal }) => Math.acos(normal[2])));
    const [before, after] = [pitches(record), pitches(corrected)];
    expect(Math.max(...before.map((pitch, i) => Math.abs(pitch - after[i]!)))).toBeCloseTo(rise, 3);
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
