import { Document, NodeIO } from '@gltf-transform/core';
import { MeshoptEncoder } from 'meshoptimizer/encoder';
import type { MeshPicture } from '../../../../src/cloud/mesh.ts';
import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../../../src/io/byte-source.ts';
import { glbReader } from '../../../../src/io/gltf/glb-reader.ts';
import { writeGlb } from '../../../fixtures/glb-writer.ts';
import { bytesOf, concatenated, readMesh, readPoints } from '../../../fixtures/read-source.ts';

const TRIANGLE = Float32Array.of(0, 0, 0, 1, 0, 0, 0, 1, 0);
const bytes = (array: ArrayBufferView): Uint8Array => new Uint8Array(array.buffer, array.byteOffset, array.byteLength);

/** A description of one primitive whose positions are the first buffer view. */
function single(positions: Float32Array, more: { primitive?: object; node?: object; json?: object } = {}) {
  return {
    asset: { version: '2.0' },
    scenes: [{ nodes: [0] }],
    nodes: [{ mesh: 0, ...more.node }],
    meshes: [{ primitives: [{ attributes: { POSITION: 0 }, ...more.primitive }] }],
    accessors: [{ bufferView: 0, componentType: 5126, count: positions.length / 3, type: 'VEC3' }],
    bufferViews: [{ buffer: 0, byteLength: positions.byteLength }],
    buffers: [{ byteLength: positions.byteLength }],
    ...more.json,
  };
}

const source = (glb: Uint8Array) => bytesSource('m.glb', glb);

