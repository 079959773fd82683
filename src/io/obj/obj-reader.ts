import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PointBatch } from '../point-batch.ts';
import { PointCollector } from '../point-collector.ts';
import type { FileDescription, FilePart, ReadOptions, SurveyFileReader } from '../survey-file.ts';
import { crsFromComments } from '../text/crs-comment.ts';
import { withoutByteOrderMark } from '../text/utf16-source.ts';
import { eachObjLine } from './obj-lines.ts';
import { findMaterials, type MaterialLibrary } from './obj-materials.ts';
import { readObjMesh } from './obj-mesh.ts';
import { scanObj } from './obj-scan.ts';
import { addVertex, type ObjColours } from './obj-vertex.ts';

/** Private to this reader. Bytes are counted after a byte order mark. */
export interface ObjPartDetail {
  readonly begin: number;
  readonly end: number;
  readonly vertexCount: number;
  readonly colours: ObjColours;
  /** Where its materials stand. */
  readonly libraries: readonly MaterialLibrary[];
}

/** Reader of OBJ: a surface from its polygons, or points when it has none; drawn with pictures where its materials are at hand. */
export const objReader: SurveyFileReader = {
  recognises: (head, name) => /\.obj$/i.test(name) && head[0] !== 0x4c,
  describe: describeObj,
  async readPoints(source, description, part) {
    const detail = detailOf(description, part);
    const text = await withoutByteOrderMark(source);
    return readObjPoints(text, detail);
  },
  async readMesh(source, description, beside = []) {
    const detail = detailOf(description, 0);
    return readObjMesh(await withoutByteOrderMark(source), detail, beside.length > 0 ? await findMaterials(source.name, detail.libraries, beside) : null);
  },
};

async function describeObj(source: ByteSource, _: ReadOptions, beside: readonly ByteSource[] = []): Promise<FileDescription> {
  if (source.size === 0) throw new InputError(source.name, 'the file is empty (0 bytes), expected an OBJ file.');
  const text = await withoutByteOrderMark(source);
  const scan = await scanObj(text);
  if (scan.vertexCount === 0) throw new InputError(source.name, 'holds no vertex, expected lines "v x y z".');
  const isMesh = scan.triangleCount > 0;
  const parts: FilePart[] = isMesh
    ? [{ pointCount: 0, bounds: null, detail: { begin: 0, end: text.size, vertexCount: scan.vertexCount, colours: scan.colours, libraries: scan.libraries } satisfies ObjPartDetail }]
    : scan.parts.map((part) => ({ pointCount: part.vertexCount, bounds: null, detail: { ...part, colours: scan.colours, libraries: scan.libraries } satisfies ObjPartDetail }));
  return {
    name: source.name,
    format: 'OBJ',
    formatDetail: `OBJ, ${scan.vertexCount} vertices${isMesh ? `, ${scan.faceCount} faces` : ''}`,
    kind: isMesh ? 'mesh' : 'points',
    pointCount: isMesh ? 0 : scan.vertexCount,
    triangleCount: scan.triangleCount,
    bounds: scan.bounds,
    up: 'z',
    crsStatements: crsFromComments(scan.comments),
    coordinateStep: null,
    parts,
    notes: [...(await notesOnMaterials(source.name, scan.libraries, beside)), ...scan.notes],
  };
}

async function notesOnMaterials(fileName: string, libraries: readonly MaterialLibrary[], beside: readonly ByteSource[]): Promise<readonly string[]> {
  if (libraries.length === 0) return [];
  return beside.length === 0 ? ['Materials and textures stand in another file and are not shown.'] : (await findMaterials(fileName, libraries, beside)).notes;
}

async function readObjPoints(source: ByteSource, detail: ObjPartDetail): Promise<PointBatch> {
  const points = new PointCollector({ colours: detail.colours.some, intensity: false, classification: false }, detail.vertexCount);
  await eachObjLine(source, detail.begin, detail.end, (line) => {
    if (line.keyword === 'v') addVertex(source.name, line, points, detail.colours);
  });
  return points.finish();
}

function detailOf(description: FileDescription, part: number): ObjPartDetail {
  const detail = description.parts[part]?.detail as ObjPartDetail | undefined;
  if (!detail) throw new RangeError(`${description.name} has ${description.parts.length} parts, got number ${part}.`);
  return detail;
}
