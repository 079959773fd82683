import { Body, Equator, Horizon, Observer } from 'astronomy-engine';
import { describe, expect, it } from 'vitest';
import { airMass, erbsDiffuseShare, haurwitz, ineichen } from '../../../src/sun/clear-sky.ts';
import { aboveAirBetween, AVERAGE_DAYS, cooperDeclination, dailyAboveAir, distanceFactor } from '../../../src/sun/extraterrestrial.ts';
import { averageMaskingAngle, maskingAngle, rowGap, rowShadedShare, solsticeRowGap } from '../../../src/sun/row-shading.ts';
import { beamRatio, incidence, profileAngle, projectedZenith, sunsetHourAngle } from '../../../src/sun/solar-geometry.ts';
import { horizontal, julianDay, refraction, sunPosition } from '../../../src/sun/sun-position.ts';
import { sunTimes } from '../../../src/sun/sun-times.ts';
import { groundReflected, skyDiffuse, type SkyModel } from '../../../src/sun/transposition.ts';
import { readReference } from './read-reference.ts';

const RADIAN = Math.PI / 180;
const rows = (name: string): Record<string, string>[] => readReference(new URL(name, import.meta.url));
const of = (row: Record<string, string>, name: string): number => Number(row[name]);

/** Angle between two directions. [deg] */
function apart(zenithA: number, azimuthA: number, zenithB: number, azimuthB: number): number {
  const cosine = Math.cos(zenithA * RADIAN) * Math.cos(zenithB * RADIAN)
    + Math.sin(zenithA * RADIAN) * Math.sin(zenithB * RADIAN) * Math.cos((azimuthA - azimuthB) * RADIAN);
  return Math.acos(Math.min(1, cosine)) / RADIAN;
}

describe('sun position', () => {
  it.each(rows('solar-position.csv'))('$id at $utc', (row) => {
    const sun = sunPosition(Date.parse(row['utc']!), of(row, 'latitude_deg') * RADIAN, of(row, 'longitude_deg') * RADIAN, of(row, 'delta_t_s'));
    const zenith = 90 - (sun.altitude + refraction(sun.altitude, of(row, 'pressure_hpa'), of(row, 'temperature_c'))) / RADIAN;
    expect(apart(zenith, sun.azimuth / RADIAN, of(row, 'zenith_deg'), of(row, 'azimuth_deg'))).toBeLessThan(0.004);
  });

  it('the worked example in detail: declination, distance, equation of time, incidence on a plane', () => {
    const sun = sunPosition(Date.parse('2003-10-17T19:30:30Z'), 39.742476 * RADIAN, -105.1786 * RADIAN, 67);
    expect(sun.declination / RADIAN).toBeCloseTo(-9.31434, 2);
    expect(sun.distance).toBeCloseTo(0.9965422974, 4);
    // 0.004 degrees are 0.016 minutes of time.
    expect(Math.abs(sun.equationOfTime - 14.641511)).toBeLessThan(0.016);
    const seen = sun.altitude + refraction(sun.altitude, 820, 11);
    expect(incidence({ tilt: 30 * RADIAN, azimuth: 170 * RADIAN }, seen, sun.azimuth) / RADIAN).toBeCloseTo(25.187, 2);
  });

  // Independent program: astronomy-engine 2.1.19.
  it('agrees with an ephemeris library over twenty years and both halves of the Earth', () => {
    for (let k = 0; k < 60; k++) {
      const instant = Date.UTC(2015, 0, 1) + k * 121.37 * 86_400_000;
      const latitude = -65 + ((k * 37) % 131);
      const longitude = -180 + ((k * 71) % 360);
      const observer = new Observer(latitude, longitude, 0);
      const equator = Equator(Body.Sun, new Date(instant), observer, true, true);
      const theirs = Horizon(new Date(instant), observer, equator.ra, equator.dec);
      const ours = sunPosition(instant, latitude * RADIAN, longitude * RADIAN);
      expect(apart(90 - ours.altitude / RADIAN, ours.azimuth / RADIAN, 90 - theirs.altitude, theirs.azimuth)).toBeLessThan(0.004);
    }
  });

  it.each(rows('sun-times.csv'))('rise, transit and set: $id', (row) => {
    const midnight = Date.parse(`${row['date']}T00:00:00Z`);
    const at = [of(row, 'latitude_deg') * RADIAN, of(row, 'longitude_deg') * RADIAN] as const;
    const times = sunTimes(midnight, ...at);
    const evening = row['set_evening'] === 'same' ? times : sunTimes(midnight - 86_400_000, ...at);
    const offset = row['set_evening'] === 'same' ? 0 : 86_400;
    expect(Math.abs((times.rise! - midnight) / 1000 - of(row, 'rise_s'))).toBeLessThan(2);
    expect(Math.abs((evening.set! - midnight) / 1000 + offset - of(row, 'set_s'))).toBeLessThan(2);
    if (row['transit_s'] !== '') expect(Math.abs((times.transit - midnight) / 1000 - of(row, 'transit_s'))).toBeLessThan(2);
  });

  // Reda and Andreas 2008, table A4.1.
  it('Julian day of 2000-01-01 12:00 and 1987-06-19 12:00', () => {
    expect(julianDay(Date.UTC(2000, 0, 1, 12))).toBe(2451545);
    expect(julianDay(Date.UTC(1987, 5, 19, 12))).toBe(2446966);
  });
});

