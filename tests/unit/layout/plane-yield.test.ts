import { describe, expect, it } from 'vitest';
import type { Vector3 } from '../../../src/geometry/vector.ts';
import { USUAL_FIT_OPTIONS, type FitOptions } from '../../../src/layout/fit-options.ts';
import { fitRecord } from '../../../src/layout/fit-record.ts';
import { dimPlaneFinder } from '../../../src/layout/plane-yield.ts';
import type { RoofRecord } from '../../../src/roof/record.ts';
import { sunYear } from '../../../src/sun/sun-year.ts';
import { boxOn, leanTo } from '../../fixtures/record-roofs.ts';

const RADIAN = Math.PI / 180;
const NORTH = 0;
const SOUTH = 180;
/** Irradiation of the level, a middling climate. [kWh/m²] */
const MONTHLY = [20, 35, 75, 115, 155, 165, 160, 135, 90, 50, 25, 15];

const facing = (pitchDeg: number, bearingDeg: number): Vector3 =>
  [Math.sin(pitchDeg * RADIAN) * Math.sin(bearingDeg * RADIAN), Math.sin(pitchDeg * RADIAN) * Math.cos(bearingDeg * RADIAN), Math.cos(pitchDeg * RADIAN)];

function finder(latitudeDeg: number, asked: Partial<FitOptions> = {}, gridToTrueDeg = 0) {
  const options: FitOptions = { ...USUAL_FIT_OPTIONS, ...asked, latitudeDeg, longitudeDeg: 8 };
  return dimPlaneFinder(options, sunYear({ ...options, latitudeDeg, longitudeDeg: 8, gridToTrueDeg }));
}
/** The share a plane is said to bring, by asking for more than any brings. */
const shareOf = (normal: Vector3, latitudeDeg: number, asked: Partial<FitOptions> = {}): number =>
  Number(/bring (\d\.\d+)/.exec(finder(latitudeDeg, { ...asked, leastPlaneYield: 9 })(normal)!)![1]);

