import { describe, expect, it } from 'vitest';
import type { CrsStatement } from '../../../src/site/crs-statement.ts';
import { differenceOf, resolveCrs, sameProjection, type CrsOverrides } from '../../../src/site/resolve-crs.ts';

const said = (more: Partial<CrsStatement>): CrsStatement => ({
  origin: 'WKT record', kind: 'projected', name: null, epsg: null, verticalEpsg: null, unitToMetre: null, verticalUnitToMetre: null, wkt: null, ...more,
});
const at = (x: number, y: number, z = 20, size = 100) => ({ min: [x, y, z] as const, max: [x + size, y + size, z + 20] as const });
const resolve = (bounds: ReturnType<typeof at>, statements: readonly CrsStatement[] = [], overrides: CrsOverrides = {}) =>
  resolveCrs({ name: 'roof.las', statements, bounds }, overrides);

const FRANCE = at(770500, 6277500);
const OREGON_FEET = at(636000, 849000, 400, 3000);

describe('projection and unit of a file', () => {
  it('needs no note when everything agrees', async () => {
    const both = [said({ epsg: 2154, unitToMetre: 1 }), said({ origin: 'GeoTIFF keys', epsg: 2154, unitToMetre: 1, verticalEpsg: 5720 })];
    expect(await resolve(FRANCE, both)).toEqual({ crs: 'EPSG:2154', unitToMetre: 1, verticalUnitToMetre: 1, notes: [] });
  });

  it('takes the unit of the projection where none is stated', async () => {
    expect(await resolve(OREGON_FEET, [said({ epsg: 2994 })])).toMatchObject({ crs: 'EPSG:2994', unitToMetre: 0.3048, verticalUnitToMetre: 0.3048 });
  });

  it('takes the vertical unit from a vertical code: US survey feet over metres', async () => {
    const { unitToMetre, verticalUnitToMetre } = await resolve(at(194472, 259222), [said({ epsg: 2991, unitToMetre: 1, verticalEpsg: 6360 })]);
    expect(unitToMetre).toBe(1);
    expect(verticalUnitToMetre).toBeCloseTo(1200 / 3937, 15);
  });

  it('takes a compound code apart', async () => {
    expect(await resolve(at(84916, 447413), [said({ kind: 'unknown', epsg: 7415 })])).toMatchObject({ crs: 'EPSG:28992', unitToMetre: 1, verticalUnitToMetre: 1, notes: [] });
  });

  it('finds a code by its name alone, and says so', async () => {
    const { crs, notes } = await resolve(FRANCE, [said({ name: 'RGF93 v1 / Lambert-93', unitToMetre: 1 })]);
    expect(crs).toBe('EPSG:2154');
    expect(notes).toEqual(['The file states "RGF93 v1 / Lambert-93" without a code (WKT record); EPSG:2154 has that name.']);
  });

  it('says what it assumes when nothing is stated', async () => {
    const { crs, unitToMetre, notes } = await resolve(at(0, 0));
    expect([crs, unitToMetre]).toEqual([null, 1]);
    expect(notes.join(' ')).toMatch(/No unit is stated.*taken as metres.*projection is not known/);
  });
});

describe('a contradiction is named', () => {
  it('between a stated unit and the unit of the projection, with what the coordinates say', async () => {
    const { unitToMetre, notes } = await resolve(OREGON_FEET, [said({ epsg: 2994, unitToMetre: 1 })]);
    expect(unitToMetre).toBe(1);
    expect(notes[0]).toBe('Contradiction: metres by WKT record, international feet by the definition of EPSG:2994; metres are used. Say --unit to decide.');
    expect(notes[1]).toMatch(/lie outside the area of EPSG:2994.*inside it as international feet: say --unit ft/);
  });

  it('between two records: the one whose area holds the coordinates is used', async () => {
    const { crs, notes } = await resolve(FRANCE, [said({ epsg: 28992 }), said({ origin: 'GeoTIFF keys', epsg: 2154 })]);
    expect(crs).toBe('EPSG:2154');
    expect(notes[0]).toMatch(/^Contradiction: the file states EPSG:28992 \(WKT record\) and EPSG:2154 \(GeoTIFF keys\); EPSG:2154 is used, the only one whose area holds/);
  });

  it('between the two feet, which differ by two parts in a million', async () => {
    const { notes } = await resolve(OREGON_FEET, [said({ epsg: 2994, unitToMetre: 0.304800609601219 })]);
    expect(notes[0]).toMatch(/US survey feet by WKT record, international feet by the definition of EPSG:2994/);
  });

  it('between a code and coordinates that are exchanged', async () => {
    const { notes } = await resolve(at(6277500, 770500), [said({ epsg: 2154 })]);
    expect(notes[0]).toMatch(/would lie inside it with x and y exchanged/);
  });

  it('between degrees and coordinates that are none', async () => {
    const { crs, notes } = await resolve(FRANCE, [said({ kind: 'geographic', epsg: 4326 })]);
    expect(crs).toBeNull();
    expect(notes[0]).toBe('Contradiction: the file states EPSG:4326 (WGS 84), in degrees (WKT record), and its coordinates are no degrees.');
  });

  it('between what a person says and what the file says', async () => {
    const { crs, unitToMetre, notes } = await resolve(FRANCE, [said({ epsg: 28992, unitToMetre: 1 })], { crs: 'EPSG:2154', unit: 'm' });
    expect([crs, unitToMetre]).toEqual(['EPSG:2154', 1]);
    expect(notes).toEqual(['Contradiction: the file states EPSG:28992 (WKT record); EPSG:2154 was asked for and is used.']);
    const feet = await resolve(FRANCE, [said({ epsg: 2154, unitToMetre: 1 })], { unit: 'us-ft' });
    expect(feet.notes[0]).toMatch(/metres by WKT record; US survey feet were asked for/);
    expect(feet.verticalUnitToMetre).toBe(feet.unitToMetre);
  });
});

