import type { Mesh } from '../../cloud/mesh.ts';
import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PointBatch } from '../point-batch.ts';
import type { FileDescription, FilePart, ReadOptions, SurveyFileReader } from '../survey-file.ts';
import { crsFromComments } from '../text/crs-comment.ts';
import { readPlyHeader, type PlyHeader } from './ply-header.ts';
import { surfaceLayout, unusedElements, vertexLayout } from './ply-layout.ts';
import { readPlyMesh } from './ply-mesh.ts';
import { readPlyPoints } from './ply-points.ts';
import { scanElements, type ElementRange } from './ply-scan.ts';
import { guessScales, type PlyScales } from './ply-scales.ts';

/** Private to this reader: where rows stand, and what was decided from the first of them. */
export interface PlyPartDetail {
  readonly ranges: readonly ElementRange[];
  readonly scales: PlyScales;
  /** Leaves points without finite coordinates out instead of refusing the file. */
  readonly salvage: boolean;
  /** Row range of this part within the vertex element. */
  readonly begin: number;
  readonly rowCount: number;
}

const ENCODING_NAMES = { ascii: 'ascii', little: 'binary little-endian', big: 'binary big-endian' } as const;

/** Reader of PLY: points or a surface, ascii or binary in both byte orders. */
export const plyReader: SurveyFileReader = {
  recognises: (head) => head[0] === 0x70 && head[1] === 0x6c && head[2] === 0x79 && (head[3] === 10 || head[3] === 13 || head[3] === 32),
  describe: describePly,
  readPoints: (source, description, part) => readPart(source, description, part, readPlyPoints),
  readMesh: (source, description) => readPart(source, description, 0, readPlyMesh),
};

async function describePly(source: ByteSource, { salvage }: ReadOptions): Promise<FileDescription> {
  if (source.size === 0) throw new InputError(source.name, 'the file is empty (0 bytes), expected a PLY file.');
  const header = await readPlyHeader(source);
  const vertex = vertexLayout(header, source.name);
  const surface = surfaceLayout(header);
  const scan = await scanElements(source, header, vertex.element, surface, salvage);
  const promised = header.elements[vertex.element]!.count;
  const scales = await guessScales(source, header, vertex, scan.ranges[vertex.element]!);
  const unused = unusedElements(header, surface ? [vertex.element, surface.element] : [vertex.element]);
  const notes = [...header.notes, ...scan.notes];
  for (const { name, count } of unused) notes.push(`Element "${name}" (${count} rows) is not used.`);
  const vertexCount = scan.ranges[vertex.element]!.rowCount;
  if (promised === 0) notes.push('The file holds no vertex.');
  const shared = { ranges: scan.ranges, scales, salvage };
  const kind = surface ? 'mesh' : 'points';
  const parts: FilePart[] = surface
    ? [{ pointCount: 0, bounds: null, detail: { ...shared, begin: 0, rowCount: 0 } satisfies PlyPartDetail }]
    : scan.vertexParts.map((range) => ({ pointCount: range.rowCount, bounds: null, detail: { ...shared, ...range } satisfies PlyPartDetail }));
  return {
    name: source.name,
    format: 'PLY',
    formatDetail: `PLY ${ENCODING_NAMES[header.encoding]}, ${vertexCount} vertices${surface ? `, ${scan.ranges[surface.element]!.rowCount} ${surface.kind}` : ''}`,
    kind,
    pointCount: surface ? 0 : vertexCount,
    triangleCount: scan.triangleCount,
    bounds: null,
    up: 'z',
    crsStatements: crsFromComments(header.comments),
    coordinateStep: null,
    parts,
    notes,
  };
}

async function readPart<Result extends PointBatch | Mesh>(
  source: ByteSource,
  description: FileDescription,
  part: number,
  read: (source: ByteSource, header: PlyHeader, detail: PlyPartDetail) => Promise<Result>,
): Promise<Result> {
  const detail = description.parts[part]?.detail as PlyPartDetail | undefined;
  if (!detail) throw new RangeError(`${source.name} has ${description.parts.length} parts, got number ${part}.`);
  return read(source, await readPlyHeader(source), detail);
}
