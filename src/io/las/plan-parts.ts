import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { Bounds3, ReadOptions } from '../survey-file.ts';
import { copcInfoAt, copcInfoRecord, copcOwner, readCopcInfo, readHierarchy } from './copc.ts';
import type { LasHeader } from './header.ts';
import { countPoints, gatherChunks, planSlices } from './las-part.ts';
import { readChunkTable, wrongPointCount, type Chunk } from './laz/chunk-table.ts';
import { measureRun } from './laz/decode-chunk.ts';
import type { LazSettings } from './laz/settings.ts';
import { walkChunks } from './laz/walk-chunks.ts';
import { readRecord, type VariableRecord } from './variable-records.ts';
import { SALVAGE_ADVICE } from '../salvage-advice.ts';

/** Bit of the global encoding: waveform data stands behind the points. */
const WAVEFORMS_INSIDE = 2;

/** Groups of runs, one a part, and their bounds where the file tells them. */
export interface Plan {
  readonly groups: readonly (readonly Chunk[])[];
  readonly bounds: readonly Bounds3[] | null;
}

/** Points end where the file does, or where the records behind them begin. */
export function planPlain(
  source: ByteSource, header: LasHeader, extendedRecords: readonly VariableRecord[], options: ReadOptions, notes: string[],
): Plan {
  const behind = extendedRecords.length > 0 && header.extendedRecordOffset >= header.pointOffset;
  const end = behind ? header.extendedRecordOffset : source.size;
  const held = Math.floor((end - header.pointOffset) / header.recordLength);
  const pointCount = Math.min(held, header.pointCount);
  checkCount(source.name, header, pointCount, options, notes);
  const unread = held - pointCount;
  if (unread > 0 && (header.globalEncoding & WAVEFORMS_INSIDE) === 0) {
    notes.push(`Behind the ${pointCount} points of the header there is room for ${unread} more; what stands there was not read.`);
  }
  return { groups: planSlices(header, pointCount), bounds: null };
}

/** Nodes of a hierarchy, else chunks. */
export async function planCompressed(
  source: ByteSource, header: LasHeader, laz: LazSettings, records: readonly VariableRecord[], options: ReadOptions, notes: string[],
): Promise<Plan> {
  if (header.pointCount === 0) return { groups: [], bounds: null };
  const hierarchy = await planHierarchy(source, records, notes);
  if (hierarchy !== null) {
    checkCount(source.name, header, countPoints(hierarchy.groups.flat()), options, notes);
    return hierarchy;
  }
  if (laz.compressor === 1) return { groups: [[await planSingleRun(source, header, laz, options, notes)]], bounds: null };
  const chunks = await findChunks(source, header, laz, options, notes);
  checkCount(source.name, header, countPoints(chunks), options, notes);
  return { groups: gatherChunks(chunks), bounds: null };
}

/** One run for all points does not say where it ends: only when asked to salvage it is decoded to see how far it goes. */
async function planSingleRun(source: ByteSource, header: LasHeader, laz: LazSettings, options: ReadOptions, notes: string[]): Promise<Chunk> {
  const begin = header.pointOffset;
  const wrong = wrongPointCount(header.pointCount, source.size - begin);
  if (wrong !== null) throw new InputError(source.name, `header ${wrong}.`);
  const run = { begin, end: source.size, pointCount: header.pointCount };
  if (!options.salvage) return run;
  const { pointCount } = measureRun(await source.read(begin, source.size), laz, header.recordLength, header.pointCount);
  checkCount(source.name, header, pointCount, options, notes);
  return { ...run, pointCount };
}

/** By the table; where that cannot be used, by reading through, which for chunks without layers means to decode all. */
async function findChunks(source: ByteSource, header: LasHeader, laz: LazSettings, options: ReadOptions, notes: string[]): Promise<Chunk[]> {
  const table = await readChunkTable(source, header, laz);
  if (typeof table !== 'string') return table;
  if (laz.compressor !== 3 && !options.salvage) {
    throw new InputError(source.name, `${table}; the file seems damaged or cut off. ${SALVAGE_ADVICE}`);
  }
  notes.push(`The chunks were found by reading through: ${table}.`);
  return walkChunks(source, header, laz);
}

async function planHierarchy(source: ByteSource, records: readonly VariableRecord[], notes: string[]): Promise<Plan | null> {
  const record = records.find((each) => each.userId === copcOwner && each.recordId === copcInfoRecord);
  if (record === undefined || record.begin !== copcInfoAt + 54) return null;
  const info = readCopcInfo(await readRecord(source, record));
  const nodes = info === null ? 'has no root' : await readHierarchy(source, info);
  if (typeof nodes === 'string') {
    notes.push(`The COPC hierarchy was not used: ${nodes}.`);
    return null;
  }
  return { groups: nodes.map(({ chunks }) => chunks), bounds: nodes.map(({ bounds }) => bounds) };
}

/** A file that holds fewer points than it promises is refused, or read as far as it goes when asked for. */
function checkCount(name: string, header: LasHeader, held: number, options: ReadOptions, notes: string[]): void {
  if (held === header.pointCount) return;
  const words = `header promises ${header.pointCount} points, but the file holds ${held}`;
  if (held > header.pointCount) {
    notes.push(`The ${words}; all were read.`);
    return;
  }
  if (!options.salvage) throw new InputError(name, `${words}; it seems cut off. ${SALVAGE_ADVICE}`);
  notes.push(`The ${words}; those were read.`);
}
