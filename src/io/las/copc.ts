import type { Vector3 } from '../../geometry/vector.ts';
import type { ByteSource } from '../byte-source.ts';
import type { Bounds3 } from '../survey-file.ts';
import type { Chunk } from './laz/chunk-table.ts';

/** The information record of a COPC file (COPC 1.0). */
export interface CopcInfo {
  readonly center: Vector3;
  /** Half the side of the root cube. [source unit] */
  readonly halfSize: number;
  readonly rootBegin: number;
  readonly rootSize: number;
}

/** A node that holds points: its chunk, and the cube all its points lie in. */
export interface CopcNode {
  readonly chunk: Chunk;
  readonly bounds: Bounds3;
}

export const copcOwner = 'copc';
export const copcInfoRecord = 1;
/** The information record is always the first record behind a header of 375 bytes. */
export const copcInfoAt = 375;
const ENTRY = 32;
/** More pages or nodes than this in one file are taken for damage. */
const MAXIMUM_PAGES = 100_000;
const MAXIMUM_NODES = 10_000_000;

export function readCopcInfo(contents: Uint8Array): CopcInfo | null {
  if (contents.length < 56) return null;
  const view = new DataView(contents.buffer, contents.byteOffset, contents.byteLength);
  const double = (at: number): number => view.getFloat64(at, true);
  return {
    center: [double(0), double(8), double(16)],
    halfSize: double(24),
    rootBegin: Number(view.getBigUint64(40, true)),
    rootSize: Number(view.getBigUint64(48, true)),
  };
}

/**
 * Walks all pages of the hierarchy.
 *
 * @returns The nodes in order of level, x, y, z; or in words what is wrong with the hierarchy.
 */
export async function readHierarchy(source: ByteSource, info: CopcInfo): Promise<CopcNode[] | string> {
  const nodes: { key: readonly [number, number, number, number]; node: CopcNode }[] = [];
  const pages = [{ begin: info.rootBegin, size: info.rootSize }];
  const seen = new Set<number>();
  for (let page = 0; page < pages.length; page++) {
    const { begin, size } = pages[page]!;
    if (seen.has(begin) || pages.length > MAXIMUM_PAGES) return `page at byte ${begin} is named twice`;
    seen.add(begin);
    if (size % ENTRY !== 0 || size < 0 || begin < 0 || begin + size > source.size) return `page at byte ${begin} of ${size} bytes does not lie inside the file`;
    const bytes = await source.read(begin, begin + size);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    for (let at = 0; at < size; at += ENTRY) {
      const key = [0, 4, 8, 12].map((field) => view.getInt32(at + field, true)) as [number, number, number, number];
      const offset = Number(view.getBigUint64(at + 16, true));
      const byteSize = view.getInt32(at + 24, true);
      const pointCount = view.getInt32(at + 28, true);
      if (pointCount === -1) {
        pages.push({ begin: offset, size: byteSize });
      } else if (pointCount > 0) {
        if (byteSize <= 0 || offset + byteSize > source.size) return `node ${key.join('-')} does not lie inside the file`;
        if (nodes.length >= MAXIMUM_NODES) return 'has more nodes than any file needs';
        nodes.push({ key, node: { chunk: { begin: offset, end: offset + byteSize, pointCount }, bounds: nodeBounds(info, key) } });
      } else if (pointCount < -1) {
        return `node ${key.join('-')} has ${pointCount} points`;
      }
    }
  }
  nodes.sort((a, b) => a.key[0] - b.key[0] || a.key[1] - b.key[1] || a.key[2] - b.key[2] || a.key[3] - b.key[3]);
  return nodes.map(({ node }) => node);
}

/** The root cube is halved at every level. */
function nodeBounds(info: CopcInfo, [level, ...place]: readonly [number, number, number, number]): Bounds3 {
  const side = (2 * info.halfSize) / 2 ** level;
  const min = info.center.map((middle, axis) => middle - info.halfSize + place[axis]! * side) as unknown as Vector3;
  return { min, max: [min[0] + side, min[1] + side, min[2] + side] };
}
