import { InputError } from '../../units/input-error.ts';
import { entryOf, type GltfJson, type GltfNode, type GltfPrimitive } from './gltf-json.ts';

/** Column by column, as glTF writes it; float64, so that a large translation high in the tree keeps its digits. */
export type Matrix4 = Float64Array;

/** A primitive where a node puts it. */
export interface PlacedPrimitive {
  readonly primitive: GltfPrimitive;
  readonly transform: Matrix4;
  /** For messages: "mesh 3, primitive 1". */
  readonly label: string;
}

const DEEPEST = 512;

/** All primitives of the shown scene with the transforms of their nodes multiplied down the tree. */
export function placedPrimitives(fileName: string, json: GltfJson): PlacedPrimitive[] {
  const placed: PlacedPrimitive[] = [];
  const path = new Set<number>();
  const visit = (index: number, parent: Matrix4): void => {
    const node = entryOf(fileName, json.nodes, index, 'node');
    if (path.has(index) || path.size > DEEPEST) throw new InputError(fileName, `node ${index} is its own ancestor, expected a tree of nodes.`);
    path.add(index);
    const transform = multiply(parent, localTransform(fileName, node, index));
    if (node.mesh !== undefined) {
      const { primitives } = entryOf(fileName, json.meshes, node.mesh, 'mesh');
      (primitives ?? []).forEach((primitive, k) => placed.push({ primitive, transform, label: `mesh ${node.mesh}, primitive ${k}` }));
    }
    for (const child of node.children ?? []) visit(child, transform);
    path.delete(index);
  };
  for (const root of rootNodes(fileName, json)) visit(root, identity());
  return placed;
}

function rootNodes(fileName: string, json: GltfJson): readonly number[] {
  if ((json.scenes?.length ?? 0) > 0) return entryOf(fileName, json.scenes, json.scene ?? 0, 'scene').nodes ?? [];
  const children = new Set((json.nodes ?? []).flatMap((node) => node.children ?? []));
  return (json.nodes ?? []).map((_, index) => index).filter((index) => !children.has(index));
}

const identity = (): Matrix4 => Float64Array.of(1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1);

function localTransform(fileName: string, node: GltfNode, index: number): Matrix4 {
  const numbers = (list: readonly number[] | undefined, usual: readonly number[], field: string): readonly number[] => {
    const found = list ?? usual;
    if (!Array.isArray(found) || found.length !== usual.length || !found.every(Number.isFinite)) {
      throw new InputError(fileName, `node ${index}: ${field} is ${JSON.stringify(list)}, expected ${usual.length} numbers.`);
    }
    return found;
  };
  if (node.matrix !== undefined) return Float64Array.from(numbers(node.matrix, [...identity()], 'matrix'));
  const [tx, ty, tz] = numbers(node.translation, [0, 0, 0], 'translation') as [number, number, number];
  const [x, y, z, w] = numbers(node.rotation, [0, 0, 0, 1], 'rotation') as [number, number, number, number];
  const [sx, sy, sz] = numbers(node.scale, [1, 1, 1], 'scale') as [number, number, number];
  // A quaternion written in single precision is not quite of unit length; dividing by its square makes a pure rotation of it.
  const s = 2 / (x * x + y * y + z * z + w * w || 1);
  return Float64Array.of(
    (1 - s * (y * y + z * z)) * sx, s * (x * y + z * w) * sx, s * (x * z - y * w) * sx, 0,
    s * (x * y - z * w) * sy, (1 - s * (x * x + z * z)) * sy, s * (y * z + x * w) * sy, 0,
    s * (x * z + y * w) * sz, s * (y * z - x * w) * sz, (1 - s * (x * x + y * y)) * sz, 0,
    tx, ty, tz, 1,
  );
}

function multiply(a: Matrix4, b: Matrix4): Matrix4 {
  const product = new Float64Array(16);
  for (let column = 0; column < 4; column++) {
    for (let row = 0; row < 4; row++) {
      let sum = 0;
      for (let k = 0; k < 4; k++) sum += a[4 * k + row]! * b[4 * column + k]!;
      product[4 * column + row] = sum;
    }
  }
  return product;
}

/** Positions `n × 3` moved by a transform, written from an offset on. */
export function transformInto(m: Matrix4, positions: Float64Array, into: Float64Array, offset: number): void {
  for (let i = 0; i < positions.length; i += 3) {
    const [x, y, z] = [positions[i]!, positions[i + 1]!, positions[i + 2]!];
    into[offset + i] = m[0]! * x + m[4]! * y + m[8]! * z + m[12]!;
    into[offset + i + 1] = m[1]! * x + m[5]! * y + m[9]! * z + m[13]!;
    into[offset + i + 2] = m[2]! * x + m[6]! * y + m[10]! * z + m[14]!;
  }
}

/** True when a transform mirrors, which turns every triangle over. */
export function isMirror(m: Matrix4): boolean {
  const determinant =
    m[0]! * (m[5]! * m[10]! - m[9]! * m[6]!) - m[4]! * (m[1]! * m[10]! - m[9]! * m[2]!) + m[8]! * (m[1]! * m[6]! - m[5]! * m[2]!);
  return determinant < 0;
}
