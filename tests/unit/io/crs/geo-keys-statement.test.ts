import { describe, expect, it } from 'vitest';
import { resolveGeoKeys } from '../../../../src/io/crs/geo-keys.ts';
import { geoKeysStatement } from '../../../../src/io/crs/geo-keys-statement.ts';

const noDoubles = new Float64Array();
// Numbers of keys and codes: OGC 19-008 (GeoTIFF 1.1), annex B; unit 9003 is the US survey foot of 12/39.37 m.
const resolve = (entries: number[][], doubles = noDoubles, ascii = '') =>
  resolveGeoKeys(Uint16Array.from([1, 1, 0, entries.length, ...entries.flat()]), doubles, ascii);

describe('geoKeysStatement', () => {
  it('reads a projected system with its citation, unit and vertical system', () => {
    const ascii = 'State Plane|NAVD88|';
    const { keys, problems } = resolve([
      [1024, 0, 1, 1], [1026, 34737, 12, 0], [3072, 0, 1, 2994], [3076, 0, 1, 9003],
      [4096, 0, 1, 5703], [4097, 34737, 7, 12], [4099, 0, 1, 9001],
    ], noDoubles, ascii);
    expect(problems).toEqual([]);
    expect(geoKeysStatement(keys)).toEqual({
      origin: 'GeoTIFF keys', kind: 'projected', name: 'State Plane', epsg: 2994, verticalEpsg: 5703,
      unitToMetre: 12 / 39.37, verticalUnitToMetre: 1, wkt: null,
    });
  });

  it('reads degrees', () => {
    const { keys } = resolve([[1024, 0, 1, 2], [2048, 0, 1, 4326], [2054, 0, 1, 9102]]);
    expect(geoKeysStatement(keys)).toMatchObject({ kind: 'geographic', epsg: 4326, unitToMetre: null });
  });

  it('takes a user-defined unit from its size in metres', () => {
    const { keys } = resolve([[1024, 0, 1, 1], [3072, 0, 1, 32767], [3076, 0, 1, 32767], [3077, 34736, 1, 1]], Float64Array.from([9, 0.25]));
    expect(geoKeysStatement(keys)).toMatchObject({ kind: 'projected', epsg: null, unitToMetre: 0.25 });
  });

  it('takes no code above those of the register', () => {
    expect(geoKeysStatement(resolve([[1024, 0, 1, 1], [3072, 0, 1, 65_535], [4096, 0, 1, 32_768]]).keys)).toMatchObject({ epsg: null, verticalEpsg: null });
  });

  it('infers the model from the codes where the model type is missing', () => {
    expect(geoKeysStatement(resolve([[3072, 0, 1, 32633]]).keys)).toMatchObject({ kind: 'projected', epsg: 32633 });
    expect(geoKeysStatement(resolve([[2048, 0, 1, 4326]]).keys)).toMatchObject({ kind: 'geographic', epsg: 4326 });
  });

  it('says nothing when the keys say nothing', () => {
    expect(geoKeysStatement(resolve([[1025, 0, 1, 1]]).keys)).toBeNull();
  });

  it('names keys that point outside their record, and a directory that promises more than it holds', () => {
    const outside = resolve([[1026, 34737, 40, 0], [3077, 34736, 1, 3], [3072, 0, 1, 2154]], noDoubles, 'short|');
    expect(outside.problems).toHaveLength(2);
    expect(geoKeysStatement(outside.keys)).toMatchObject({ epsg: 2154 });
    const short = resolveGeoKeys(Uint16Array.from([1, 1, 0, 5, 3072, 0, 1, 2154]), noDoubles, '');
    expect(short.problems).toEqual(['GeoTIFF key directory promises 5 keys and holds 1.']);
    expect(short.keys.get(3072)).toBe(2154);
    expect(resolveGeoKeys(Uint16Array.from([7, 0]), noDoubles, '').problems).toHaveLength(1);
  });
});
