import { describe, expect, it } from 'vitest';
import { lightOnCells, type CellLightWork } from '../../../src/sun/cell-light.ts';
import { accessOf, LIT, shadeAt, SHADED, darkHoursOf, TURNED_AWAY, type CellRun } from '../../../src/sun/picture-values.ts';
import { shadeHours, sunMoments, winterSolstice } from '../../../src/sun/shade-hours.ts';
import { solarAccess } from '../../../src/sun/solar-access.ts';
import { sunYear } from '../../../src/sun/sun-year.ts';

const year = { latitudeDeg: 48, longitudeDeg: 8, gridToTrueDeg: 0, linkeTurbidity: Array.from({ length: 12 }, () => 3), monthlyKwhM2: null, elevationM: 0 };
/** A box 3 m high, 4 m to the south of the first cell and 40 m to the south of the second; the third cell faces north. */
const work: CellLightWork = {
  solids: [{ id: 'box', top: 3, footprint: [[-2, -6], [2, -6], [2, -4], [-2, -4]] }], surface: null, year, albedo: 0.2,
  cells: { positions: Float64Array.of(0, 0, 0, 0, 36, 0, 0, 0, 0), orientation: Uint16Array.of(0, 0, 1), orientations: [[0, 0, 1], [0, Math.sin(1.2), Math.cos(1.2)]] },
};
const light = lightOnCells(work);
const level: CellRun = { first: 0, count: 2, normal: [0, 0, 1], orientation: 0 };
const north: CellRun = { first: 2, count: 1, normal: [0, Math.sin(1.2), Math.cos(1.2)], orientation: 1 };
const place = { latitudeDeg: 48, longitudeDeg: 8, gridToTrueDeg: 0 };

describe('light on cells, kept for pictures', () => {
  it('is the light of the year, to single precision', () => {
    const whole = solarAccess({ solids: work.solids, surface: null }, work.cells, sunYear(year), { albedo: 0.2 });
    const access = accessOf(light, level, Array.from({ length: 12 }, (_, month) => month));
    expect(access[0]).toBeCloseTo(whole.yearly[0]!, 5);
    expect(access[1]).toBeCloseTo(whole.yearly[1]!, 5);
    expect(access[0]!).toBeLessThan(access[1]!);
  });

  it('a box to the south costs more of December than of June', () => {
    expect(accessOf(light, level, [11])[0]!).toBeLessThan(accessOf(light, level, [5])[0]! - 0.1);
  });

  it('hours of shade from the kept horizon are those of the full one, to a step at either end', () => {
    const moments = sunMoments(winterSolstice(48, 2026), { ...place, stepMinutes: 10 });
    const kept = darkHoursOf(light, level, moments, 10);
    const full = shadeHours({ solids: work.solids, surface: null }, { ...work.cells, positions: work.cells.positions.subarray(0, 6), orientation: Uint16Array.of(0, 0) }, moments, 10);
    expect(full.shaded[0]!).toBeGreaterThan(2);
    for (const cell of [0, 1]) expect(Math.abs(kept[cell]! - full.shaded[cell]!)).toBeLessThanOrEqual(2 * (10 / 60) + 1e-6);
    // What faces north at 69 degrees has no sun at all in December.
    expect(darkHoursOf(light, north, moments, 10)[0]).toBeCloseTo((moments.length * 10) / 60, 5);
  });

  it('at noon of the solstice the near cell is dark, the far one lit, the steep north one turned away', () => {
    const moments = sunMoments(winterSolstice(48, 2026), { ...place, fromHour: 11.9, toHour: 12.1, stepMinutes: 10 });
    expect([...shadeAt(light, level, moments[0]!)]).toEqual([SHADED, LIT]);
    expect([...shadeAt(light, north, moments[0]!)]).toEqual([TURNED_AWAY]);
  });
});
