import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { ProjectedEntry } from '../../../src/site/epsg/epsg-entry.ts';
import { elevationFactor, gridAt } from '../../../src/site/make-local-frame.ts';
import { projectionOf, projectionOfEntry } from '../../../src/site/projection.ts';
import { UNIT_TO_METRE } from '../../../src/site/settle-units.ts';

/** Rows of a published table; a file that does not say where its values come from is refused. */
function table(name: string): Record<string, string>[] {
  const lines = readFileSync(new URL(name, import.meta.url), 'utf8').trim().split('\n');
  const head = lines.filter((line) => line.startsWith('#')).map((line) => line.slice(2, line.indexOf(':')));
  expect(head).toEqual(['source', 'edition', 'where', 'licence', 'tolerance']);
  const [names, ...rows] = lines.filter((line) => !line.startsWith('#')).map((line) => line.split(','));
  return rows.map((row) => Object.fromEntries(row.map((cell, index) => [names![index]!, cell])));
}

const DEGREES = 180 / Math.PI;

describe('map projections against printed examples', () => {
  it.each(table('guidance-note-7-2.csv'))('EPSG:$code of Guidance Note 7-2', async ({ code, longitude, latitude, easting, northing, unit, tolerance }) => {
    const projection = await projectionOf(`EPSG:${code}`);
    const [x, y] = projection.fromOwnLonLat(Number(longitude), Number(latitude));
    const metre = UNIT_TO_METRE[unit as keyof typeof UNIT_TO_METRE];
    expect(projection.entry.unitToMetre).toBeCloseTo(metre, 12);
    expect(Math.abs(x / metre - Number(easting))).toBeLessThan(Number(tolerance));
    expect(Math.abs(y / metre - Number(northing))).toBeLessThan(Number(tolerance));
    const [lon, lat] = projection.toOwnLonLat(x, y);
    expect(lon).toBeCloseTo(Number(longitude), 8);
    expect(lat).toBeCloseTo(Number(latitude), 8);
  });

  it.each(table('grid-guides.csv'))('EPSG:$code of the national guide: $easting $northing', async ({ code, longitude, latitude, easting, northing, pointScale, convergenceDeg }) => {
    const projection = await projectionOf(`EPSG:${code}`);
    const [x, y] = projection.fromOwnLonLat(Number(longitude), Number(latitude));
    expect(Math.abs(x - Number(easting))).toBeLessThan(0.0015);
    expect(Math.abs(y - Number(northing))).toBeLessThan(0.0015);
    if (pointScale === '') return;
    const grid = gridAt(projection, x, y);
    expect(Math.abs(grid.pointScale - Number(pointScale))).toBeLessThan(1e-8);
    expect(Math.abs(grid.gridToTrue * DEGREES - Number(convergenceDeg))).toBeLessThan(0.01 / 3600);
  });

  // J. Snyder 1987, Map Projections: A Working Manual, USGS PP 1395, pp. 269 and 296 (from memory): scale to half the last digit.
  it.each([
    ['UTM, Clarke 1866', '+proj=tmerc +lat_0=0 +lon_0=-75 +k=0.9996 +x_0=0 +y_0=0 +ellps=clrk66', [-73.5, 40.5], [127106.5, 4484124.4], 0.9997989],
    ['Lambert conformal, Clarke 1866', '+proj=lcc +lat_0=23 +lon_0=-96 +lat_1=33 +lat_2=45 +x_0=0 +y_0=0 +ellps=clrk66', [-75, 35], [1894410.9, 1564649.5], 0.9970171],
  ] as const)('Snyder: %s', async (name, definition, [lon, lat], [easting, northing], scale) => {
    const entry: ProjectedEntry = { kind: 'projected', code: 0, name, definition, needsGrid: false, unitToMetre: 1, area: null };
    const projection = await projectionOfEntry(entry);
    const [x, y] = projection.fromOwnLonLat(lon, lat);
    expect(Math.abs(x - easting)).toBeLessThan(0.05);
    expect(Math.abs(y - northing)).toBeLessThan(0.05);
    expect(Math.abs(gridAt(projection, x, y).pointScale - scale)).toBeLessThan(6e-8);
  });
});

describe('true north', () => {
  it('is on the right side: azimuth of a published geodesic against its grid bearing', async () => {
    // Flinders Peak to Buninyong, GRS80: azimuth 306°52'05.37" (GDA94 Technical Manual, from memory). The chord on the grid
    // leaves the geodesic by the arc-to-chord correction, some 20" over these 55 km (same manual, from memory): allowed 30".
    const azimuth = 306 + 52 / 60 + 5.37 / 3600;
    const [from, to] = [[273741.297, 5796489.777], [228854.051, 5828259.038]] as const;
    const bearing = (Math.atan2(to[0] - from[0], to[1] - from[1]) * DEGREES + 360) % 360;
    const { gridToTrue } = gridAt(await projectionOf('EPSG:28355'), from[0], from[1]);
    expect(Math.abs(bearing + gridToTrue * DEGREES - azimuth)).toBeLessThan(30 / 3600);
  });
});

describe('scale', () => {
  it('of a site at 1830 m in UTM: grid, elevation and product', async () => {
    // Recomputed with PROJ 9.5 from latitude 39.742476, longitude -105.1786, height 1830.14 m, radius 6371 km.
    const projection = await projectionOf('EPSG:32613');
    const [x, y] = projection.fromOwnLonLat(-105.1786, 39.742476);
    expect(Math.abs(x - 484697.638)).toBeLessThan(0.001);
    expect(Math.abs(y - 4399190.458)).toBeLessThan(0.001);
    const { pointScale } = gridAt(projection, x, y);
    expect(Math.abs(pointScale - 0.99960288)).toBeLessThan(1e-8);
    expect(Math.abs(elevationFactor(1830.14, 6371000) - 0.99971282)).toBeLessThan(1e-8);
    expect(Math.abs(pointScale * elevationFactor(1830.14, 6371000) - 0.99931582)).toBeLessThan(1e-8);
  });

  it('of the two feet: 1.2192 m apart at two million (85 FR 62698, 2020, from memory)', () => {
    expect(2_000_000 * (UNIT_TO_METRE['us-ft'] - UNIT_TO_METRE.ft)).toBeCloseTo(1.2192, 4);
    expect(UNIT_TO_METRE['us-ft']).toBeCloseTo(1200 / 3937, 15);
  });
});