describe('hints that are never a choice', () => {
  it('Dutch numbers without a record', async () => {
    const { crs, notes } = await resolve(at(84916, 447413));
    expect(crs).toBeNull();
    expect(notes.at(-1)).toMatch(/would fit the grid of the Netherlands, EPSG:28992 \(with heights EPSG:7415\)/);
  });

  it('Swiss numbers whose first digit was cut off', async () => {
    expect((await resolve(at(674561, 1206759))).notes.at(-1)).toMatch(/Switzerland, EPSG:2056 but for x, whose leading 2 000 000 looks cut off/);
    expect((await resolve(at(674561, 1206759), [], { crs: 'EPSG:2056' })).notes.at(-1)).toMatch(/inside it with 2 000 000 added to x: leading digits look cut off/);
  });
});

describe('degrees', () => {
  const degrees = { min: [-94.68, 31.036, 39] as const, max: [-94.66, 31.047, 78] as const };

  it('are refused with advice when stated, in either order of axes', async () => {
    await expect(resolve(degrees as never, [said({ kind: 'geographic', epsg: 4326 })])).rejects.toThrow(/^roof\.las: coordinates are longitude and latitude in degrees \(WKT record: EPSG:4326 \(WGS 84\)\).*Reproject the file to a projected system/);
    const turned = { min: [39.01, -83.43, 170] as const, max: [39.02, -83.42, 171] as const };
    await expect(resolve(turned as never, [said({ kind: 'geographic', epsg: 4326 })])).rejects.toMatchObject({ name: 'InputError' });
  });

  it('are seen without a statement, and small clouds in metres are not taken for them', async () => {
    await expect(resolve(degrees as never)).rejects.toThrow(/look like longitude and latitude/);
    expect((await resolve(at(-12, -12, 0, 24))).unitToMetre).toBe(1);
    expect((await resolve({ min: [2, 3, 0], max: [2.04, 3.04, 0.3] } as never)).unitToMetre).toBe(1);
  });

  it('are refused when geocentric', async () => {
    await expect(resolve(at(3771793, 140253), [said({ kind: 'geocentric', epsg: 4978 })])).rejects.toThrow(/geocentric coordinates/);
  });
});

describe('--crs', () => {
  it.each([
    ['EPSG:4326', /--crs: EPSG:4326 is a geographic system, expected a projected one/],
    ['EPSG:5703', /is a vertical system/],
    ['EPSG:999999', /not in the table/],
    ['Lambert', /"Lambert" is no code/],
  ])('%s is refused', async (crs, message) => {
    await expect(resolve(FRANCE, [], { crs })).rejects.toThrow(message);
    await expect(resolve(FRANCE, [], { crs })).rejects.toMatchObject({ name: 'InputError' });
  });
});

describe('several files', () => {
  const a = { crs: 'EPSG:2154', unitToMetre: 1, verticalUnitToMetre: 1 };
  it('make one survey when projection and units agree', () => {
    expect(sameProjection(a, { ...a })).toBe(true);
    expect(differenceOf(a, { ...a, crs: 'EPSG:28992' })).toBe('projection EPSG:28992 against EPSG:2154. Bring them into one projection first.');
    expect(differenceOf(a, { ...a, crs: null })).toBe('projection not known against EPSG:2154. If both are in EPSG:2154, say --crs EPSG:2154.');
    expect(differenceOf({ ...a, unitToMetre: 0.3048 }, { ...a, unitToMetre: 1200 / 3937 })).toMatch(/one unit is 0\.3048006/);
    expect(differenceOf(a, { ...a, verticalUnitToMetre: 0.3048 })).toMatch(/one unit of height/);
  });
});
