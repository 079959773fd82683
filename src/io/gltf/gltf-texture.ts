import type { MeshPicture } from '../../cloud/mesh.ts';
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

/** Number of the picture a primitive is drawn with; null where it has none, a note where it has one that is not drawn. */
function imageOf(json: GltfJson, one: PlacedPrimitive): { readonly image: number | null; readonly note: string | null } {
  const texture = json.textures?.[baseTexture(json, one)?.index ?? -1];
  const index = texture?.source ?? texture?.extensions?.['EXT_texture_webp']?.source;
  if (index === undefined) {
    const isCompressed = texture?.extensions?.['KHR_texture_basisu']?.source !== undefined;
    return { image: null, note: isCompressed ? 'Texture not shown: it is compressed for graphics cards (KTX2).' : null };
  }
  const mimeType = json.images?.[index]?.mimeType;
  if (mimeType !== undefined && !DRAWABLE.test(mimeType)) return { image: null, note: `Texture not shown: pictures of kind ${mimeType} are not drawn.` };
  return { image: index, note: null };
}

/** The pictures of all primitives, each once, and which of them each primitive has: counted from 1, 0 has none. */
export function drawnImages(json: GltfJson, placed: readonly PlacedPrimitive[]): { readonly images: readonly number[]; readonly numbers: readonly number[]; readonly notes: readonly string[] } {
  const found = placed.map((one) => imageOf(json, one));
  const images = [...new Set(found.flatMap(({ image }) => image ?? []))];
  return {
    images,
    numbers: found.map(({ image }) => (image === null ? 0 : images.indexOf(image) + 1)),
    notes: [...new Set(found.flatMap(({ note }) => note ?? []))],
  };
}

export async function readImage(source: ByteSource, { json }: GltfContainer, buffers: GltfBuffers, index: number): Promise<MeshPicture> {
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
