import { Mesh, RepeatWrapping, ShaderMaterial, type Texture, type Vector3 } from 'three';
import { afterEach, expect, test, vi } from 'vitest';
import type { Mesh as SurveyMesh } from '../../../src/cloud/mesh.ts';
import { MeshLayer } from '../../../src/viewer/mesh-layer.ts';

afterEach(() => vi.unstubAllGlobals());

const mesh: SurveyMesh = {
  positions: Float64Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0), triangles: Uint32Array.of(0, 1, 2), colours: null,
  textureCoordinates: Float32Array.of(0, 0, 6, 0, 0, 1), texture: { bytes: new Uint8Array(4), mimeType: 'image/png' },
};

function layer(changed: () => void): { meshes: MeshLayer; material: () => ShaderMaterial } {
  const at = { value: null as unknown as Vector3 };
  const meshes = new MeshLayer({ clipMin: at, clipMax: at }, changed);
  return { meshes, material: () => (meshes.group.children[0] as Mesh).material as ShaderMaterial };
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
