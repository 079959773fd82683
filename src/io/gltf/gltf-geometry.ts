import type { Mesh } from '../../cloud/mesh.ts';
import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import { GrowingArray } from '../growing-array.ts';
import type { PointBatch } from '../point-batch.ts';
import { toByte } from '../point-collector.ts';
import { eachStripTriangle } from '../../geometry/triangle-strip.ts';
import { readAccessor } from './accessor.ts';
import type { GltfContainer } from './glb-container.ts';
import { isPoints, isSurface } from './glb-reader.ts';
import { GltfBuffers } from './gltf-buffers.ts';
import { MODE, type GltfJson } from './gltf-json.ts';
import { baseTexture, moveTextureCoordinatesInPlace, drawnImages, readImage } from './gltf-texture.ts';
import { isMirror, placedPrimitives, transformInto, type PlacedPrimitive } from './node-transforms.ts';

interface Reading {
  readonly source: ByteSource;
  readonly json: GltfJson;
  readonly buffers: GltfBuffers;
}

/** Points of one placed primitive. */
export async function readGltfPoints(source: ByteSource, container: GltfContainer, part: number): Promise<PointBatch> {
  const reading = { source, json: container.json, buffers: new GltfBuffers(source, container) };
  const one = placedPrimitives(source.name, container.json).filter(isPoints)[part];
  if (!one) throw new RangeError(`${source.name} has no part ${part}.`);
  const positions = await placedPositions(reading, one);
  return { pointCount: positions.length / 3, positions, colours: await vertexColours(reading, one, positions.length / 3), intensity: null, classification: null };
}

/** The whole surface of the shown scene as one mesh. */
export async function readGltfMesh(source: ByteSource, container: GltfContainer): Promise<Mesh> {
  const reading = { source, json: container.json, buffers: new GltfBuffers(source, container) };
  const placed = placedPrimitives(source.name, container.json).filter(isSurface);
  const { images, numbers } = drawnImages(container.json, placed);
  const positions = new GrowingArray<Float64Array<ArrayBuffer>>(Float64Array);
  const triangles = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);
  const colourParts: (Uint8Array | null)[] = [];
  const textureParts: (Float64Array | null)[] = [];
  const counts: number[] = [];
  const triangleCounts: number[] = [];
  for (const [index, one] of placed.entries()) {
    const moved = await placedPositions(reading, one);
    const first = positions.length / 3;
    positions.reserve(positions.length + moved.length);
    positions.values.set(moved, positions.length);
    positions.length += moved.length;
    const before = triangles.length;
    await addTriangles(reading, one, first, moved.length / 3, triangles);
    triangleCounts.push((triangles.length - before) / 3);
    counts.push(moved.length / 3);
    colourParts.push(await vertexColours(reading, one, moved.length / 3));
    textureParts.push(numbers[index] === 0 ? null : await textureCoordinates(reading, one));
  }
  // Without coordinates a picture has no place.
  const pictureOf = new Uint16Array(triangles.length / 3);
  let filled = 0;
  triangleCounts.forEach((count, index) => pictureOf.fill(textureParts[index] ? numbers[index]! : 0, filled, (filled += count)));
  const pictures = await Promise.all(images.map((image) => readImage(source, container, reading.buffers, image)));
  return {
    positions: positions.finish(),
    triangles: triangles.finish(),
    colours: colourParts.some((part) => part !== null) ? Uint8Array.from(joined(colourParts, counts, 3, 255)) : null,
    textureCoordinates: textureParts.some((part) => part !== null) ? Float32Array.from(joined(textureParts, counts, 2, 0)) : null,
    pictures,
    pictureOf: pictures.length > 0 ? pictureOf : null,
  };
}

/** One array out of parts; a part that is missing is filled. */
function joined(parts: readonly (ArrayLike<number> | null)[], counts: readonly number[], width: number, fill: number): Float64Array {
  const whole = new Float64Array(counts.reduce((sum, count) => sum + count * width, 0)).fill(fill);
  let at = 0;
  parts.forEach((part, index) => {
    if (part) whole.set(part, at);
    at += counts[index]! * width;
  });
  return whole;
}

