import { check } from '@placemarkio/check-geojson';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { signedPlanArea } from '../../../src/geometry/polygon.ts';
import type { Vector2, Vector3 } from '../../../src/geometry/vector.ts';
import { featureLayers, type Feature } from '../../../src/handover/features.ts';
import { handover, type HandoverKind } from '../../../src/handover/handover.ts';
import type { RoofRecord } from '../../../src/roof/record.ts';
import { hasProgram, pythonWith, run, runJson, TemporaryFolder } from '../../fixtures/outside-tool.ts';
import { recordHarbour } from '../../fixtures/record-harbour.ts';

/** Place may be off by this much at most. [m] */
const ONE_MILLIMETRE = 0.001;

const folder = new TemporaryFolder();
afterAll(() => folder.remove());

interface ReadFeature {
  readonly fields: Record<string, unknown>;
  readonly type: string | null;
  readonly valid?: boolean;
  readonly points?: unknown;
  readonly area?: number | null;
}

type ReadFiles = Record<string, { readonly layers: Record<string, { readonly epsg: string | null; readonly features: ReadFeature[] }>; readonly complaints: string[] }>;

/** Referee: GDAL 3.6.2 (Debian 12), with PROJ for reprojection and its own GeoPackage checker. */
const python = pythonWith('osgeo.ogr');

async function writeAll(record: RoofRecord, name: string, kinds: readonly HandoverKind[]): Promise<string[]> {
  const files = await handover(record, kinds, { name });
  return files.filter((file) => /\.(geojson|gpkg|kml|dxf)$/.test(file.name)).map((file) => folder.write(file.name, file.bytes));
}

const readWithGdal = (paths: readonly string[], epsg: number): ReadFiles =>
  runJson(python!, [new URL('read-with-gdal.py', import.meta.url).pathname, ...paths, String(epsg)]) as ReadFiles;

/** Corners of a feature in source coordinates, one ring after the other. */
function cornersOf({ shape }: Feature, [x0, y0]: Vector3, unit = 1): Vector2[][] {
  const rings = shape === null ? [] : shape.kind === 'point' ? [[shape.at]] : shape.kind === 'line' ? [shape.path] : shape.rings;
  return rings.map((ring) => ring.map(([x, y]): Vector2 => [(x + x0) / unit, (y + y0) / unit]));
}

/** GDAL gives bare positions for a point or a line, and rings for a polygon. */
function ringsRead(feature: ReadFeature): Vector2[][] {
  const rings = (feature.type === 'POLYGON' ? feature.points : [feature.points]) as Vector2[][];
  return feature.type === 'POLYGON' ? rings.map((ring) => ring.slice(0, -1)) : rings;
}

/** Largest distance from a wanted corner to the nearest read one. */
function farthest(wanted: readonly Vector2[][], read: readonly Vector2[][]): number {
  let worst = 0;
  for (const [i, ring] of wanted.entries()) {
    for (const [x, y] of ring) worst = Math.max(worst, Math.min(...read[i]!.map(([u, v]) => Math.hypot(u - x, v - y))));
  }
  return worst;
}

function expectAllInPlace(record: RoofRecord, read: readonly ReadFeature[], key: (feature: ReadFeature) => unknown, unit = 1): void {
  const byId = new Map(read.map((feature) => [key(feature), feature]));
  const wanted = featureLayers(record).flatMap((layer) => layer.features).filter((feature) => feature.shape !== null);
  expect(wanted.length).toBeGreaterThan(60);
  for (const feature of wanted) {
    const found = byId.get(feature.id);
    expect(found, feature.id).toBeDefined();
    const [corners, rings] = [cornersOf(feature, record.frame.origin, unit), ringsRead(found!)];
    expect(rings.map((ring) => ring.length), feature.id).toEqual(corners.map((ring) => ring.length));
    expect(farthest(corners, rings) * unit, feature.id).toBeLessThan(ONE_MILLIMETRE);
  }
}