describe('angles', () => {
  it.each(rows('incidence.csv'))('incidence $id', (row) => {
    const got = incidence({ tilt: of(row, 'tilt_deg') * RADIAN, azimuth: of(row, 'surface_azimuth_deg') * RADIAN }, (90 - of(row, 'zenith_deg')) * RADIAN, of(row, 'azimuth_deg') * RADIAN);
    expect(Math.abs(got / RADIAN - of(row, 'incidence_deg'))).toBeLessThan(of(row, 'tolerance'));
  });

  it.each(rows('projected-zenith.csv'))('zenith across a tilted axis, sun at $altitude_deg, $azimuth_deg', (row) => {
    const got = projectedZenith(of(row, 'altitude_deg') * RADIAN, of(row, 'azimuth_deg') * RADIAN, 9.666 * RADIAN, 195 * RADIAN);
    expect(Math.abs(got / RADIAN - of(row, 'projected_deg'))).toBeLessThan(0.001);
  });

  // Duffie & Beckman, examples 1.6.1 to 1.6.3 and 1.8.1; bearings there from south, west positive. Tolerances: last printed digit.
  // The profile angle and Rb are from memory, recomputed.
  it('handbook: incidence, zenith and azimuth, sunset, profile angle, beam ratio', () => {
    const latitude = 43 * RADIAN;
    const south = Math.PI;
    const one = horizontal(-22.5 * RADIAN, -14 * RADIAN, latitude);
    const surface = { tilt: 45 * RADIAN, azimuth: south + 15 * RADIAN };
    expect(Math.abs(incidence(surface, one.altitude, one.azimuth) / RADIAN - 35)).toBeLessThan(0.5);
    expect(beamRatio(surface, one.altitude, one.azimuth)).toBeCloseTo(1.666, 2);
    const morning = horizontal(-37.5 * RADIAN, -14 * RADIAN, latitude);
    expect(90 - morning.altitude / RADIAN).toBeCloseTo(66.547, 2);
    expect((morning.azimuth - south) / RADIAN).toBeCloseTo(-40.081, 2);
    // Beyond west: an azimuth taken from an arc sine fails here.
    const evening = horizontal(97.5 * RADIAN, 23.1 * RADIAN, latitude);
    expect((evening.azimuth - south) / RADIAN).toBeCloseTo(112.02, 1);
    const march = horizontal(60 * RADIAN, -2.4 * RADIAN, latitude);
    expect(march.altitude / RADIAN).toBeCloseTo(19.682, 2);
    expect(sunsetHourAngle(latitude, -2.4 * RADIAN) / RADIAN).toBeCloseTo(87.76, 2);
    expect(profileAngle(march.altitude, march.azimuth, south + 25 * RADIAN) / RADIAN).toBeCloseTo(25.623, 2);
  });
});

