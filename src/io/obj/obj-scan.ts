import { InputError } from '../../units/input-error.ts';
import { BoundsCollector } from '../bounds-collector.ts';
import type { ByteSource } from '../byte-source.ts';
import type { Bounds3 } from '../survey-file.ts';
import { eachObjLine, type ObjLine } from './obj-lines.ts';
import { wordsFrom, type MaterialLibrary } from './obj-materials.ts';
import { faceCorners, hasColour, type ObjColours } from './obj-vertex.ts';

export interface ObjScan {
  readonly vertexCount: number;
  readonly faceCount: number;
  readonly triangleCount: number;
  readonly bounds: Bounds3 | null;
  readonly colours: ObjColours;
  readonly comments: readonly string[];
  /** Byte ranges with at most a million vertices each. */
  readonly parts: readonly { readonly begin: number; readonly end: number; readonly vertexCount: number }[];
  readonly libraries: readonly MaterialLibrary[];
  readonly notes: readonly string[];
}

const VERTICES_PER_PART = 1_000_000;
/** Statements that say nothing about shape, or only about looks. */
const LOOKS = new Set(['vn', 'vt', 'vp', 'g', 'o', 's', 'mg', 'usemtl', 'bevel', 'c_interp', 'd_interp', 'lod', 'shadow_obj', 'trace_obj', 'usemap']);
const FREE_FORM = new Set(['curv', 'curv2', 'surf', 'cstype', 'deg', 'bmat', 'step', 'parm', 'trim', 'hole', 'scrv', 'sp', 'end', 'con']);

/** Counts what an OBJ file holds, checks that its faces name vertices it has, and marks where its parts begin. */
export async function scanObj(source: ByteSource): Promise<ObjScan> {
  const corners: number[] = [];
  const bounds = new BoundsCollector();
  const unknown = new Map<string, number>();
  const begins: number[] = [];
  let vertexCount = 0;
  let colouredCount = 0;
  let largestShare = 0;
  let faceCount = 0;
  let triangleCount = 0;
  let thinFaceCount = 0;
  let otherCount = 0;
  const libraries: MaterialLibrary[] = [];
  let highest = { vertex: -1, line: 0 };

  const scanVertex = ({ tokens, at }: ObjLine): void => {
    if (vertexCount % VERTICES_PER_PART === 0) begins.push(at);
    vertexCount++;
    if (tokens.count >= 4) bounds.add(tokens.number(1), tokens.number(2), tokens.number(3));
    if (!hasColour(tokens.count)) return;
    colouredCount++;
    for (let k = 4; k < 7; k++) if (tokens.number(k) > largestShare) largestShare = tokens.number(k);
  };
  const scanFace = (line: ObjLine): void => {
    const count = faceCorners(source.name, line, vertexCount, corners);
    if (count < 3) {
      thinFaceCount++;
      return;
    }
    for (let i = 0; i < count; i++) if (corners[i]! > highest.vertex) highest = { vertex: corners[i]!, line: line.lineNumber };
    faceCount++;
    triangleCount += count - 2;
  };
  await eachObjLine(source, 0, source.size, (line) => {
    if (line.keyword === 'v') scanVertex(line);
    else if (line.keyword === 'f' || line.keyword === 'fo') scanFace(line);
    else if (line.keyword === 'l' || line.keyword === 'p') otherCount++;
    else if (line.keyword === 'mtllib') libraries.push({ words: wordsFrom(line.tokens, 1).split(' '), line: line.lineNumber });
    else if (!LOOKS.has(line.keyword)) unknown.set(line.keyword, (unknown.get(line.keyword) ?? 0) + 1);
  });
  if (highest.vertex >= vertexCount) {
    throw new InputError(source.name, `line ${highest.line}: a face names vertex ${highest.vertex + 1}, the file holds ${vertexCount}.`);
  }

  const notes: string[] = [];
  if (thinFaceCount > 0) notes.push(`Faces with fewer than three corners: ${thinFaceCount}, left out.`);
  if (otherCount > 0) notes.push(`Line and point elements: ${otherCount}, left out.`);
  if (colouredCount > 0 && colouredCount < vertexCount) notes.push(`${vertexCount - colouredCount} of ${vertexCount} vertices have no colour and are shown grey.`);
  if ([...unknown.keys()].some((keyword) => FREE_FORM.has(keyword))) notes.push('Free-form curves and surfaces are not read.');
  const odd = [...unknown].filter(([keyword]) => !FREE_FORM.has(keyword));
  if (odd.length > 0) notes.push(`${odd.reduce((sum, [, count]) => sum + count, 0)} lines were not understood, the first begins with "${odd[0]![0].slice(0, 20)}".`);
  return {
    vertexCount,
    faceCount,
    triangleCount,
    bounds: bounds.finish(),
    colours: { some: colouredCount > 0, factor: largestShare > 1 ? 1 : 255 },
    comments: await headComments(source),
    parts: begins.map((begin, part) => ({
      begin,
      end: begins[part + 1] ?? source.size,
      vertexCount: Math.min(VERTICES_PER_PART, vertexCount - part * VERTICES_PER_PART),
    })),
    libraries,
    notes,
  };
}

async function headComments(source: ByteSource): Promise<string[]> {
  const head = await source.read(0, Math.min(source.size, 4096));
  return String.fromCharCode(...head).split(/[\r\n]+/).filter((line) => line.startsWith('#')).map((line) => line.slice(1).trim());
}