describe('GLB', () => {
  it('reads what an independent library wrote: indices, colours, texture', async () => {
    const document = new Document();
    const buffer = document.createBuffer();
    const picture = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 1, 2, 3, 4);
    const material = document.createMaterial().setBaseColorTexture(document.createTexture().setImage(picture).setMimeType('image/png'));
    const primitive = document.createPrimitive().setMaterial(material)
      .setAttribute('POSITION', document.createAccessor().setType('VEC3').setArray(TRIANGLE).setBuffer(buffer))
      .setAttribute('COLOR_0', document.createAccessor().setType('VEC4').setNormalized(true).setArray(Uint8Array.of(255, 0, 0, 255, 0, 255, 0, 255, 0, 0, 255, 255)).setBuffer(buffer))
      .setAttribute('TEXCOORD_0', document.createAccessor().setType('VEC2').setArray(Float32Array.of(0, 0, 1, 0, 0, 1)).setBuffer(buffer))
      .setIndices(document.createAccessor().setType('SCALAR').setArray(Uint16Array.of(0, 1, 2)).setBuffer(buffer));
    document.createScene().addChild(document.createNode().setMesh(document.createMesh().addPrimitive(primitive)));
    const { description, mesh } = await readMesh(glbReader, source(await new NodeIO().writeBinary(document)));
    expect(description).toMatchObject({ kind: 'mesh', triangleCount: 1, up: 'y', notes: [] });
    expect([...mesh.positions]).toEqual([...TRIANGLE]);
    expect([...mesh.triangles]).toEqual([0, 1, 2]);
    expect([...mesh.colours!]).toEqual([255, 0, 0, 0, 255, 0, 0, 0, 255]);
    expect([...mesh.textureCoordinates!]).toEqual([0, 0, 1, 0, 0, 1]);
    expect((mesh.pictures as MeshPicture[]).map(({ mimeType, bytes }) => [mimeType, [...bytes]])).toEqual([['image/png', [...picture]]]);
    expect([...mesh.pictureOf!]).toEqual([1]);
  });

  it('keeps every picture of several materials, each once, and which triangles it belongs to', async () => {
    const document = new Document();
    const buffer = document.createBuffer();
    const pictures = [Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 1), Uint8Array.of(0xff, 0xd8, 0xff, 2)];
    const materials = pictures.map((picture, k) => document.createMaterial().setBaseColorTexture(document.createTexture().setImage(picture).setMimeType(k === 0 ? 'image/png' : 'image/jpeg')));
    const uv = (k: number) => Float32Array.of(0, k, 1, k, 0, k + 0.5);
    const primitive = (material: number | null, k: number) => document.createPrimitive().setMaterial(material === null ? null : materials[material]!)
      .setAttribute('POSITION', document.createAccessor().setType('VEC3').setArray(TRIANGLE).setBuffer(buffer))
      .setAttribute('TEXCOORD_0', document.createAccessor().setType('VEC2').setArray(uv(k)).setBuffer(buffer));
    const parts = [primitive(1, 0), primitive(null, 1), primitive(0, 2), primitive(1, 3)];
    const mesh = parts.reduce((whole, part) => whole.addPrimitive(part), document.createMesh());
    document.createScene().addChild(document.createNode().setMesh(mesh));
    const read = await readMesh(glbReader, source(await new NodeIO().writeBinary(document)));
    expect(read.description.notes).toEqual([]);
    expect((read.mesh.pictures as MeshPicture[]).map(({ mimeType, bytes }) => [mimeType, bytes.at(-1)])).toEqual([['image/jpeg', 2], ['image/png', 1]]);
    expect([...read.mesh.pictureOf!]).toEqual([1, 0, 2, 1]);
    // A primitive without picture needs no coordinates.
    expect([...read.mesh.textureCoordinates!]).toEqual([...uv(0), 0, 0, 0, 0, 0, 0, ...uv(2), ...uv(3)]);
  });

  it('multiplies node transforms down the tree in double precision', async () => {
    const json = single(TRIANGLE, { json: {
      scenes: [{ nodes: [2] }],
      nodes: [
        { mesh: 0, scale: [2, 2, 2] },
        // A quarter turn about y: x goes to −z.
        { children: [0], rotation: [0, Math.SQRT1_2, 0, Math.SQRT1_2] },
        { children: [1], translation: [6277546.123456789, 20.5, -770622.987654321] },
      ],
    } });
    const { mesh } = await readMesh(glbReader, source(writeGlb(json, bytes(TRIANGLE))));
    expect(mesh.positions[0]).toBe(6277546.123456789);
    expect(mesh.positions[2]).toBe(-770622.987654321);
    expect(mesh.positions[3]).toBeCloseTo(6277546.123456789, 8);
    expect(mesh.positions[5]! - mesh.positions[2]!).toBeCloseTo(-2, 8);
    expect(mesh.positions[7]).toBe(22.5);
  });

  it('turns triangles back where a transform mirrors', async () => {
    const { mesh } = await readMesh(glbReader, source(writeGlb(single(TRIANGLE, { node: { scale: [-1, 1, 1] } }), bytes(TRIANGLE))));
    expect([...mesh.triangles]).toEqual([0, 2, 1]);
  });

  it.each([
    ['strip', 5, 4, [0, 1, 2, 2, 1, 3]],
    ['fan', 6, 4, [0, 1, 2, 0, 2, 3]],
    ['triangles without indices', 4, 6, [0, 1, 2, 3, 4, 5]],
  ])('reads a %s', async (_, mode, count, expected) => {
    const positions = Float32Array.from({ length: 3 * count }, (__, i) => i * i);
    const { description, mesh } = await readMesh(glbReader, source(writeGlb(single(positions, { primitive: { mode } }), bytes(positions))));
    expect([...mesh.triangles]).toEqual(expected);
    expect(description.triangleCount).toBe(expected.length / 3);
  });

  it('reads points with colours, each primitive a part', async () => {
    const json = single(TRIANGLE, { primitive: { mode: 0 }, json: { scenes: [{ nodes: [0, 1] }], nodes: [{ mesh: 0 }, { mesh: 0, translation: [10, 0, 0] }] } });
    const { description, batches } = await readPoints(glbReader, source(writeGlb(json, bytes(TRIANGLE))));
    expect(description).toMatchObject({ kind: 'points', pointCount: 6 });
    expect([...batches[1]!.positions]).toEqual([10, 0, 0, 11, 0, 0, 10, 1, 0]);
  });

  it('reads quantised, strided, sparse positions', async () => {
    // Shorts at a stride of 8 bytes; the third vertex is replaced.
    const dense = Int16Array.of(0, 0, 0, 99, 32767, 0, 0, 99, 0, 0, 0, 99);
    const binary = concatenated(bytes(dense), Uint8Array.of(2, 0, 0, 0), bytes(Int16Array.of(0, -32767, 0)));
    const json = single(TRIANGLE, { json: {
      extensionsRequired: ['KHR_mesh_quantization'],
      accessors: [{ bufferView: 0, componentType: 5122, normalized: true, count: 3, type: 'VEC3', sparse: { count: 1, indices: { bufferView: 1, componentType: 5121 }, values: { bufferView: 2 } } }],
      bufferViews: [{ buffer: 0, byteLength: 24, byteStride: 8 }, { buffer: 0, byteOffset: 24, byteLength: 1 }, { buffer: 0, byteOffset: 28, byteLength: 6 }],
      buffers: [{ byteLength: binary.length }],
    } });
    const { mesh } = await readMesh(glbReader, source(writeGlb(json, binary)));
    expect([...mesh.positions]).toEqual([0, 0, 0, 1, 0, 0, 0, -1, 0]);
  });

  it('unpacks meshopt compression as its own encoder packs it', async () => {
    await MeshoptEncoder.ready;
    const positions = Float32Array.from({ length: 3 * 300 }, (_, i) => Math.sin(i));
    const packed = MeshoptEncoder.encodeGltfBuffer(bytes(positions), 300, 12, 'ATTRIBUTES');
    const json = single(positions, { json: {
      extensionsRequired: ['EXT_meshopt_compression'],
      bufferViews: [{ buffer: 1, byteLength: positions.byteLength, byteStride: 12, extensions: { EXT_meshopt_compression: { buffer: 0, byteLength: packed.length, byteStride: 12, count: 300, mode: 'ATTRIBUTES' } } }],
      buffers: [{ byteLength: packed.length }, { byteLength: positions.byteLength, extensions: { EXT_meshopt_compression: { fallback: true } } }],
    } });
    const { mesh } = await readMesh(glbReader, source(writeGlb(json, packed)));
    expect([...mesh.positions]).toEqual([...positions]);
    const spoilt = writeGlb(json, packed.map((byte, i) => (i === 0 ? byte ^ 0xff : byte)));
    await expect(readMesh(glbReader, source(spoilt))).rejects.toThrow(/m\.glb: compressed buffer view 0 cannot be unpacked/);
  });

  it('reads a .gltf that holds everything itself', async () => {
    const json = single(TRIANGLE, { json: { buffers: [{ byteLength: 36, uri: `data:application/octet-stream;base64,${Buffer.from(bytes(TRIANGLE)).toString('base64')}` }] } });
    const { mesh } = await readMesh(glbReader, bytesSource('m.gltf', bytesOf(JSON.stringify(json))));
    expect(mesh.triangles.length).toBe(3);
  });

  it('notes a texture it cannot show', async () => {
    const json = single(TRIANGLE, { primitive: { material: 0 }, json: {
      extensionsRequired: ['KHR_texture_basisu'],
      materials: [{ pbrMetallicRoughness: { baseColorTexture: { index: 0 } } }],
      textures: [{ extensions: { KHR_texture_basisu: { source: 0 } } }],
      images: [{ bufferView: 0, mimeType: 'image/ktx2' }],
    } });
    const { description, mesh } = await readMesh(glbReader, source(writeGlb(json, bytes(TRIANGLE))));
    expect(description.notes).toEqual(['Texture not shown: it is compressed for graphics cards (KTX2).']);
    expect([mesh.pictures, mesh.pictureOf]).toEqual([[], null]);
  });

  const cyclic = single(TRIANGLE, { json: { nodes: [{ mesh: 0, children: [0] }] } });
  it.each([
    ['a scene without geometry', { asset: { version: '2.0' } }, /neither triangles nor points/],
    ['a node that is its own child', cyclic, /node 0 is its own ancestor/],
    ['a node that is not there', single(TRIANGLE, { json: { scenes: [{ nodes: [7] }] } }), /node 7 is named but not there \(the file has 1\)/],
    ['no positions', single(TRIANGLE, { json: { meshes: [{ primitives: [{ attributes: {} }] }] } }), /mesh 0, primitive 0 has no POSITION/],
    ['an accessor beyond its view', single(TRIANGLE, { json: { accessors: [{ bufferView: 0, componentType: 5126, count: 4, type: 'VEC3' }] } }), /accessor 0 ends at byte 48 of its buffer view, which holds 36/],
    ['a view beyond its buffer', single(TRIANGLE, { json: { bufferViews: [{ buffer: 0, byteOffset: 8, byteLength: 36 }] } }), /buffer view 0 runs from byte 8 to 44, its buffer holds 36/],
    ['an unknown required extension', single(TRIANGLE, { json: { extensionsRequired: ['EXT_whatever'] } }), /needs the glTF extension EXT_whatever/],
    ['a bad rotation', single(TRIANGLE, { node: { rotation: [0, 1] } }), /node 0: rotation is \[0,1\], expected 4 numbers/],
    ['an index beyond the vertices', single(TRIANGLE, { primitive: { indices: 1 }, json: { accessors: [{ bufferView: 0, componentType: 5126, count: 3, type: 'VEC3' }, { bufferView: 0, componentType: 5125, count: 6, type: 'SCALAR' }] } }), /names vertex \d+, the primitive has 3/],
    ['another file', single(TRIANGLE, { json: { buffers: [{ byteLength: 36, uri: 'm.bin' }] } }), /names another file \(m\.bin\)/],
    ['mesh compression that is not read', single(TRIANGLE, { primitive: { extensions: { KHR_draco_mesh_compression: {} } } }), /KHR_draco_mesh_compression, which is not read/],
  ])('refuses %s', async (_, json, message) => {
    const glb = writeGlb(json, bytes(TRIANGLE));
    const read = async () => {
      const description = await glbReader.describe(source(glb), { salvage: false });
      return glbReader.readMesh!(source(glb), description);
    };
    await expect(read()).rejects.toThrow(message);
    await expect(read()).rejects.toMatchObject({ name: 'InputError' });
  });

  it('ends every spoilt byte of a good file in a mesh or in one clear refusal', async () => {
    const good = writeGlb(single(TRIANGLE), bytes(TRIANGLE));
    for (let at = 0; at < good.length; at++) {
      for (const flip of [0x01, 0x80, 0xff]) {
        const spoilt = good.map((byte, i) => (i === at ? byte ^ flip : byte));
        try {
          const description = await glbReader.describe(source(spoilt), { salvage: false });
          if (description.kind === 'mesh') await glbReader.readMesh!(source(spoilt), description);
        } catch (error) {
          expect(error, `byte ${at} flipped by ${flip}`).toMatchObject({ name: 'InputError' });
        }
      }
    }
  });
});