describe('light above the air', () => {
  it.each(rows('daily-above-air.csv'))('day $day, latitude $latitude_deg', (row) => {
    expect(Math.abs(dailyAboveAir(of(row, 'day'), of(row, 'latitude_deg') * RADIAN, 1367) / 1e6 - of(row, 'mj_m2'))).toBeLessThan(0.06);
  });

  // FAO Irrigation and Drainage Paper 56 (1998), example 8: 3 September, 20 degrees south.
  it('FAO 56, example 8', () => {
    const declination = 0.409 * Math.sin((2 * Math.PI * 246) / 365 - 1.39);
    expect(distanceFactor(246)).toBeCloseTo(0.985, 3);
    expect(sunsetHourAngle(-20 * RADIAN, declination)).toBeCloseTo(1.527, 3);
    expect(Math.abs(dailyAboveAir(246, -20 * RADIAN, 1366.7, declination) / 1e6 - 32.2)).toBeLessThan(0.05);
  });

  // Duffie & Beckman, examples 1.10.1 and 1.10.2 (answers from memory, recomputed); table 1.6.1 (declinations from memory).
  it('handbook: a day, an hour, the average days', () => {
    expect(dailyAboveAir(105, 43 * RADIAN, 1367, 9.4 * RADIAN) / 1e6).toBeCloseTo(33.76, 1);
    expect(aboveAirBetween(105, 43 * RADIAN, -30 * RADIAN, -15 * RADIAN, 1367, 9.4 * RADIAN) / 1e6).toBeCloseTo(3.79, 2);
    const printed = [-20.9, -13.0, -2.4, 9.4, 18.8, 23.1, 21.2, 13.5, 2.2, -9.6, -18.9, -23.0];
    AVERAGE_DAYS.forEach((day, month) => expect(Math.abs(cooperDeclination(day) / RADIAN - printed[month]!)).toBeLessThan(0.06));
  });
});

describe('clear sky and its parts', () => {
  it.each(rows('clear-sky.csv'))('$id', (row) => {
    const altitude = of(row, 'altitude_deg') * RADIAN;
    const near = (got: number, name: string) => expect(Math.abs(got - of(row, name))).toBeLessThanOrEqual(of(row, 'tolerance'));
    if (row['model'] === 'haurwitz') near(haurwitz(altitude), 'global');
    else if (row['model'] === 'air-mass') near(airMass(altitude), 'global');
    else {
      const light = ineichen(altitude, of(row, 'air_mass'), of(row, 'linke'), of(row, 'elevation_m'), 1364);
      near(light.global, 'global');
      near(light.beam, 'beam');
      near(light.diffuse, 'diffuse');
    }
  });

  it.each(rows('transposition.csv'))('sky diffuse on a tilted plane: $id', (row) => {
    const light = { global: of(row, 'global'), beam: of(row, 'beam'), diffuse: of(row, 'diffuse') };
    for (const model of ['isotropic', 'hay-davies', 'reindl', 'klucher'] satisfies SkyModel[]) {
      const got = skyDiffuse(model, { tilt: 40 * RADIAN, azimuth: Math.PI }, light, (90 - of(row, 'zenith_deg')) * RADIAN, of(row, 'azimuth_deg') * RADIAN, of(row, 'beam_above'));
      expect(Math.abs(got - of(row, model))).toBeLessThan(1e-4);
    }
  });

  // pvlib tests/test_irradiance.py.
  it('ground reflected light', () => expect(groundReflected({ tilt: 40 * RADIAN, azimuth: 0 }, 900, 0.25)).toBeCloseTo(26.32000014911496, 9));

  // Duffie & Beckman example 2.15.1, isotropic sky, slope 60, 20 February 9 to 10 h (answers from memory, recomputed).
  it('handbook: an hour on a tilted plane', () => {
    const above = aboveAirBetween(51, 40 * RADIAN, -45 * RADIAN, -30 * RADIAN, 1367, -11.6 * RADIAN) / 1e6;
    expect(above).toBeCloseTo(2.34, 1);
    const share = erbsDiffuseShare(1.04 / above);
    expect(Math.abs(share - 0.766)).toBeLessThan(0.002);
    const sun = horizontal(-37.5 * RADIAN, -11.6 * RADIAN, 40 * RADIAN);
    const surface = { tilt: 60 * RADIAN, azimuth: Math.PI };
    const ratio = beamRatio(surface, sun.altitude, sun.azimuth);
    expect(Math.abs(ratio - 1.71)).toBeLessThan(0.01);
    const light = { global: 1.04, beam: 0, diffuse: 1.04 * share };
    const total = 1.04 * (1 - share) * ratio + skyDiffuse('isotropic', surface, light, sun.altitude, sun.azimuth, 1) + groundReflected(surface, 1.04, 0.6);
    expect(Math.abs(total - 1.17)).toBeLessThan(0.01);
  });
});

