import type { Vector3 } from '../../geometry/vector.ts';
import type { RoofRecord } from '../../roof/record.ts';
import { featureLayers, type Feature, type FeatureLayer, type Property } from '../features.ts';
import { crsOf, type HandoverOptions } from '../handover-kind.ts';
import { inlinedBytes } from '../inlined-bytes.ts';
import { NO_DATE, recordDate } from '../record-date.ts';
import { geometryBlob } from './geometry-blob.ts';
import { CORE_TABLES, WGS_84 } from './tables.ts';

type Database = InstanceType<Awaited<ReturnType<typeof loadDatabase>>>;

/** The database engine is a good half megabyte, so it is loaded only when a GeoPackage is asked for. */
async function loadDatabase() {
  const [{ default: start }, { default: engine }] = await Promise.all([
    import('sql.js/dist/sql-wasm-browser.js'),
    import('sql.js/dist/sql-wasm-browser.wasm?url&inline'),
  ]);
  return (await start({ wasmBinary: inlinedBytes(engine) })).Database;
}

/** Undefined Cartesian system, which the standard keeps for places without a projection. */
const NO_PROJECTION = -1;

/**
 * GeoPackage 1.3: one layer per kind of thing in the projection of the source, z in metres.
 *
 * @param horizontalMetres  Metres in one unit of the projection (1 for metres).
 */
export async function writeGeoPackage(record: RoofRecord, options: HandoverOptions = {}, horizontalMetres = 1): Promise<Uint8Array> {
  const DatabaseOf = await loadDatabase();
  const database = new DatabaseOf();
  try {
    database.run(CORE_TABLES);
    const crs = crsOf(record, options);
    const spatialReference = listSpatialReferences(database, crs);
    const [x0, y0, z0] = record.frame.origin;
    const place = ([x, y, z]: Vector3): Vector3 => [(x + x0) / horizontalMetres, (y + y0) / horizontalMetres, z + z0];
    const changed = (recordDate(record) ?? NO_DATE).toISOString();
    database.run('BEGIN');
    for (const layer of featureLayers(record)) writeLayer(database, layer, spatialReference, place, changed);
    writeFacts(database, record, crs, changed);
    database.run('COMMIT');
    return database.export();
  } finally {
    database.close();
  }
}

/** @returns The id features carry. */
function listSpatialReferences(database: Database, crs: string | null): number {
  const insert = 'INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)';
  database.run(insert, ['Undefined Cartesian SRS', -1, 'NONE', -1, 'undefined', 'no projection stated']);
  database.run(insert, ['Undefined geographic SRS', 0, 'NONE', 0, 'undefined', 'undefined geographic coordinate reference system']);
  database.run(insert, ['WGS 84 geodetic', 4326, 'EPSG', 4326, WGS_84, 'longitude and latitude']);
  const code = /^EPSG:(\d+)$/i.exec(crs ?? '')?.[1];
  if (code === undefined) return NO_PROJECTION;
  const epsg = Number(code);
  if (epsg !== 4326) database.run(insert, [`EPSG:${epsg}`, epsg, 'EPSG', epsg, 'undefined', 'see the EPSG register']);
  return epsg;
}

function writeLayer(database: Database, layer: FeatureLayer, spatialReference: number, place: (local: Vector3) => Vector3, changed: string): void {
  const columns = columnsOf(layer.features);
  const quoted = columns.map(({ name, type }) => `"${name}" ${type}`);
  database.run(`CREATE TABLE "${layer.name}" (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom ${geometryType(layer.features)}, ${quoted.join(', ')})`);
  const [minX, minY, maxX, maxY] = extentOf(layer.features, place);
  database.run('INSERT INTO gpkg_contents VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)', [layer.name, 'features', layer.title, '', changed, minX, minY, maxX, maxY, spatialReference]);
  database.run('INSERT INTO gpkg_geometry_columns VALUES (?, ?, ?, ?, 1, 0)', [layer.name, 'geom', geometryType(layer.features), spatialReference]);
  const names = columns.map(({ name }) => `"${name}"`).join(', ');
  const insert = database.prepare(`INSERT INTO "${layer.name}" (geom, ${names}) VALUES (?${', ?'.repeat(columns.length)})`);
  for (const { shape, properties } of layer.features) {
    insert.run([shape === null ? null : geometryBlob(shape, spatialReference, place), ...columns.map(({ name }) => stored(properties[name] ?? null))]);
  }
  insert.free();
}

function writeFacts(database: Database, record: RoofRecord, crs: string | null, changed: string): void {
  database.run('CREATE TABLE about (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, fact TEXT, value TEXT)');
  database.run("INSERT INTO gpkg_contents VALUES ('about', 'attributes', 'About this file', '', ?, NULL, NULL, NULL, NULL, NULL)", [changed]);
  const facts: readonly (readonly [string, string])[] = [
    ['made by', `roofdatum ${record.madeBy.version}`],
    ['projection', crs ?? 'none stated: coordinates are those of the source, in metres'],
    ['heights', 'z is elevation of the source in metres'],
    ['±', 'columns ending in _u95_… hold the half width of the interval that holds the true value in 95 of 100 cases'],
    ['decides', 'local codes and licensed persons decide on access, load, live parts and fire access'],
    ...record.sources.map((source) => ['source', `${source.file}, SHA-256 ${source.sha256}`] as const),
  ];
  for (const fact of facts) database.run('INSERT INTO about (fact, value) VALUES (?, ?)', fact);
}

interface TableColumn {
  readonly name: string;
  readonly type: 'TEXT' | 'DOUBLE' | 'INTEGER' | 'BOOLEAN';
}

/** Columns in order of first appearance; a column that is empty throughout is told by its name. */
function columnsOf(features: readonly Feature[]): TableColumn[] {
  const types = new Map<string, TableColumn['type'] | null>();
  for (const { properties } of features) {
    for (const [name, value] of Object.entries(properties)) types.set(name, types.get(name) ?? typeOf(name, value));
  }
  return [...types].map(([name, type]) => ({ name, type: type ?? (/_(m|m2|deg|access)$/.test(name) ? 'DOUBLE' : 'TEXT') }));
}

function typeOf(name: string, value: Property): TableColumn['type'] | null {
  if (typeof value === 'number') return name.endsWith('_count') ? 'INTEGER' : 'DOUBLE';
  if (typeof value === 'boolean') return 'BOOLEAN';
  return value === null ? null : 'TEXT';
}

const stored = (value: Property): string | number | null => (typeof value === 'boolean' ? Number(value) : value);

function geometryType(features: readonly Feature[]): string {
  const kinds = new Set(features.flatMap((feature) => (feature.shape === null ? [] : [feature.shape.kind])));
  if (kinds.size !== 1) return 'GEOMETRY';
  return kinds.has('polygon') ? 'POLYGON' : kinds.has('line') ? 'LINESTRING' : 'POINT';
}

function extentOf(features: readonly Feature[], place: (local: Vector3) => Vector3): (number | null)[] {
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const { shape } of features) {
    if (shape === null) continue;
    const corners = shape.kind === 'point' ? [shape.at] : shape.kind === 'line' ? shape.path : shape.rings.flat();
    for (const corner of corners) {
      const [x, y] = place(corner);
      [minX, minY, maxX, maxY] = [Math.min(minX, x), Math.min(minY, y), Math.max(maxX, x), Math.max(maxY, y)];
    }
  }
  return minX <= maxX ? [minX, minY, maxX, maxY] : [null, null, null, null];
}
