import type { Vector3 } from '../geometry/vector.ts';
import type { RoofRecord } from '../roof/record.ts';
import { featureLayers, type Feature, type FeatureShape, type Property } from './features.ts';

/**
 * Tables of a record, one per kind of thing, as RFC 4180 asks: comma, CRLF, quotes doubled; UTF-8 without a mark.
 * The header row names the unit of every column; positions are source coordinates in metres (easting, northing, elevation).
 *
 * @returns Table name and text, only for tables that have rows.
 */
export function writeCsvTables(record: RoofRecord): { readonly table: string; readonly text: string }[] {
  const origin = record.frame.origin;
  const tables = featureLayers(record).map((layer) => ({
    table: layer.name,
    text: csvText(layer.features.map((feature) => rowOf(feature, origin))),
  }));
  if (record.tape !== null) tables.push({ table: 'tape', text: csvText(tapeRows(record.tape)) });
  if (record.decisions.length > 0) tables.push({ table: 'decisions', text: csvText(decisionRows(record)) });
  return tables;
}

type Row = Readonly<Record<string, Property>>;

function rowOf(feature: Feature, origin: Vector3): Row {
  return { ...feature.properties, ...positionColumns(feature.shape, origin) };
}

function positionColumns(shape: FeatureShape | null, origin: Vector3): Row {
  if (shape === null) return {};
  if (shape.kind === 'point') return coordinates('', shape.at, origin);
  if (shape.kind === 'line') {
    return { ...coordinates('from_', shape.path[0]!, origin), ...coordinates('to_', shape.path[shape.path.length - 1]!, origin) };
  }
  return { corner_count: shape.rings[0]!.length, ...coordinates('centre_', meanOf(shape.rings[0]!), origin) };
}

function coordinates(prefix: string, [x, y, z]: Vector3, origin: Vector3): Row {
  return {
    [`${prefix}easting_m`]: x + origin[0],
    [`${prefix}northing_m`]: y + origin[1],
    [`${prefix}elevation_m`]: z + origin[2],
  };
}

function meanOf(ring: readonly Vector3[]): Vector3 {
  let [x, y, z] = [0, 0, 0];
  for (const corner of ring) [x, y, z] = [x + corner[0], y + corner[1], z + corner[2]];
  return [x / ring.length, y / ring.length, z / ring.length];
}

function tapeRows(tape: NonNullable<RoofRecord['tape']>): Row[] {
  return tape.readings.map((reading) => ({
    id: reading.id,
    reading_kind: reading.kind,
    ours_m: reading.oursM.value,
    ours_u95_m: reading.oursM.value === null ? null : reading.oursM.u95,
    tape_m: reading.tapeM.value,
    tape_u95_m: reading.tapeM.value === null ? null : reading.tapeM.u95,
    residual_ours_minus_tape_m: reading.residualM.value,
    residual_u95_m: reading.residualM.value === null ? null : reading.residualM.u95,
    residual_missing: reading.residualM.value === null ? reading.residualM.why : null,
    ours_deg: reading.oursDeg?.value ?? null,
    tape_deg: reading.tapeDeg?.value ?? null,
    residual_deg: reading.residualDeg?.value ?? null,
    verdict: reading.verdict,
    instrument: reading.device ?? null,
    written_down: reading.written ?? null,
    read_m: reading.readM ?? null,
    correction_m: reading.corrections?.reduce((sum, { amountM }) => sum + amountM, 0) ?? null,
    note: reading.note ?? null,
  }));
}

function decisionRows(record: RoofRecord): Row[] {
  return record.decisions.map(({ at, by, what, about, why }) => ({ at, by, what, about, why: why ?? null }));
}

function csvText(rows: readonly Row[]): string {
  const names: string[] = [];
  const seen = new Set<string>();
  for (const row of rows) {
    for (const name of Object.keys(row)) {
      if (!seen.has(name)) names.push(name);
      seen.add(name);
    }
  }
  const lines = [names.map(cell).join(',')];
  for (const row of rows) lines.push(names.map((name) => cell(row[name] ?? null)).join(','));
  return `${lines.join('\r\n')}\r\n`;
}

/** Decimals kept in tables: a micrometre, so that the last bits of a sum do not show. */
const DECIMALS = 6;

function cell(value: Property): string {
  if (value === null) return '';
  if (typeof value === 'number') return String(Number(value.toFixed(DECIMALS)));
  const text = String(value);
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