describe('light of a plane against the level', () => {
  it('42° to the north at 54° N is too little by default, to the south more than enough; in the south the other way round', () => {
    expect(finder(54)(facing(42, NORTH))).toMatch(/bring 0\.37\d of the level's light in a year, less than the least yield of a plane, 0\.6$/);
    expect(finder(54)(facing(42, SOUTH))).toBeNull();
    expect(finder(-54)(facing(42, SOUTH))).not.toBeNull();
    expect(finder(-54)(facing(42, NORTH))).toBeNull();
    // The grid turned half round.
    expect(finder(54, {}, 180)(facing(42, SOUTH))).not.toBeNull();
  });

  it('the level brings all of it, a hair to the north less', () => {
    expect(finder(54, { leastPlaneYield: 1 })([0, 0, 1])).toBeNull();
    expect(finder(54, { leastPlaneYield: 1 })(facing(0.5, NORTH))).not.toBeNull();
  });

  it('under a clear sky at 54° N the limit lies between 24° and 26° to the north', () => {
    expect(shareOf(facing(24, NORTH), 54)).toBeGreaterThanOrEqual(0.6);
    expect(finder(54)(facing(24, NORTH))).toBeNull();
    expect(shareOf(facing(26, NORTH), 54)).toBeLessThan(0.6);
    expect(finder(54)(facing(26, NORTH))).not.toBeNull();
  });

  it('none is asked for, or the place is not known: no plane is judged', () => {
    expect(finder(54, { leastPlaneYield: 0 })(facing(60, NORTH))).toBeNull();
    expect(dimPlaneFinder(USUAL_FIT_OPTIONS, null)(facing(60, NORTH))).toBeNull();
  });

  // Duffie & Beckman, Solar Engineering of Thermal Processes (formulas from memory): monthly means by average days, Erbs (2.12.1), Hay & Davies (2.16) with daily sums; worked out here anew.
  it.each([[42, NORTH], [30, NORTH], [42, SOUTH], [42, 90]])('with monthly values, %d° to %d: as by daily sums of the average days, within 0.03', (pitch, bearing) => {
    expect(Math.abs(shareOf(facing(pitch, bearing), 54, { monthlyKwhM2: MONTHLY }) - byAverageDays(54, pitch, bearing, MONTHLY))).toBeLessThan(0.03);
  });
});

/** Numbers of the average days of the months (Klein 1977). */
const AVERAGE_DAY = [17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344];
const LENGTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

function byAverageDays(latitudeDeg: number, pitchDeg: number, bearingDeg: number, monthly: readonly number[]): number {
  const latitude = latitudeDeg * RADIAN;
  const [east, north, up] = facing(pitchDeg, bearingDeg);
  let tilted = 0;
  monthly.forEach((global, m) => {
    const declination = 23.45 * RADIAN * Math.sin((2 * Math.PI * (284 + AVERAGE_DAY[m]!)) / 365);
    let level = 0;
    let slope = 0;
    for (let minute = 1; minute < 1440; minute += 2) {
      const hour = ((minute - 720) / 4) * RADIAN;
      const height = Math.sin(latitude) * Math.sin(declination) + Math.cos(latitude) * Math.cos(declination) * Math.cos(hour);
      if (height <= 0) continue;
      const toNorth = Math.cos(latitude) * Math.sin(declination) - Math.sin(latitude) * Math.cos(declination) * Math.cos(hour);
      const toEast = -Math.cos(declination) * Math.sin(hour);
      // The lower the sun the more air dims its beam: clear-sky transmittance 0.7 to the power of the air mass (Meinel; from memory).
      const beam = 0.7 ** (1 / Math.max(height, 0.05)) ** 0.678;
      level += beam * height;
      slope += beam * Math.max(0, east * toEast + north * toNorth + up * height);
    }
    const sunset = Math.acos(-Math.tan(latitude) * Math.tan(declination));
    const above = ((24 * 1.367) / Math.PI) * (1 + 0.033 * Math.cos((2 * Math.PI * AVERAGE_DAY[m]!) / 365))
      * (Math.cos(latitude) * Math.cos(declination) * Math.sin(sunset) + sunset * Math.sin(latitude) * Math.sin(declination)) * LENGTH[m]!;
    const k = Math.min(0.8, Math.max(0.3, global / above));
    const share = sunset <= 81.4 * RADIAN ? 1.391 - 3.56 * k + 4.189 * k ** 2 - 2.137 * k ** 3 : 1.311 - 3.022 * k + 3.427 * k ** 2 - 1.821 * k ** 3;
    const diffuse = global * share;
    const about = (global - diffuse) / above;
    tilted += (global - diffuse + diffuse * about) * (slope / level) + diffuse * (1 - about) * ((1 + up) / 2) + global * USUAL_FIT_OPTIONS.albedo * ((1 - up) / 2);
  });
  return tilted / monthly.reduce((sum, value) => sum + value, 0);
}

describe('a fit leaves dim planes empty', () => {
  /** Faces grid south, 10 m along and 6 m up, with a box on it. */
  const record = leanTo(42, [boxOn('b1.o1', 'b1.p1', 4, 2, 1, 1, 1)]);
  const at = (latitudeDeg: number | null, asked: Partial<FitOptions> = {}): RoofRecord =>
    fitRecord(record, { ...USUAL_FIT_OPTIONS, latitudeDeg, longitudeDeg: latitudeDeg === null ? null : 8, draws: 10, costs: true, needKwh: 5000, ...asked });

  it('with its ground, bound, sensitivity and costs, and says why', () => {
    const { usable, layout, keepClear } = at(-54);
    const plane = usable!.planes[0]!;
    expect(plane.usableSlopeAreaM2).toMatchObject({ value: 0, u95: 0 });
    expect(plane.lostM2).toEqual({ edge: 0, obstruction: 0, access: 0, shade: 0, other: plane.otherM2!.facingAway });
    expect(plane.otherM2!.facingAway).toBeCloseTo(60, 3);
    expect(layout).toMatchObject({ count: 0, upperBound: 0, sensitivity: { range: [0, 0], sameShare: 1 }, yearlyEnergyKwh: { value: 0 }, need: { metShare: { value: 0 } } });
    expect(layout!.costs).toEqual([{ obstruction: 'b1.o1', modules: 0, yearlyEnergyKwh: { value: 0, u95: 0, parts: [] } }]);
    expect(keepClear!.zones.map(({ reason, because }) => `${reason}: ${because}`)).toEqual([expect.stringContaining('less than the least yield of a plane, 0.6')]);
    expect(layout!.assumptions!.at(-1)).toContain("less than 0.6 of the level's light in a year (common practice, no source) are left empty");
  });

  it('towards the sun, or asked for none, it is used as before', () => {
    expect(at(54).layout!.count).toBeGreaterThan(3);
    const all = at(-54, { leastPlaneYield: 0 });
    expect(all.layout!.count).toBeGreaterThan(3);
    expect(all.usable!.planes[0]!.otherM2!.facingAway).toBe(0);
    expect(all.layout!.assumptions!.at(-1)).toBe('Planes are used whatever light their slope and bearing bring.');
  });

  it('a place that is not known: the plane is used, and the record says that nothing was looked at', () => {
    const { layout } = at(null);
    expect(layout!.count).toBeGreaterThan(3);
    expect(layout!.assumptions!.at(-1)).toBe('The least yield of a plane, 0.6, was not looked at: latitude and longitude are not known.');
  });

  it('shade left out, it is judged all the same', () => expect(at(-54, { shade: false }).layout!.count).toBe(0));
});
