import type { Mesh } from '../../cloud/mesh.ts';
import type { ByteSource } from '../byte-source.ts';
import type { GltfContainer } from './glb-container.ts';
import { embeddedBytes, type GltfBuffers } from './gltf-buffers.ts';
import { entryOf, type GltfJson, type GltfTextureInfo } from './gltf-json.ts';
import type { PlacedPrimitive } from './node-transforms.ts';
import { cos, sin } from '../../geometry/same-math.ts';

/** Pictures that a page can draw. */
const DRAWABLE = /^image\/(png|jpeg|webp)$/;

export const baseTexture = (json: GltfJson, { primitive }: PlacedPrimitive): GltfTextureInfo | null =>
  json.materials?.[primitive.material ?? -1]?.pbrMetallicRoughness?.baseColorTexture ?? null;

/** The one picture that all textured primitives share; otherwise why none is kept. */
export function sharedImage(json: GltfJson, placed: readonly PlacedPrimitive[]): { readonly image: number | null; readonly note: string | null } {
  const images = new Set<number>();
  let isCompressed = false;
  for (const one of placed) {
    const info = baseTexture(json, one);
    const texture = info ? json.textures?.[info.index ?? -1] : undefined;
    if (!texture) continue;
    const basis = texture.extensions?.['KHR_texture_basisu'];
    const index = texture.source ?? texture.extensions?.['EXT_texture_webp']?.source ?? basis?.source;
    if (texture.source === undefined && basis) isCompressed = true;
    if (index !== undefined) images.add(index);
  }
  if (images.size === 0) return { image: null, note: null };
  if (isCompressed) return { image: null, note: 'Texture not shown: it is compressed for graphics cards (KTX2).' };
  if (images.size > 1) return { image: null, note: `Textures not shown: the mesh has ${images.size} of them, and one can be drawn.` };
  const image = [...images][0]!;
  const mimeType = json.images?.[image]?.mimeType;
  if (mimeType !== undefined && !DRAWABLE.test(mimeType)) return { image: null, note: `Texture not shown: pictures of kind ${mimeType} are not drawn.` };
  return { image, note: null };
}

export async function readImage(source: ByteSource, { json }: GltfContainer, buffers: GltfBuffers, index: number): Promise<Mesh['texture']> {
  const image = entryOf(source.name, json.images, index, 'image');
  const bytes = image.uri !== undefined ? embeddedBytes(source.name, image.uri) : await buffers.view(image.bufferView ?? -1);
  const stated = image.mimeType ?? /^data:([^;,]+)/.exec(image.uri ?? '')?.[1];
  return { bytes, mimeType: stated ?? (bytes[0] === 0x89 ? 'image/png' : 'image/jpeg') };
}

/** Applies the texture transform extension to u, v pairs, in place. */
export function moveTextureCoordinatesInPlace(info: GltfTextureInfo, coordinates: Float64Array): void {
  const transform = info.extensions?.['KHR_texture_transform'];
  if (!transform) return;
  const [offsetU, offsetV] = transform.offset ?? [0, 0];
  const [scaleU, scaleV] = transform.scale ?? [1, 1];
  const [sine, cosine] = [sin(transform.rotation ?? 0), cos(transform.rotation ?? 0)];
  for (let i = 0; i < coordinates.length; i += 2) {
    const [u, v] = [coordinates[i]! * scaleU!, coordinates[i + 1]! * scaleV!];
    coordinates[i] = cosine * u + sine * v + offsetU!;
    coordinates[i + 1] = cosine * v - sine * u + offsetV!;
  }
}
