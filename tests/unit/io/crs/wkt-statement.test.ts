import { describe, expect, it } from 'vitest';
import { wktStatement } from '../../../../src/io/crs/wkt-statement.ts';

// First generation, written by hand after OGC 01-009; the codes are those of the EPSG Dataset.
const UNIT_FOOT = 'UNIT["foot",0.3048,AUTHORITY["EPSG","9002"]]';
const GEOGCS = 'GEOGCS["NAD83",DATUM["D",SPHEROID["GRS 1980",6378137,298.257222101]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4269"]]';
const PROJCS = `PROJCS["Oregon ""Lambert"" (ft)",${GEOGCS},${UNIT_FOOT},PROJECTION["Lambert_Conformal_Conic_2SP"],PARAMETER["false_easting",1312335.958],AUTHORITY["EPSG","2994"]]`;
const VERT_CS = 'VERT_CS["NAVD88 height (ftUS)",VERT_DATUM["NAVD88",2005,AUTHORITY["EPSG","5103"]],UNIT["US survey foot",0.304800609601219],AXIS["Up",UP],AUTHORITY["EPSG","6360"]]';

describe('wktStatement', () => {
  it('reads unit, name and code of a projected system, not those of its parts', () => {
    expect(wktStatement(`${PROJCS}\0\0`, 'WKT record')).toEqual({
      origin: 'WKT record', kind: 'projected', name: 'Oregon "Lambert" (ft)', epsg: 2994, verticalEpsg: null,
      unitToMetre: 0.3048, verticalUnitToMetre: null, wkt: PROJCS,
    });
  });

  it('takes both halves of a compound system', () => {
    expect(wktStatement(`COMPD_CS["both",${PROJCS},${VERT_CS},AUTHORITY["EPSG","7415"]]`, 'x')).toMatchObject({
      kind: 'projected', name: 'both', epsg: 2994, verticalEpsg: 6360, unitToMetre: 0.3048, verticalUnitToMetre: 0.304800609601219,
    });
  });

  it('gives degrees no length', () => {
    expect(wktStatement(GEOGCS, 'x')).toMatchObject({ kind: 'geographic', epsg: 4269, unitToMetre: null, verticalUnitToMetre: null });
  });

  it('reads the second generation, units on the axes and on the system', () => {
    // ISO 19162:2019, shapes of clause 9 and 11.
    const base = 'BASEGEOGCRS["RGF93",DATUM["D",ELLIPSOID["GRS 1980",6378137,298.257222101,LENGTHUNIT["metre",1]]]]';
    const axes = 'CS[Cartesian,2],AXIS["(E)",east,ORDER[1],LENGTHUNIT["metre",1]],AXIS["(N)",north,ORDER[2],LENGTHUNIT["metre",1]]';
    const projected = `PROJCRS["Lambert-93",${base},CONVERSION["c",METHOD["m"]],${axes},ID["EPSG",2154]]`;
    const height = 'VERTCRS["NGF",VDATUM["V"],CS[vertical,1],AXIS["up (H)",up],LENGTHUNIT["foot",0.3048],ID["EPSG",5720]]';
    expect(wktStatement(projected, 'x')).toMatchObject({ kind: 'projected', epsg: 2154, unitToMetre: 1 });
    expect(wktStatement(`COMPOUNDCRS["c",${projected},${height}]`, 'x')).toMatchObject({ epsg: 2154, verticalEpsg: 5720, verticalUnitToMetre: 0.3048 });
    expect(wktStatement(`BOUNDCRS[SOURCECRS[${projected}],TARGETCRS[${GEOGCS}]]`, 'x')).toMatchObject({ kind: 'projected', name: 'Lambert-93', epsg: 2154 });
  });

  it('tells a geodetic system of Cartesian axes from one of degrees, and reads its ellipsoidal height unit', () => {
    expect(wktStatement('GEODCRS["e",DATUM["D"],CS[Cartesian,3],LENGTHUNIT["metre",1]]', 'x')).toMatchObject({ kind: 'geocentric', unitToMetre: 1 });
    const three = 'GEOGCRS["g",DATUM["D"],CS[ellipsoidal,3],AXIS["lat",north,ANGLEUNIT["degree",0.0174]],AXIS["lon",east,ANGLEUNIT["degree",0.0174]],AXIS["h",up,LENGTHUNIT["metre",1]]]';
    expect(wktStatement(three, 'x')).toMatchObject({ kind: 'geographic', unitToMetre: null, verticalUnitToMetre: 1 });
  });

  it('knows local and vertical-only systems', () => {
    expect(wktStatement('LOCAL_CS["site",UNIT["metre",1]]', 'x')).toMatchObject({ kind: 'local', unitToMetre: 1 });
    expect(wktStatement(VERT_CS, 'x')).toMatchObject({ kind: 'unknown', epsg: null, verticalEpsg: 6360 });
  });

  it('keeps a text it cannot read, and has nothing to say about an empty one', () => {
    expect(wktStatement('PROJCS["open",UNIT["metre",1]', 'x')).toMatchObject({ kind: 'unknown', wkt: 'PROJCS["open",UNIT["metre",1]' });
    expect(wktStatement('\0\0', 'x')).toBeNull();
    expect(wktStatement(`${'A['.repeat(500)}`, 'x')).toMatchObject({ kind: 'unknown' });
  });

  it('does not take a unit of no size', () => {
    expect(wktStatement('LOCAL_CS["site",UNIT["metre",0]]', 'x')).toMatchObject({ unitToMetre: null });
  });
});
