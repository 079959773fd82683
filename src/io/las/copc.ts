import type { Vector3 } from '../../geometry/vector.ts';
import type { ByteSource } from '../byte-source.ts';
import type { Bounds3 } from '../survey-file.ts';
import { wrongPointCount, type Chunk } from './laz/chunk-table.ts';

/** The information record of a COPC file (COPC 1.0). */
export interface CopcInfo {
  readonly center: Vector3;
  /** Half the side of the root cube. [source unit] */
  readonly halfSize: number;
  readonly rootBegin: number;
  readonly rootSize: number;
}

/** Nodes read together: their chunks, and a box all their points lie in. */
export interface CopcNodes {
  readonly chunks: readonly Chunk[];
  readonly bounds: Bounds3;
}

type NodeKey = readonly [level: number, x: number, y: number, z: number];

interface CopcNode {
  readonly key: NodeKey;
  readonly chunk: Chunk;
}

export const copcOwner = 'copc';
export const copcInfoRecord = 1;
/** The information record is always the first record behind a header of 375 bytes. */
export const copcInfoAt = 375;
const ENTRY = 32;
/** More pages or nodes than this in one file are taken for damage. */
const MAXIMUM_PAGES = 100_000;
const MAXIMUM_NODES = 10_000_000;
/**
 * Nodes of one parent are read together up to this many points: a message for a handful of points costs more than the
 * points, and what a region of interest decodes beyond its need stays small.
 */
const GATHERED_POINTS = 50_000;

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
 * @returns Groups of nodes by level, then x, y, z of their first node; or in words what is wrong with the hierarchy.
 */
export async function readHierarchy(source: ByteSource, info: CopcInfo): Promise<CopcNodes[] | string> {
  const nodes: CopcNode[] = [];
  const pages = [{ begin: info.rootBegin, size: info.rootSize }];
  const seen = new Set<number>();
  for (let page = 0; page < pages.length; page++) {
    const { begin, size } = pages[page]!;
    if (seen.has(begin) || pages.length > MAXIMUM_PAGES) return `page at byte ${begin} is named twice`;
    seen.add(begin);
    if (size % ENTRY !== 0 || size < 0 || begin + size > source.size) return `page at byte ${begin} of ${size} bytes does not lie inside the file`;
    const wrong = readPage(await source.read(begin, begin + size), source.size, pages, nodes);
    if (wrong !== null) return wrong;
  }
  nodes.sort((a, b) => a.key[0] - b.key[0] || a.key[1] - b.key[1] || a.key[2] - b.key[2] || a.key[3] - b.key[3]);
  return gatherSiblings(nodes).map((group) => ({
    chunks: group.map(({ chunk }) => chunk),
    bounds: group.map(({ key }) => nodeBounds(info, key)).reduce(union),
  }));
}

/** Adds the nodes and further pages of one page. @returns In words what is wrong with it, or null. */
function readPage(bytes: Uint8Array, fileSize: number, pages: { begin: number; size: number }[], nodes: CopcNode[]): string | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  for (let at = 0; at < bytes.length; at += ENTRY) {
    const key: NodeKey = [view.getInt32(at, true), view.getInt32(at + 4, true), view.getInt32(at + 8, true), view.getInt32(at + 12, true)];
    const begin = Number(view.getBigUint64(at + 16, true));
    const size = view.getInt32(at + 24, true);
    const pointCount = view.getInt32(at + 28, true);
    if (pointCount === -1) pages.push({ begin, size });
    if (pointCount <= 0) continue;
    const wrong = begin + size > fileSize || size <= 0 ? 'does not lie inside the file' : wrongPointCount(pointCount, size);
    if (wrong !== null) return `node ${key.join('-')} ${wrong}`;
    if (nodes.length >= MAXIMUM_NODES) return 'it has more nodes than any file needs';
    nodes.push({ key, chunk: { begin, end: begin + size, pointCount } });
  }
  return null;
}

function gatherSiblings(nodes: readonly CopcNode[]): CopcNode[][] {
  const groups: CopcNode[][] = [];
  const open = new Map<string, { group: CopcNode[]; points: number }>();
  for (const node of nodes) {
    const [level, x, y, z] = node.key;
    const parent = `${level} ${x >> 1} ${y >> 1} ${z >> 1}`;
    const last = open.get(parent);
    if (last !== undefined && last.points + node.chunk.pointCount <= GATHERED_POINTS) {
      last.group.push(node);
      last.points += node.chunk.pointCount;
    } else {
      const group = [node];
      groups.push(group);
      open.set(parent, { group, points: node.chunk.pointCount });
    }
  }
  return groups;
}

/** The root cube is halved at every level. */
function nodeBounds(info: CopcInfo, [level, x, y, z]: NodeKey): Bounds3 {
  const side = (2 * info.halfSize) / 2 ** level;
  const min: Vector3 = [
    info.center[0] - info.halfSize + x * side,
    info.center[1] - info.halfSize + y * side,
    info.center[2] - info.halfSize + z * side,
  ];
  return { min, max: [min[0] + side, min[1] + side, min[2] + side] };
}

const union = (a: Bounds3, b: Bounds3): Bounds3 => ({
  min: [Math.min(a.min[0], b.min[0]), Math.min(a.min[1], b.min[1]), Math.min(a.min[2], b.min[2])],
  max: [Math.max(a.max[0], b.max[0]), Math.max(a.max[1], b.max[1]), Math.max(a.max[2], b.max[2])],
});
