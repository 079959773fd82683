import type { Vector3 } from '../geometry/vector.ts';
import type { RoofRecord } from '../roof/record.ts';
import { projectionOf, type Projection } from '../site/projection.ts';
import { recordSchema } from '../survey/record-schema.ts';
import { recordText } from '../survey/write-record.ts';
import { InputError } from '../units/input-error.ts';
import { checkSheet } from './check-sheet/check-sheet.ts';
import { writeCityJson } from './cityjson.ts';
import { drawingCompanion } from './companion.ts';
import { writeCsvTables } from './csv.ts';
import { writeDxf } from './dxf/dxf.ts';
import { writeGeoJson, type ToLonLat } from './geojson.ts';
import { writeGeoPackage } from './geopackage/geopackage.ts';
import { writeGlb } from './glb.ts';
import { crsOf, HANDOVER_KINDS, reasonAgainst, type HandoverFile, type HandoverKind, type HandoverKindAbout, type HandoverOptions } from './handover-kind.ts';
import { writeKml } from './kml.ts';
import { writeLandXml } from './landxml.ts';
import { writeObj } from './obj.ts';
import { sheetSvg } from './paper/svg.ts';
import { planSheets } from './plan-sheets.ts';
import { writeHtmlReport } from './report/html-report.ts';
import { writePdfReport } from './report/pdf-report.ts';
import { reportContent } from './report/report-content.ts';

export { HANDOVER_KINDS, reasonAgainst };
export type { HandoverFile, HandoverKind, HandoverKindAbout, HandoverOptions };

/**
 * Writes a record in the asked formats. The same record and options give the same bytes, in the browser and in Node.
 *
 * @param kinds  What to write; each once, in this order.
 * @returns One or more files per kind; names are unique.
 * @throws InputError when a kind can not be written from this record, with the reason (see `reasonAgainst`).
 */
export async function handover(record: RoofRecord, kinds: readonly HandoverKind[], options: HandoverOptions = {}): Promise<HandoverFile[]> {
  // All are looked at before any is written: half a handover helps nobody.
  const orders = [...new Set(kinds)].map((kind): Order => {
    const about = HANDOVER_KINDS.find((one) => one.kind === kind);
    if (about === undefined) {
      throw new InputError('handover', `"${String(kind)}" is not known. Write one of: ${HANDOVER_KINDS.map((one) => one.kind).join(', ')}.`);
    }
    const reason = reasonAgainst(record, kind, options);
    if (reason !== null) throw new InputError(`handover as ${kind}`, `${reason}.`);
    return { record, options, name: options.name ?? 'roof', about };
  });
  const files: HandoverFile[] = [];
  for (const order of orders) files.push(...(await WRITERS[order.about.kind](order)));
  return files;
}

interface Order {
  readonly record: RoofRecord;
  readonly options: HandoverOptions;
  /** Start of the file names. */
  readonly name: string;
  readonly about: HandoverKindAbout;
}

const WRITERS: Readonly<Record<HandoverKind, (order: Order) => Promise<HandoverFile[]>>> = {
  report: async (order) => [only(order, await writePdfReport(reportContent(order.record, order.options)), '-report')],
  'report-html': async (order) => [only(order, await writeHtmlReport(reportContent(order.record, order.options)), '-report')],
  'check-sheet': async (order) => [only(order, await writePdfReport(checkSheet(order.record, order.options)), '-check-sheet')],
  'check-sheet-html': async (order) => [only(order, await writeHtmlReport(checkSheet(order.record, order.options)), '-check-sheet')],
  svg: async ({ record, options, name, about }) =>
    planSheets(record, options).map((sheet) => file(`${name}-plan-${sheet.of}.svg`, sheetSvg(sheet), about.mediaType, `${sheet.title}, 1 : ${sheet.scale} on ${sheet.paper}.`)),
  dxf: async (order) => drawing(order, `${order.name}.dxf`, 'R2007'),
  'dxf-r12': async (order) => drawing(order, `${order.name}-r12.dxf`, 'R12'),
  geojson: async (order) => {
    const { toLonLat, note } = await lonLatOf(order);
    return [only(order, writeGeoJson(order.record, toLonLat, note), '', note)];
  },
  geopackage: async (order) => [only(order, await writeGeoPackage(order.record, order.options, await horizontalMetres(order)))],
  kml: async (order) => {
    const { toLonLat, note } = await lonLatOf(order);
    return [only(order, writeKml(order.record, toLonLat, note), '', note)];
  },
  csv: async ({ record, name, about }) =>
    writeCsvTables(record).map(({ table, text }) => file(`${name}-${table.replaceAll('_', '-')}.csv`, text, about.mediaType, `Table of ${table.replaceAll('_', ' ')}.`)),
  cityjson: async (order) => [only(order, writeCityJson(order.record, order.options, await horizontalMetres(order)))],
  glb: async (order) => [only(order, await writeGlb(order.record, order.options))],
  obj: async (order) => [only(order, writeObj(order.record, order.options))],
  landxml: async (order) => [only(order, writeLandXml(order.record, order.options))],
  record: async ({ record, name, about }) => [
    file(`${name}-record.json`, recordText(record), about.mediaType, about.holds),
    file('roofdatum-record-1.schema.json', `${JSON.stringify(recordSchema, null, 1)}\n`, 'application/schema+json', 'The JSON Schema of the record.'),
  ],
};

async function lonLatOf(order: Order): Promise<{ readonly toLonLat: ToLonLat; readonly note: string | null }> {
  const projection = (await projectionIn(order))!;
  const [x0, y0] = order.record.frame.origin;
  return { toLonLat: ([x, y]: Vector3) => projection.toLonLat(x + x0, y + y0), note: projection.note };
}

/** Metres in one unit of the projection; 1 where none is stated. */
const horizontalMetres = async (order: Order): Promise<number> => (await projectionIn(order))?.entry.unitToMetre ?? 1;

async function projectionIn({ record, options }: Order): Promise<Projection | null> {
  const crs = crsOf(record, options);
  return crs === null ? null : projectionOf(crs);
}

function only({ name, about }: Order, content: string | Uint8Array, suffix = '', note: string | null = null): HandoverFile {
  return file(`${name}${suffix}.${about.extension}`, content, about.mediaType, note === null ? about.holds : `${about.holds} ${note}`);
}

function drawing({ record, options, about }: Order, fileName: string, version: 'R12' | 'R2007'): HandoverFile[] {
  return [
    file(fileName, writeDxf(record, version, options), about.mediaType, about.holds),
    file(fileName.replace('.dxf', '-dxf.txt'), drawingCompanion(record, [fileName], options), 'text/plain', 'Origin, unit, projection and layers of the drawing.'),
  ];
}

function file(name: string, content: string | Uint8Array, mediaType: string, about: string): HandoverFile {
  return { name, bytes: typeof content === 'string' ? new TextEncoder().encode(content) : content, mediaType, about };
}
