import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PointBatch } from '../point-batch.ts';
import type { Region } from '../region.ts';
import type { Bounds3, FileDescription, FilePart, ReadOptions, SurveyFileReader } from '../survey-file.ts';
import { readCrsStatements } from './crs-records.ts';
import { decodeBarePoints, decodePoints } from './decode-points.ts';
import { readExtraFields } from './extra-fields.ts';
import { boundsAreUsable, maximumHeaderSize, readLasHeader, type LasHeader } from './header.ts';
import { countPoints, type LasFile, type LasPartDetail } from './las-part.ts';
import { unknownItem } from './laz/decode-chunk.ts';
import { lazOwner, lazRecordId, readLazSettings, type LazSettings } from './laz/settings.ts';
import { lookAtPoints } from './look-at-points.ts';
import { planCompressed, planPlain } from './plan-parts.ts';
import { readRecords } from './read-records.ts';
import { runsTouching } from './runs-touching.ts';
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
    bounds: look.boundsHold ? statedBounds(header, pointCount, notes) : null,
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

async function readLasPoints(source: ByteSource, description: FileDescription, part: number, region: Region | null = null, attributes = true): Promise<PointBatch> {
  const filePart = description.parts[part];
  if (filePart === undefined) throw new RangeError(`Expected a part below ${description.parts.length}, got ${part}.`);
  const { file, runs } = filePart.detail as LasPartDetail;
  const kept = region === null ? runs : await runsTouching(source, file, runs, region);
  const records = await readRecords(source, file, kept, 'positions, colour, intensity, class');
  const pointCount = countPoints(kept);
  return attributes ? decodePoints(records, pointCount, file.header, file.colourShift) : decodeBarePoints(records, pointCount, file.header);
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

/** The header's bounds, unless they cannot be bounds at all. */
function statedBounds(header: LasHeader, pointCount: number, notes: string[]): Bounds3 | null {
  if (pointCount === 0) return null;
  if (boundsAreUsable(header)) return header.bounds;
  notes.push('The bounds in the header at bytes 179 to 226 are no bounds (minimum above maximum, or not a number) and were ignored.');
  return null;
}
