import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { GltfJson } from './gltf-json.ts';

/** A glTF file taken apart: its description, and where its binary chunk stands. */
export interface GltfContainer {
  readonly json: GltfJson;
  /** Byte range of the first binary chunk; null without one. */
  readonly binary: { readonly begin: number; readonly end: number } | null;
  readonly version: string;
  readonly notes: readonly string[];
}

const MAGIC = 0x46546c67;
const JSON_CHUNK = 0x4e4f534a;
const BINARY_CHUNK = 0x004e4942;
const HEADER = 12;
const CHUNK_HEADER = 8;

/** Reads the container (glTF 2.0, ISO/IEC 12113, chapter 4 "GLB File Format"), or a JSON file with everything embedded. */
export async function openGltf(source: ByteSource): Promise<GltfContainer> {
  const { name, size } = source;
  const head = await viewOf(source, 0, Math.min(HEADER, size));
  if (size > 0 && head.getUint8(0) === 0x7b) return { json: parseJson(name, await source.read(0, size), []), binary: null, version: '2.0', notes: [] };
  if (size < HEADER) throw new InputError(name, `${size} bytes, expected at least the 12 of a GLB header.`);
  if (head.getUint32(0, true) !== MAGIC) throw new InputError(name, 'does not begin with "glTF".');
  const version = head.getUint32(4, true);
  if (version !== 2) throw new InputError(name, `GLB version ${version} at byte 4, expected 2.`);
  const stated = head.getUint32(8, true);
  if (stated > size) throw new InputError(name, `the header states ${stated} bytes and the file holds ${size}: it was cut short.`);
  const notes: string[] = [];
  if (stated < size) notes.push(`${size - stated} bytes behind the stated end were left out.`);
  const chunks = await readChunks(source, stated, notes);
  if (chunks[0]?.type !== JSON_CHUNK) throw new InputError(name, 'the first chunk at byte 12 is not the JSON description, expected "JSON".');
  const json = parseJson(name, await source.read(chunks[0].begin, chunks[0].end), notes);
  const rest = chunks.slice(1);
  const binary = rest.find(({ type }) => type === BINARY_CHUNK) ?? null;
  const unused = rest.filter((chunk) => chunk !== binary).length;
  if (unused > 0) notes.push(`${unused} further chunks are not used.`);
  return { json, binary: binary && { begin: binary.begin, end: binary.end }, version: json.asset?.version ?? '2.0', notes };
}

interface Chunk {
  readonly type: number;
  readonly begin: number;
  readonly end: number;
}

async function readChunks(source: ByteSource, stated: number, notes: string[]): Promise<Chunk[]> {
  const chunks: Chunk[] = [];
  for (let at = HEADER; at < stated; ) {
    if (at + CHUNK_HEADER > stated) {
      notes.push(`${stated - at} bytes at byte ${at} are too few for a chunk.`);
      break;
    }
    const head = await viewOf(source, at, at + CHUNK_HEADER);
    const begin = at + CHUNK_HEADER;
    const end = begin + head.getUint32(0, true);
    if (end > stated) throw new InputError(source.name, `the chunk at byte ${at} states ${end - begin} bytes and ${stated - begin} follow.`);
    chunks.push({ type: head.getUint32(4, true), begin, end });
    at = end;
  }
  return chunks;
}

async function viewOf(source: ByteSource, begin: number, end: number): Promise<DataView> {
  const bytes = await source.read(begin, end);
  return new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

function parseJson(name: string, bytes: Uint8Array, notes: string[]): GltfJson {
  if (bytes[0] === 0xef && bytes[1] === 0xbb) notes.push('A byte order mark before the JSON description was left out.');
  let json: unknown;
  try {
    json = JSON.parse(new TextDecoder().decode(bytes));
  } catch (error) {
    throw new InputError(name, `the JSON description cannot be read (${error instanceof Error ? error.message : String(error)}).`);
  }
  if (typeof json !== 'object' || json === null || Array.isArray(json)) throw new InputError(name, 'the JSON description is not an object.');
  return json as GltfJson;
}