describe.skipIf(python === null)('map files as GDAL reads them', () => {
  // Seven digits in both coordinates; east and north of NZTM are registered the other way round, a trap for readers.
  const record = recordHarbour();
  // US survey feet: New York Long Island, EPSG:2263.
  const inFeet = recordHarbour({ crs: 'EPSG:2263', origin: [300000.125, 62000.5, 9], unitToMetre: 1200 / 3937, gridToTrueDeg: 0 });
  let files: ReadFiles;
  let feet: ReadFiles;
  beforeAll(async () => {
    files = readWithGdal(await writeAll(record, 'harbour', ['geojson', 'geopackage', 'kml', 'dxf']), 2193);
    feet = readWithGdal(await writeAll(inFeet, 'feet', ['geojson', 'geopackage']), 2263);
  });

  const featuresOf = (name: string, from = files): ReadFeature[] => Object.values(from[name]!.layers).flatMap((layer) => layer.features);

  it('GeoJSON: longitude and latitude, within a millimetre after reprojection', () => {
    expect(Object.values(files['harbour.geojson']!.layers)[0]!.epsg).toBe('4326');
    expectAllInPlace(record, featuresOf('harbour.geojson'), (feature) => feature.fields['id']);
  });

  it('GeoPackage: in the source projection, within a millimetre, and clean by the standard', () => {
    const { layers, complaints } = files['harbour.gpkg']!;
    expect(complaints).toEqual([]);
    for (const [name, layer] of Object.entries(layers)) if (name !== 'about') expect(layer.epsg, name).toBe('2193');
    expectAllInPlace(record, featuresOf('harbour.gpkg'), (feature) => feature.fields['id']);
  });

  it('KML: within a millimetre after reprojection', () => {
    expectAllInPlace(record, featuresOf('harbour.kml'), (feature) => feature.fields['id']);
  });

  it('every geometry is valid', () => {
    for (const name of ['harbour.geojson', 'harbour.gpkg', 'harbour.kml']) {
      const invalid = featuresOf(name).filter((feature) => feature.type !== null && feature.valid !== true);
      expect(invalid.map((feature) => feature.fields['id'])).toEqual([]);
    }
    // Upright faces have no area from above, which is all GDAL looks at.
    const drawn = featuresOf('harbour.dxf').filter((feature) => feature.fields['Layer'] !== 'OBSTRUCTION-SURFACE');
    expect(drawn.length).toBeGreaterThan(300);
    expect(drawn.filter((feature) => feature.type !== null && feature.valid !== true)).toEqual([]);
  });

  it('keeps the opening of the hall', () => {
    const hall = record.buildings[0]!.roofPlanes[0]!;
    const plan = signedPlanArea(hall.outline) + signedPlanArea(hall.holes[0]!);
    for (const name of ['harbour.geojson', 'harbour.gpkg', 'harbour.kml']) {
      const read = featuresOf(name).find((feature) => feature.fields['id'] === 'b1.p1')!;
      expect((read.points as unknown[]).length).toBe(2);
      // Nine decimals of a degree are 0.1 mm; over a rim of 90 m that is some cm².
      expect(read.area! - plan).toBeCloseTo(0, 2);
    }
  });

  it('DXF: local metres where the plan says', () => {
    const outlines = featuresOf('harbour.dxf').filter((feature) => feature.fields['Layer'] === 'PLANE-OUTLINE');
    const planes = record.buildings.flatMap((building) => building.roofPlanes);
    expect(outlines).toHaveLength(planes.length);
    for (const [i, plane] of planes.entries()) {
      const read = (outlines[i]!.type === 'POLYGON' ? (outlines[i]!.points as Vector2[][])[0]! : (outlines[i]!.points as Vector2[])) as Vector2[];
      expect(farthest([plane.outline.map(([x, y]): Vector2 => [x, y])], [read])).toBeLessThan(ONE_MILLIMETRE);
    }
  });

  it('feet: GeoPackage in survey feet of its projection, GeoJSON at the same place', () => {
    const unit = 1200 / 3937;
    expect(feet['feet.gpkg']!.layers['roof_planes']!.epsg).toBe('2263');
    expectAllInPlace(inFeet, featuresOf('feet.gpkg', feet), (feature) => feature.fields['id'], unit);
    expectAllInPlace(inFeet, featuresOf('feet.geojson', feet), (feature) => feature.fields['id'], unit);
  });

  it('fields arrive with their units, reasons and letters beyond ASCII', () => {
    const fields = (id: string) => files['harbour.gpkg']!.layers['obstructions']!.features.find((feature) => feature.fields['id'] === id)!.fields;
    expect(fields('b1.o1')).toMatchObject({ height_above_roof_m: 1.42, height_above_roof_u95_m: 0.05, note: 'Ofenlüftung, Bäckerei', name: 'O1' });
    expect(fields('b1.o5')).toMatchObject({ height_above_roof_m: null, height_above_roof_missing: 'too few points on top' });
    const [pond] = files['harbour.gpkg']!.layers['ponds']!.features;
    expect(pond).toMatchObject({ type: 'POLYGON', fields: { id: 'b1.d1.pond', low_point: 'b1.d1', depth_m: 0.022, depth_u95_m: 0.012, plan_area_m2: 4.32, plan_area_u95_m2: 1.7 } });
    expect(files['harbour.gpkg']!.layers['low_points']!.features.map(({ fields: of }) => [of['id'], of['place_u95_m'], of['place_missing'], of['cues']])).toEqual([['b1.d1', 0.21, null, 'hollow boards-meet'], ['b1.d2', null, null, null], ['b1.d3', null, 'a level line', null]]);
    const gutter = featuresOf('harbour.kml').find((feature) => feature.fields['id'] === 'f2')!;
    expect(gutter.fields['note']).toBe('Dachrinne, prüfen');
  });
});

