import type { SurfaceMesh } from '../generator/surface-mesh.ts';
import { writePng } from './write-png.ts';

/**
 * GLB (Khronos, glTF 2.0): one textured mesh, y up as glTF wants it (east = x, up = y, north = -z). The node carries no
 * projection; the mesh stands about its own origin, which the extras of the scene state in source coordinates.
 */
export function writeGlb(mesh: SurfaceMesh): Uint8Array {
  const count = mesh.positions.length / 3;
  const positions = new Float32Array(3 * count);
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < count; i++) {
    const place = [mesh.positions[3 * i]!, mesh.positions[3 * i + 2]!, -mesh.positions[3 * i + 1]!];
    for (let k = 0; k < 3; k++) {
      const value = Math.fround(place[k]!);
      positions[3 * i + k] = value;
      min[k] = Math.min(min[k]!, value);
      max[k] = Math.max(max[k]!, value);
    }
  }
  const picture = writePng(mesh.picture.width, mesh.picture.height, mesh.picture.rgb);
  const parts = [positions, mesh.textureCoordinates, mesh.triangles, picture].map(
    (a) => new Uint8Array(a.buffer, a.byteOffset, a.byteLength),
  );
  const starts: number[] = [];
  let total = 0;
  for (const part of parts) {
    starts.push(total);
    total += Math.ceil(part.length / 4) * 4;
  }
  const view = (i: number, target?: number) => ({ buffer: 0, byteOffset: starts[i]!, byteLength: parts[i]!.length, ...(target ? { target } : {}) });
  const description = {
    asset: { version: '2.0', generator: 'roofdatum make-sample' },
    scene: 0,
    scenes: [{ nodes: [0], extras: { sourceOrigin: mesh.sourceOrigin } }],
    nodes: [{ mesh: 0, name: 'harbour' }],
    meshes: [{ primitives: [{ attributes: { POSITION: 0, TEXCOORD_0: 1 }, indices: 2, material: 0 }] }],
    materials: [{ pbrMetallicRoughness: { baseColorTexture: { index: 0 }, metallicFactor: 0, roughnessFactor: 1 }, doubleSided: true }],
    textures: [{ source: 0, sampler: 0 }],
    samplers: [{ magFilter: 9729, minFilter: 9729, wrapS: 33071, wrapT: 33071 }],
    images: [{ bufferView: 3, mimeType: 'image/png' }],
    accessors: [
      { bufferView: 0, componentType: 5126, count, type: 'VEC3', min, max },
      { bufferView: 1, componentType: 5126, count, type: 'VEC2' },
      { bufferView: 2, componentType: 5125, count: mesh.triangles.length, type: 'SCALAR' },
    ],
    bufferViews: [view(0, 34962), view(1, 34962), view(2, 34963), view(3)],
    buffers: [{ byteLength: total }],
  };
  return packed(description, parts, starts, total);
}

function packed(description: unknown, parts: readonly Uint8Array[], starts: readonly number[], total: number): Uint8Array {
  const json = new TextEncoder().encode(JSON.stringify(description));
  const jsonRoom = Math.ceil(json.length / 4) * 4;
  const bytes = new Uint8Array(12 + 8 + jsonRoom + 8 + total);
  const out = new DataView(bytes.buffer);
  out.setUint32(0, 0x46546c67, true);
  out.setUint32(4, 2, true);
  out.setUint32(8, bytes.length, true);
  out.setUint32(12, jsonRoom, true);
  out.setUint32(16, 0x4e4f534a, true);
  bytes.fill(0x20, 20, 20 + jsonRoom);
  bytes.set(json, 20);
  out.setUint32(20 + jsonRoom, total, true);
  out.setUint32(24 + jsonRoom, 0x004e4942, true);
  parts.forEach((part, i) => bytes.set(part, 28 + jsonRoom + starts[i]!));
  return bytes;
}
