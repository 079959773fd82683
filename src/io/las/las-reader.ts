import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PointBatch } from '../point-batch.ts';
import type { Bounds3, FileDescription, FilePart, ReadOptions, SurveyFileReader } from '../survey-file.ts';
import { copcInfoAt, copcInfoRecord, copcOwner, readCopcInfo, readHierarchy } from './copc.ts';
import { readCrsStatements } from './crs-records.ts';
import { decodePoints } from './decode-points.ts';
import { readExtraFields } from './extra-fields.ts';
import { maximumHeaderSize, readLasHeader, type LasHeader } from './header.ts';
import { countPoints, gatherChunks, planSlices, type LasFile, type LasPartDetail } from './las-part.ts';
import { readChunkTable, wrongPointCount, type Chunk } from './laz/chunk-table.ts';
import { measureRun, unknownItem } from './laz/decode-chunk.ts';
import { lazOwner, lazRecordId, readLazSettings, type LazSettings } from './laz/settings.ts';
import { walkChunks } from './laz/walk-chunks.ts';
import { lookAtPoints } from './look-at-points.ts';
import { readRecords } from './read-records.ts';
import { findExtendedRecords, findVariableRecords, readRecord, type VariableRecord } from './variable-records.ts';

/** LAS 1.0 to 1.5, record formats 0 to 10, plain and compressed (LAZ), with the hierarchy of COPC where there is one. */
export const lasReader: SurveyFileReader = {
  recognises(head, name) {
    if (head.length >= 4 && String.fromCharCode(...head.subarray(0, 4)) === 'LASF') return true;
    return /\.la[sz]$/i.test(name);
  },
  describe: describeLas,
  readPoints: readLasPoints,
};

async function describeLas(source: ByteSource, options: ReadOptions): Promise<FileDescription> {
  const header = readLasHeader(await source.read(0, Math.min(source.size, maximumHeaderSize)), source.name, source.size);
  const notes = [...header.notes];
  const records = await findVariableRecords(source, header, notes);
  const extendedRecords = await findExtendedRecords(source, header, notes);
  records.push(...extendedRecords);
  const laz = await findLazSettings(source, header, records);
  const plan = laz === null ? planPlain(source, header, extendedRecords, options, notes) : await planCompressed(source, header, laz, records, options, notes);
  const runs = plan.groups.flat();
  const look = await lookAtPoints(source, { header, laz }, runs);
  notes.push(...look.notes);
  const extraFields = await readExtraFields(source, header, records, notes);
  const file: LasFile = { header, laz, colourShift: look.colourShift, extraFields };
  const pointCount = countPoints(runs);
  const format = laz === null ? 'LAS' : plan.bounds === null ? 'LAZ' : 'COPC';
  return {
    name: source.name,
    format,
    formatDetail: `${format === 'LAS' ? '' : `${format}, `}LAS 1.${header.versionMinor}, record format ${header.recordFormat}`,
    kind: 'points',
    pointCount,
    triangleCount: 0,
    bounds: statedBounds(header, pointCount, notes),
    up: 'z',
    crsStatements: await readCrsStatements(source, records, notes),
    coordinateStep: header.scale,
    parts: plan.groups.map((group, index): FilePart => ({
      pointCount: countPoints(group),
      bounds: plan.bounds?.[index] ?? null,
      detail: { file, runs: group } satisfies LasPartDetail,
    })),
    notes,
  };
}

async function readLasPoints(source: ByteSource, description: FileDescription, part: number): Promise<PointBatch> {
  const filePart = description.parts[part];
  if (filePart === undefined) throw new RangeError(`Expected a part below ${description.parts.length}, got ${part}.`);
  const { file, runs } = filePart.detail as LasPartDetail;
  const records = await readRecords(source, file, runs, 'positions, colour, intensity, class');
  return decodePoints(records, filePart.pointCount, file.header, file.colourShift);
}

/** Groups of runs, one a part, and their bounds where the file tells them. */
interface Plan {
  readonly groups: readonly (readonly Chunk[])[];
  readonly bounds: readonly Bounds3[] | null;
}

/** Points end where the file does, or where the records behind them begin. */
function planPlain(
  source: ByteSource, header: LasHeader, extendedRecords: readonly VariableRecord[], options: ReadOptions, notes: string[],
): Plan {
  const behind = extendedRecords.length > 0 && header.extendedRecordOffset >= header.pointOffset;
  const end = behind ? header.extendedRecordOffset : source.size;
  const held = Math.floor((end - header.pointOffset) / header.recordLength);
  checkCount(source.name, header, held, options, notes);
  return { groups: planSlices(header, Math.min(held, header.pointCount)), bounds: null };
}

async function planCompressed(
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
    throw new InputError(source.name, `${table}; the file seems cut off (reading what is there must be asked for).`);
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

async function findLazSettings(source: ByteSource, header: LasHeader, records: readonly VariableRecord[]): Promise<LazSettings | null> {
  const record = records.find((each) => each.userId === lazOwner && each.recordId === lazRecordId);
  if (record === undefined) {
    if (header.compressed) throw new InputError(source.name, 'the format byte 104 marks compressed points, but there is no compression record.');
    return null;
  }
  if (!header.compressed) return null;
  const settings = readLazSettings(await readRecord(source, record), header, source.name);
  const unknown = unknownItem(settings);
  if (unknown !== null) {
    throw new InputError(source.name, `compression record: item type ${unknown.type} version ${unknown.version} is not known to this program.`);
  }
  return settings;
}

/** A file that holds fewer points than it promises is refused, or read as far as it goes when asked for. */
function checkCount(name: string, header: LasHeader, held: number, options: ReadOptions, notes: string[]): void {
  if (held >= header.pointCount) return;
  const words = `header promises ${header.pointCount} points, but the file holds ${held}`;
  if (!options.salvage) throw new InputError(name, `${words}; it seems cut off (reading what is there must be asked for).`);
  notes.push(`The ${words}; those were read.`);
}

/** The header's bounds, unless they cannot be bounds at all. */
function statedBounds(header: LasHeader, pointCount: number, notes: string[]): Bounds3 | null {
  if (pointCount === 0) return null;
  const { min, max } = header.bounds;
  const usable = min.every((low, axis) => Number.isFinite(low) && Number.isFinite(max[axis]!) && low <= max[axis]!);
  if (usable) return header.bounds;
  notes.push('The bounds in the header at bytes 179 to 226 are no bounds (minimum above maximum, or not a number) and were ignored.');
  return null;
}