describe('GeoJSON by its standard (RFC 7946)', () => {
  it('satisfies an independent check, right-hand rule included', async () => {
    const [file] = await handover(recordHarbour(), ['geojson']);
    const text = new TextDecoder().decode(file!.bytes);
    // @placemarkio/check-geojson 0.1.14 throws on anything amiss.
    const collection = check(text) as unknown as { features: { geometry: { type: string; coordinates: Vector2[][] } | null }[]; crs?: unknown };
    expect(collection.crs).toBeUndefined();
    for (const { geometry } of collection.features) {
      if (geometry?.type !== 'Polygon') continue;
      geometry.coordinates.forEach((ring, i) => {
        expect(ring[0]).toEqual(ring[ring.length - 1]);
        expect(Math.sign(signedPlanArea(ring.slice(0, -1)))).toBe(i === 0 ? 1 : -1);
        for (const [longitude, latitude] of ring) {
          // New Zealand: east of 166°, south of −34°; swapped axes would show.
          expect(longitude).toBeGreaterThan(166);
          expect(latitude).toBeLessThan(-34);
        }
      });
    }
  });

  it.each(['geojson', 'kml'] as const)('%s refuses a record without a projection, and says what is missing', async (kind) => {
    const nowhere = recordHarbour({ crs: null });
    await expect(handover(nowhere, [kind])).rejects.toThrow(/no source states a projection.*--crs EPSG:n/);
    const [file] = await handover(nowhere, [kind], { crs: 'EPSG:2193' });
    expect(file!.bytes.length).toBeGreaterThan(1000);
  });

  it('GeoPackage without a projection says so and stays Cartesian', async () => {
    const [file] = await handover(recordHarbour({ crs: null }), ['geopackage']);
    // The first 16 bytes name the file format; the application id stands at byte 68 (OGC 12-128r18, clause 1.1.1.1.1).
    expect(new TextDecoder().decode(file!.bytes.subarray(0, 15))).toBe('SQLite format 3');
    expect(new DataView(file!.bytes.buffer, file!.bytes.byteOffset).getUint32(68)).toBe(0x47504b47);
  });
});

/** Referee: xmllint of libxml2. */
describe.skipIf(!hasProgram('xmllint'))('KML and LandXML as XML', () => {
  it('are well formed', async () => {
    const files = await handover(recordHarbour(), ['kml', 'landxml']);
    const paths = files.map((file) => folder.write(file.name, file.bytes));
    expect(run('xmllint', ['--noout', ...paths])).toBe('');
  });
});
