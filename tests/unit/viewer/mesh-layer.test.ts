import { Mesh, RepeatWrapping, ShaderMaterial, type Texture, type Vector3 } from 'three';
import { afterEach, expect, test, vi } from 'vitest';
import type { Mesh as SurveyMesh } from '../../../src/cloud/mesh.ts';
import { greatestSide, MeshLayer } from '../../../src/viewer/mesh-layer.ts';

afterEach(() => vi.unstubAllGlobals());

const mesh: SurveyMesh = {
  positions: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0), triangles: Uint32Array.of(0, 1, 2), colours: null,
  textureCoordinates: Float32Array.of(0, 0, 6, 0, 0, 1), pictures: [{ bytes: new Uint8Array(4), mimeType: 'image/png' }], pictureOf: Uint16Array.of(1),
};

function layer(changed: () => void): { meshes: MeshLayer; material: (number?: number) => ShaderMaterial } {
  const at = { value: null as unknown as Vector3 };
  const meshes = new MeshLayer({ clipMin: at, clipMax: at }, changed);
  return { meshes, material: (number = 1) => ((meshes.group.children[0] as Mesh).material as ShaderMaterial[])[number]! };
}

// glTF 2.0, 5.26: a sampler that says nothing wraps by repeating; coordinates may run past 1.
test('a picture on a mesh begins again where its coordinates run past it', async () => {
  vi.stubGlobal('createImageBitmap', async () => ({ width: 2, height: 2 }));
  const changed = vi.fn();
  const { meshes, material } = layer(changed);
  meshes.setMeshes([mesh]);
  await vi.waitFor(() => expect(changed).toHaveBeenCalled());
  const picture = material().uniforms['picture']!.value as Texture;
  expect([picture.wrapS, picture.wrapT, picture.flipY]).toEqual([RepeatWrapping, RepeatWrapping, false]);
});

test('a picture nobody can read leaves the mesh as it is without', async () => {
  vi.stubGlobal('createImageBitmap', () => Promise.reject(new Error('no picture')));
  const { meshes, material } = layer(() => undefined);
  meshes.setMeshes([mesh]);
  await new Promise((resolve) => setTimeout(resolve));
  expect(material().uniforms['picture']!.value).toBeNull();
});

test('triangles are drawn with their own pictures, and those without in the colours of the mesh', async () => {
  vi.stubGlobal('createImageBitmap', async (blob: Blob) => ({ width: blob.size, height: 1 }));
  const changed = vi.fn();
  const { meshes, material } = layer(changed);
  const picture = (size: number) => ({ bytes: new Uint8Array(size), mimeType: 'image/jpeg' });
  const corners = Uint32Array.of(0, 1, 2, 1, 2, 0, 2, 0, 1, 0, 2, 1);
  meshes.setMeshes([{ ...mesh, triangles: corners, pictures: [picture(3), picture(5)], pictureOf: Uint16Array.of(2, 0, 1, 2) }]);
  await vi.waitFor(() => expect(changed).toHaveBeenCalledTimes(2));
  const { geometry } = meshes.group.children[0] as Mesh;
  expect(geometry.groups).toEqual([{ start: 0, count: 3, materialIndex: 0 }, { start: 3, count: 3, materialIndex: 1 }, { start: 6, count: 6, materialIndex: 2 }]);
  expect([...geometry.index!.array]).toEqual([1, 2, 0, 2, 0, 1, 0, 1, 2, 0, 2, 1]);
  expect([1, 2].map((number) => (material(number).uniforms['picture']!.value as Texture<ImageBitmap>).image.width)).toEqual([3, 5]);
  expect([0, 1, 2].map((number) => material(number).uniforms['colouring']!.value as number)).toEqual([0, 2, 2]);
});

test('a picture larger than its share is made smaller, the large one is let go, and the memory of all has a limit', async () => {
  const close = vi.fn();
  vi.stubGlobal('createImageBitmap', async (_: unknown, options?: ImageBitmapOptions) => ({ width: options?.resizeWidth ?? 9000, height: options?.resizeHeight ?? 6000, close }));
  const changed = vi.fn();
  const { meshes, material } = layer(changed);
  meshes.setMeshes([mesh]);
  await vi.waitFor(() => expect(changed).toHaveBeenCalled());
  const { width, height } = (material().uniforms['picture']!.value as Texture<ImageBitmap>).image;
  expect([width, height]).toEqual([4096, 2731]);
  expect(close).toHaveBeenCalledTimes(1);
  for (const count of [1, 2, 3, 8, 9, 100, 5000]) expect(count * 4 * greatestSide(count) ** 2).toBeLessThanOrEqual(128 * 2 ** 20);
  expect([2, 3, 8, 9].map(greatestSide)).toEqual([4096, 2048, 2048, 1024]);
});