async function placedPositions({ source, json, buffers }: Reading, { primitive, transform, label }: PlacedPrimitive): Promise<Float64Array> {
  if (primitive.extensions?.['KHR_draco_mesh_compression']) {
    throw new InputError(source.name, `${label} is compressed with KHR_draco_mesh_compression, which is not read: export it without.`);
  }
  const { values, components } = await readAccessor(source.name, json, buffers, primitive.attributes?.['POSITION']);
  if (components !== 3) throw new InputError(source.name, `POSITION of ${label} has ${components} components, expected 3.`);
  const moved = new Float64Array(values.length);
  transformInto(transform, values, moved, 0);
  const bad = moved.findIndex((value) => !Number.isFinite(value));
  if (bad >= 0) throw new InputError(source.name, `${label}: vertex ${Math.floor(bad / 3)} has coordinate ${moved[bad]}, expected a finite number.`);
  return moved;
}

async function addTriangles(
  { source, json, buffers }: Reading,
  { primitive, transform, label }: PlacedPrimitive,
  first: number,
  vertexCount: number,
  triangles: GrowingArray<Uint32Array<ArrayBuffer>>,
): Promise<void> {
  const corners = primitive.indices === undefined
    ? Float64Array.from({ length: vertexCount }, (_, i) => i)
    : (await readAccessor(source.name, json, buffers, primitive.indices)).values;
  const outside = corners.findIndex((vertex) => !(vertex < vertexCount));
  if (outside >= 0) throw new InputError(source.name, `${label}: index ${outside} names vertex ${corners[outside]}, the primitive has ${vertexCount}.`);
  const turned = isMirror(transform);
  const push = (a: number, b: number, c: number): void => {
    triangles.push(first + a);
    triangles.push(first + (turned ? c : b));
    triangles.push(first + (turned ? b : c));
  };
  const mode = primitive.mode ?? MODE.triangles;
  if (mode === MODE.strip) eachStripTriangle(corners, corners.length, push);
  else if (mode === MODE.fan) for (let i = 1; i + 1 < corners.length; i++) push(corners[0]!, corners[i]!, corners[i + 1]!);
  else for (let i = 0; i + 2 < corners.length; i += 3) push(corners[i]!, corners[i + 1]!, corners[i + 2]!);
}

/**
 * Vertex colours as they are written. The standard calls them linear light, but what surveying exporters put there are the
 * bytes of the photographs (common practice, no source), so that converting them would wash them out.
 */
async function vertexColours({ source, json, buffers }: Reading, { primitive, label }: PlacedPrimitive, vertexCount: number): Promise<Uint8Array | null> {
  const index = primitive.attributes?.['COLOR_0'];
  if (index === undefined) return null;
  const { values, components, count } = await readAccessor(source.name, json, buffers, index);
  if (count !== vertexCount || components < 3) throw new InputError(source.name, `COLOR_0 of ${label} has ${count} × ${components} numbers, expected ${vertexCount} × 3 or 4.`);
  const colours = new Uint8Array(3 * vertexCount);
  for (let i = 0; i < vertexCount; i++) for (let k = 0; k < 3; k++) colours[3 * i + k] = toByte(values[components * i + k]! * 255);
  return colours;
}

async function textureCoordinates({ source, json, buffers }: Reading, one: PlacedPrimitive): Promise<Float64Array | null> {
  const info = baseTexture(json, one);
  if (!info) return null;
  const set = info.extensions?.['KHR_texture_transform']?.texCoord ?? info.texCoord ?? 0;
  const index = one.primitive.attributes?.[`TEXCOORD_${set}`];
  if (index === undefined) return null;
  const { values, components } = await readAccessor(source.name, json, buffers, index);
  if (components !== 2) throw new InputError(source.name, `TEXCOORD_${set} of ${one.label} has ${components} components, expected 2.`);
  moveTextureCoordinatesInPlace(info, values);
  return values;
}
