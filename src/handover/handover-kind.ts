import type { RoofRecord } from '../roof/record.ts';

export type HandoverKind =
  | 'report'
  | 'report-html'
  | 'check-sheet'
  | 'check-sheet-html'
  | 'svg'
  | 'dxf'
  | 'dxf-r12'
  | 'geojson'
  | 'geopackage'
  | 'kml'
  | 'csv'
  | 'cityjson'
  | 'glb'
  | 'obj'
  | 'landxml'
  | 'record';

export interface HandoverKindAbout {
  readonly kind: HandoverKind;
  readonly title: string;
  readonly extension: string;
  readonly mediaType: string;
  /** One sentence: what the file holds and who it is for. */
  readonly holds: string;
  /** True when it can only be written for a record that knows its projection. */
  readonly needsProjection: boolean;
}

/** Everything that can go out, in the order it is offered. */
export const HANDOVER_KINDS: readonly HandoverKindAbout[] = [
  kind('report', 'Report', 'pdf', 'application/pdf', 'Plans to scale, tables with ±, sections, what to verify on site, cautions, decisions and signatures; tagged PDF.'),
  kind('report-html', 'Report as a page', 'html', 'text/html', 'The same content as the report, as one page without outside parts.'),
  kind('check-sheet', 'Check sheet', 'pdf', 'application/pdf', 'Tape readings beside ours with verdicts, instruments and corrections, what to tape next, a key plan and lines to sign; tagged PDF.'),
  kind('check-sheet-html', 'Check sheet as a page', 'html', 'text/html', 'The same content as the check sheet, as one page without outside parts.'),
  kind('svg', 'Plans', 'svg', 'image/svg+xml', 'One plan per building and one of the site, to a true scale on a millimetre page.'),
  kind('dxf', 'Drawing', 'dxf', 'image/vnd.dxf', 'DXF 2007: layers by meaning, closed outlines, 3D faces, obstructions with height as attribute, zones, modules, dimensions.'),
  kind('dxf-r12', 'Drawing for old programs', 'dxf', 'image/vnd.dxf', 'The same drawing as DXF R12.'),
  kind('geojson', 'Map features', 'geojson', 'application/geo+json', 'Planes, edges, obstructions, zones and modules in longitude and latitude (RFC 7946).', true),
  kind('geopackage', 'Map layers', 'gpkg', 'application/geopackage+sqlite3', 'One layer per kind of thing in the projection of the source, with heights.'),
  kind('kml', 'Globe view', 'kml', 'application/vnd.google-earth.kml+xml', 'Planes, edges, obstructions and modules for a globe viewer.', true),
  kind('csv', 'Tables', 'csv', 'text/csv', 'One table per kind of thing, units in the headers.'),
  kind('cityjson', 'City model', 'city.json', 'application/city+json', 'CityJSON 2.0: roof surfaces with pitch and azimuth, obstructions as installations.'),
  kind('glb', '3D model', 'glb', 'model/gltf-binary', 'Measured roof surfaces, y up, metres, place in the root node.'),
  kind('obj', '3D surfaces', 'obj', 'model/obj', 'Roof surfaces and obstructions as triangles, z up, one group per thing.'),
  kind('landxml', 'Terrain surfaces', 'xml', 'application/xml', 'LandXML 1.2: each roof plane as a triangulated surface.'),
  kind('record', 'Record', 'json', 'application/json', 'The record itself and its JSON Schema: everything above can be made from it again.'),
];

function kind(name: HandoverKind, title: string, extension: string, mediaType: string, holds: string, needsProjection = false): HandoverKindAbout {
  return { kind: name, title, extension, mediaType, holds, needsProjection };
}

/** Where zero of a drawing lies. */
export type DrawingOrigin = 'local' | 'grid';
export type DrawingUnit = 'm' | 'ft' | 'us-ft';

export interface HandoverOptions {
  /** Start of every file name. Default: "roof". */
  readonly name?: string;
  /** What the survey is called in title blocks. Default: the first source file without its ending. */
  readonly site?: string;
  /** DXF, OBJ and LandXML: metres from the record's origin, or full grid coordinates. Default: local, which every program can hold. */
  readonly origin?: DrawingOrigin;
  /** Unit of drawn coordinates in DXF, OBJ and LandXML. Default: metre. */
  readonly unit?: DrawingUnit;
  /** Projection to use instead of the one the sources state, e.g. "EPSG:2154". */
  readonly crs?: string;
  /** Plan sheets. Default: A3. */
  readonly paper?: 'a3' | 'a4';
}

export interface HandoverFile {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly mediaType: string;
  /** One line: what is in it. */
  readonly about: string;
}

/** The projection the files are written in, or null when nobody stated one. */
export function crsOf(record: RoofRecord, options: HandoverOptions = {}): string | null {
  return options.crs ?? record.sources.find((source) => source.crs !== null)?.crs ?? null;
}

/** Why a kind can not be written from this record; null when it can. */
export function reasonAgainst(record: RoofRecord, kindName: HandoverKind, options: HandoverOptions = {}): string | null {
  const about = HANDOVER_KINDS.find((one) => one.kind === kindName)!;
  if (record.buildings.length === 0) return 'the record holds no building';
  if (about.needsProjection && crsOf(record, options) === null) {
    return 'no source states a projection, so longitude and latitude are unknown; name one (--crs EPSG:n)';
  }
  return null;
}