describe('rows', () => {
  it.each(rows('row-shading.csv'))('shaded share, row $row of the table', (row) => {
    const left = { x: of(row, 'x_left'), z: of(row, 'z_left'), tilt: of(row, 'tilt_left_deg') * RADIAN };
    const right = { x: of(row, 'x_right'), z: of(row, 'z_right'), tilt: of(row, 'tilt_right_deg') * RADIAN };
    const zenith = of(row, 'zenith_deg') * RADIAN;
    const [shaded, shading] = zenith > 0 ? [right, left] : [left, right];
    expect(Math.abs(rowShadedShare(shaded, shading, of(row, 'width'), of(row, 'offset'), zenith) - of(row, 'shaded'))).toBeLessThan(1e-6);
    // Light under a raised row: rows 9 to 16 of the table count it as dark.
    if (of(row, 'row') >= 9) expect(rowShadedShare(shaded, shading, of(row, 'width'), of(row, 'offset'), zenith, false)).toBeCloseTo(0.4512, 4);
  });

  it.each(rows('row-spacing.csv'))('gap between rows: $id', (row) => {
    const sun = { altitude: of(row, 'altitude_deg') * RADIAN, azimuth: Math.PI + of(row, 'off_south_deg') * RADIAN };
    expect(Math.abs(rowGap(of(row, 'height_mm'), sun, Math.PI) - of(row, 'gap_mm'))).toBeLessThan(of(row, 'tolerance'));
  });

  // Computed independently (Python, same rule): 1.134 m module at 10 degrees, 9 to 15 h solar time at the winter solstice.
  it.each([[25, 0.298], [35, 0.453], [45, 0.821], [52, 1.732], [-35, 0.453]])('solstice rule at latitude %d', (latitude, gap) => {
    const facing = latitude > 0 ? Math.PI : 0;
    expect(solsticeRowGap(1.134 * Math.sin(10 * RADIAN), facing, latitude * RADIAN)).toBeCloseTo(gap, 3);
  });

  it('says nothing where the sun does not rise', () => expect(() => solsticeRowGap(0.2, Math.PI, 70 * RADIAN)).toThrow(RangeError));

  // pvlib tests/test_shading.py; Passias and Källbäck 1984.
  it('masking angle and its average', () => {
    expect(maskingAngle(20 * RADIAN, 0.5, 0.25) / RADIAN).toBeCloseTo(11.20223712, 6);
    expect(maskingAngle(90 * RADIAN, 0.5, 0.25) / RADIAN).toBeCloseTo(20.55604522, 6);
    expect(averageMaskingAngle(20 * RADIAN, 0.5) / RADIAN).toBeCloseTo(7.20980655, 6);
  });
});
