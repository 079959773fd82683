import { InputError } from '../../units/input-error.ts';
import type { GltfBuffers } from './gltf-buffers.ts';
import { entryOf, type GltfAccessor, type GltfJson } from './gltf-json.ts';

const COMPONENTS: Readonly<Record<string, number>> = { SCALAR: 1, VEC2: 2, VEC3: 3, VEC4: 4 };
const COMPONENT_SIZE: Readonly<Record<number, number>> = { 5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4 };
/** Greatest stored value of the normalised integer kinds. */
const FULL_SCALE: Readonly<Record<number, number>> = { 5120: 127, 5121: 255, 5122: 32767, 5123: 65535 };

/** Numbers of an accessor, `count × components`, normalised integers as shares of 1. */
export interface AccessorNumbers {
  readonly count: number;
  readonly components: number;
  readonly values: Float64Array;
}

/**
 * Reads an accessor of any component kind, stride and offset, sparse ones too (glTF 2.0, chapter 3.6.2).
 *
 * @throws InputError when it reaches outside its buffer view or has an unknown kind.
 */
export async function readAccessor(fileName: string, json: GltfJson, buffers: GltfBuffers, index: number | undefined): Promise<AccessorNumbers> {
  const accessor = entryOf(fileName, json.accessors, index, 'accessor');
  const components = COMPONENTS[accessor.type ?? ''];
  const count = accessorCount(fileName, accessor, index!);
  if (components === undefined) throw new InputError(fileName, `accessor ${index} has type ${accessor.type}, expected a scalar or vector.`);
  const view = accessor.bufferView === undefined ? null : await buffers.view(accessor.bufferView);
  if (!view && count * components > 2 ** 28) throw new InputError(fileName, `accessor ${index} states ${count} entries and has no data.`);
  if (view) checkReach(fileName, json, accessor, index!, components, view.length);
  const values = new Float64Array(count * components);
  if (view) {
    const stride = strideOf(json, accessor, components);
    unpack(view, accessor.byteOffset ?? 0, stride, accessor.componentType!, accessor.normalized ?? false, count, components, values);
  }
  if (accessor.sparse) await replaceSparse(fileName, accessor, index!, buffers, components, values);
  return { count, components, values };
}

export function accessorCount(fileName: string, { count }: GltfAccessor, index: number): number {
  if (!Number.isSafeInteger(count) || count! < 0) throw new InputError(fileName, `accessor ${index} has count ${count}, expected a whole number.`);
  return count!;
}

function strideOf(json: GltfJson, accessor: GltfAccessor, components: number): number {
  const stated = json.bufferViews?.[accessor.bufferView!]?.byteStride;
  return stated && stated > 0 ? stated : components * COMPONENT_SIZE[accessor.componentType!]!;
}

function checkReach(fileName: string, json: GltfJson, accessor: GltfAccessor, index: number, components: number, held: number): void {
  const size = COMPONENT_SIZE[accessor.componentType ?? 0];
  if (size === undefined) throw new InputError(fileName, `accessor ${index} has component type ${accessor.componentType}, expected 5120 to 5126.`);
  const offset = accessor.byteOffset ?? 0;
  const end = accessor.count === 0 ? 0 : offset + (accessor.count! - 1) * strideOf(json, accessor, components) + components * size;
  if (!(offset >= 0) || end > held) throw new InputError(fileName, `accessor ${index} ends at byte ${end} of its buffer view, which holds ${held}.`);
}

function unpack(
  bytes: Uint8Array, offset: number, stride: number, componentType: number, normalized: boolean, count: number, components: number, into: Float64Array,
): void {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const size = COMPONENT_SIZE[componentType]!;
  const full = normalized ? (FULL_SCALE[componentType] ?? 1) : 1;
  for (let i = 0, to = 0; i < count; i++) {
    for (let k = 0, at = offset + i * stride; k < components; k++, at += size) {
      const value = readComponent(view, at, componentType);
      into[to++] = full === 1 ? value : Math.max(-1, value / full);
    }
  }
}

function readComponent(view: DataView, at: number, componentType: number): number {
  switch (componentType) {
    case 5120: return view.getInt8(at);
    case 5121: return view.getUint8(at);
    case 5122: return view.getInt16(at, true);
    case 5123: return view.getUint16(at, true);
    case 5125: return view.getUint32(at, true);
    default: return view.getFloat32(at, true);
  }
}

async function replaceSparse(fileName: string, accessor: GltfAccessor, index: number, buffers: GltfBuffers, components: number, into: Float64Array): Promise<void> {
  const { count, indices, values } = accessor.sparse!;
  const size = COMPONENT_SIZE[accessor.componentType ?? 0] ?? 4;
  const indexBytes = await buffers.view(indices.bufferView);
  const valueBytes = await buffers.view(values.bufferView);
  const indexSize = COMPONENT_SIZE[indices.componentType] ?? 4;
  const [indexAt, valueAt] = [indices.byteOffset ?? 0, values.byteOffset ?? 0];
  if (!(count >= 0) || indexAt + count * indexSize > indexBytes.length || valueAt + count * components * size > valueBytes.length) {
    throw new InputError(fileName, `the sparse part of accessor ${index} reaches outside its buffer views.`);
  }
  const places = new Float64Array(count);
  const numbers = new Float64Array(count * components);
  unpack(indexBytes, indexAt, indexSize, indices.componentType, false, count, 1, places);
  unpack(valueBytes, valueAt, components * size, accessor.componentType!, accessor.normalized ?? false, count, components, numbers);
  for (let i = 0; i < count; i++) {
    if (places[i]! * components >= into.length) throw new InputError(fileName, `the sparse part of accessor ${index} names entry ${places[i]}.`);
    into.set(numbers.subarray(i * components, (i + 1) * components), places[i]! * components);
  }
}
