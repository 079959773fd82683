import type { CrsStatement } from '../../site/crs-statement.ts';
import type { ByteSource } from '../byte-source.ts';
import { resolveGeoKeys } from '../crs/geo-keys.ts';
import { geoKeysStatement } from '../crs/geo-keys-statement.ts';
import { wktStatement } from '../crs/wkt-statement.ts';
import { readRecord, type VariableRecord } from './variable-records.ts';

const PROJECTION = 'LASF_Projection';
/** Files of the years before LAS 1.4 carry their text under this name. */
const OLDER_TEXT_OWNER = 'liblas';
const MATH_TRANSFORM = 2111;
const TEXT = 2112;
const KEY_DIRECTORY = 34735;
const KEY_DOUBLES = 34736;
const KEY_TEXTS = 34737;

/** Everything the records of a LAS file say about projection and unit; equal texts are told once. */
export async function readCrsStatements(source: ByteSource, records: readonly VariableRecord[], notes: string[]): Promise<CrsStatement[]> {
  const statements: CrsStatement[] = [];
  const seen = new Set<string>();
  for (const record of records) {
    if (record.recordId !== TEXT || (record.userId !== PROJECTION && record.userId !== OLDER_TEXT_OWNER)) continue;
    const text = new TextDecoder().decode(await readRecord(source, record));
    const statement = wktStatement(text, record.userId === PROJECTION ? 'WKT record' : 'WKT record of an older kind');
    if (statement === null || seen.has(statement.wkt!)) continue;
    seen.add(statement.wkt!);
    statements.push(statement);
  }
  if (records.some((record) => record.recordId === MATH_TRANSFORM && record.userId === PROJECTION && record.length > 0)) {
    notes.push('A mathematical transformation of the coordinates stands in record 2111; it was not applied.');
  }
  const keys = await readKeys(source, records, notes);
  if (keys !== null) statements.push(keys);
  return statements;
}

async function readKeys(source: ByteSource, records: readonly VariableRecord[], notes: string[]): Promise<CrsStatement | null> {
  const directory = await contents(source, records, KEY_DIRECTORY);
  if (directory === null) return null;
  const doubles = await contents(source, records, KEY_DOUBLES);
  const texts = await contents(source, records, KEY_TEXTS);
  const { keys, problems } = resolveGeoKeys(
    new Uint16Array(directory.buffer, 0, directory.length >> 1),
    doubles === null ? new Float64Array() : new Float64Array(doubles.buffer, 0, doubles.length >> 3),
    texts === null ? '' : new TextDecoder('latin1').decode(texts),
  );
  notes.push(...problems);
  return geoKeysStatement(keys);
}

async function contents(source: ByteSource, records: readonly VariableRecord[], recordId: number): Promise<Uint8Array | null> {
  const record = records.find((each) => each.userId === PROJECTION && each.recordId === recordId);
  return record === undefined ? null : readRecord(source, record);
}
