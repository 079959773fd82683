import { readFileSync } from 'node:fs';
import { NodeIO } from '@gltf-transform/core';
import { EXTMeshoptCompression, KHRMeshQuantization, KHRTextureTransform } from '@gltf-transform/extensions';
import { MeshoptDecoder } from 'meshoptimizer/decoder';
import { OBJLoader } from 'three/addons/loaders/OBJLoader.js';
import { PLYLoader } from 'three/addons/loaders/PLYLoader.js';
import type { BufferGeometry, Mesh as ThreeMesh } from 'three';
import { describe, expect, it } from 'vitest';
import { meshArea, sampleMesh } from '../../src/cloud/sample-mesh.ts';
import type { Mesh } from '../../src/cloud/mesh.ts';
import { fitMoments, MOMENT_FIT_SIZE } from '../../src/geometry/fit-moments.ts';
import { bytesSource, type ByteSource } from '../../src/io/byte-source.ts';
import { readerFor } from '../../src/io/readers.ts';
import { parseRegion, regionContains } from '../../src/io/region.ts';
import { InputError } from '../../src/units/input-error.ts';
import { turnUpInPlace } from '../../src/site/to-local.ts';
import { openData, openDataFolder, openDataMissing, openDataNames } from '../fixtures/open-data.ts';
import { readMesh, readPoints } from '../fixtures/read-source.ts';

const open = (set: string, name: string): ByteSource => bytesSource(name, openData(set, name));

async function meshOf(set: string, name: string): Promise<Mesh> {
  const source = open(set, name);
  return (await readMesh(await readerFor(source), source)).mesh;
}

describe.skipIf(openDataFolder === null)(`mesh files of the open data${openDataMissing}`, () => {
  describe('one surface in four formats', () => {
    // The GLB says in its extras where its origin stands; the big-endian PLY is about the same place, heights left alone.
    const shifts: Record<string, readonly [number, number, number]> = {
      'ign770_gE_tin.obj': [0, 0, 0], 'ign770_gE_tin_le_double.ply': [0, 0, 0],
      'ign770_gE_tin.glb': [770634, 6277558, 20], 'ign770_gE_tin_be_float_local.ply': [770634, 6277558, 0],
    };
    /** In the frame of the two that are in Lambert-93. */
    async function placed(name: string): Promise<Mesh> {
      const mesh = await meshOf('mesh-derived', name);
      turnUpInPlace(mesh.positions, name.endsWith('.glb') ? 'y' : 'z');
      const shift = shifts[name]!;
      mesh.positions.forEach((value, i) => (mesh.positions[i] = value + shift[i % 3]!));
      return mesh;
    }

    it.each(Object.keys(shifts))('%s has the same corners and triangles as the others', async (name) => {
      const [reference, mesh] = [await placed('ign770_gE_tin_le_double.ply'), await placed(name)];
      expect(mesh.triangles).toEqual(reference.triangles);
      // Single precision at 12 m from the origin has steps of 1 µm, at 32 m of height 2 µm; the OBJ is printed to millimetres.
      for (let i = 0; i < mesh.positions.length; i++) if (!(Math.abs(mesh.positions[i]! - reference.positions[i]!) < 5e-6)) expect.fail(`coordinate ${i} of ${name} is off`);
    });

    // Reference planes of these files: README of the open data, trimmed fits of the points the mesh was made of.
    it.each([
      ['south-east face', 20.74, 132.6, '770631.44,6277551.64 770634.09,6277549.20 770642.20,6277558.05 770639.54,6277560.48'],
      ['north-west face', 20.22, 312.5, '770638.36,6277561.56 770635.71,6277564.00 770627.60,6277555.15 770630.26,6277552.72'],
    ])('points laid on it find the %s within 0.4° of pitch and 1° of azimuth', async (_, pitch, azimuth, corners) => {
      const region = parseRegion(corners);
      for (const name of Object.keys(shifts)) {
        const found = trimmedFit(sampleMesh(await placed(name), 0.1).positions, (x, y, z) => regionContains(region, x, y) && z > 25.5 && z < 29);
        expect(Math.abs(found.pitch - pitch), name).toBeLessThan(0.4);
        expect(Math.abs(found.azimuth - azimuth), name).toBeLessThan(1);
      }
    });
  });

  describe('PLY and OBJ against the loaders of three 0.187, where these are right', () => {
    // Left out: strips, which they drop, and files without z.
    const ply = openDataNames('mesh-variants', /\.ply$/).filter((name) => !/^(bunny|pdal_(un)?sized_dims)/.test(name));
    it.each(ply)('%s', async (name) => {
      const source = open('mesh-variants', name);
      const reader = await readerFor(source);
      const description = await reader.describe(source, { salvage: false });
      const theirs = new PLYLoader().parse(openData('mesh-variants', name).buffer as ArrayBuffer);
      const ours = description.kind === 'mesh' ? soup(await reader.readMesh!(source, description)) : (await reader.readPoints(source, description, 0)).positions;
      expectEqual(ours, description.kind === 'mesh' ? threeSoup(theirs) : Float64Array.from(theirs.getAttribute('position').array));
    });

    it.each(openDataNames('mesh-variants', /\.obj$/).filter((name) => name !== 'wallhole.obj' && name !== 'point_cloud.obj'))('%s', async (name) => {
      const group = new OBJLoader().parse(new TextDecoder().decode(openData('mesh-variants', name)));
      const theirs = group.children.flatMap((child) => [...threeSoup((child as ThreeMesh).geometry)]);
      const ours = soup(await meshOf('mesh-variants', name));
      expect(ours.length).toBe(theirs.length);
      // Order of faces differs between groups, and quads may be cut along the other diagonal: sums tell.
      expect(Math.abs(sum(ours) - sum(theirs))).toBeLessThan(0.01);
      expect(Math.abs(soupArea(ours) / soupArea(theirs) - 1)).toBeLessThan(1e-6);
    });

    it('keeps doubles that single precision cannot hold', async () => {
      const { positions } = await meshOf('mesh-derived', 'ign770_gE_tin_le_double.ply');
      expect(positions[1]).not.toBe(Math.fround(positions[1]!));
    });
  });

  describe('GLB against @gltf-transform/core 4.5.1', () => {
    // It refuses cube.glb, whose chunks do not stand on multiples of four bytes; ours reads it, with the cube of PLY beside it.
    it.each(openDataNames('mesh-variants', /\.glb$/).filter((name) => name !== 'cube.glb'))('%s', async (name) => {
      await MeshoptDecoder.ready;
      const io = new NodeIO().registerExtensions([EXTMeshoptCompression, KHRMeshQuantization, KHRTextureTransform]).registerDependencies({ 'meshopt.decoder': MeshoptDecoder });
      const document = await io.readBinary(openData('mesh-variants', name));
      const theirs: number[] = [];
      const scene = document.getRoot().getDefaultScene() ?? document.getRoot().listScenes()[0]!;
      scene.traverse((node) => {
        const m = node.getWorldMatrix();
        for (const primitive of node.getMesh()?.listPrimitives() ?? []) {
          const position = primitive.getAttribute('POSITION')!;
          const indices = primitive.getIndices();
          for (let i = 0; i < (indices ?? position).getCount(); i++) {
            const [x, y, z] = position.getElement(indices ? indices.getScalar(i) : i, []) as number[] as [number, number, number];
            for (let axis = 0; axis < 3; axis++) theirs.push(m[axis]! * x + m[4 + axis]! * y + m[8 + axis]! * z + m[12 + axis]!);
          }
        }
      });
      const ours = soup(await meshOf('mesh-variants', name));
      expect(ours.length).toBe(theirs.length);
      expect(sum(ours)).toBeCloseTo(sum(theirs), 3);
      expect(soupArea(ours)).toBeCloseTo(soupArea(theirs), 3);
    });
  });

  it('wallhole.obj: faces of up to eleven corners, some continued on the next line, keep their area', async () => {
    const mesh = await meshOf('mesh-variants', 'wallhole.obj');
    // Faces of the file by Newell's sum, which any right cut must reproduce.
    expect(meshArea(mesh)).toBeCloseTo(newellArea(readFileSync(`${openDataFolder}/mesh-variants/wallhole.obj`, 'utf8')), 6);
  });

  it('photogrammetry: a campus with a texture that is not shown, and coloured points', async () => {
    const campus = open('photogrammetry', 'agi_campus.glb');
    const { description, mesh } = await readMesh(await readerFor(campus), campus);
    expect(description).toMatchObject({ kind: 'mesh', triangleCount: 18916, up: 'y', notes: ['Texture not shown: it is compressed for graphics cards (KTX2).'] });
    expect(mesh.positions.length / 3).toBe(19317);
    // The file states its own bounds in its accessor.
    const points = open('photogrammetry', 'helsinki_points_meshopt.glb');
    const { batches } = await readPoints(await readerFor(points), points);
    expect(batches[0]!.pointCount).toBe(82674);
    const [scale, [tx, ty, tz]] = [0.0103888996, [-150.148987, 0.0748596191, -169.919571]];
    const greatest = [0, 1, 2].map((axis) => batches[0]!.positions.reduce((most, value, i) => (i % 3 === axis ? Math.max(most, value) : most), -Infinity));
    [tx! + scale * 29101, ty! + scale * 14216, tz! + scale * 32767].forEach((value, axis) => expect(greatest[axis]!).toBeCloseTo(value, 6));
    expect(batches[0]!.colours!.length).toBe(3 * 82674);
  });

  it('b9-airborne: ascii and binary hold the same 22 300 points, one of them shifted; OFF is refused with advice', async () => {
    const [ascii, binary] = await Promise.all(['b9.ply', 'b9_training.ply'].map(async (name) => {
      const source = open('b9-airborne', name);
      return (await readPoints(await readerFor(source), source)).batches[0]!;
    }));
    expect([ascii!.pointCount, binary!.pointCount]).toEqual([22300, 22300]);
    const size = ({ positions }: { positions: Float64Array }) => [0, 1, 2].map((axis) => {
      const values = positions.filter((_, i) => i % 3 === axis);
      return Math.round(100 * (values.reduce((a, b) => Math.max(a, b)) - values.reduce((a, b) => Math.min(a, b)))) / 100;
    });
    expect(size(ascii!)).toEqual(size(binary!));
    await expect(readerFor(open('b9-airborne', 'b9_mesh.off'))).rejects.toThrow(/OFF file, which is not read: export it as PLY or OBJ/);
  });

  it.each(['roof01', 'roof03', 'roof05', 'roof07', 'roof09', 'roof11', 'roof13', 'roof15'])('point2roof-dev/%s: its points lie on the planes of its truth', async (roof) => {
    const source = open(`point2roof-dev/${roof}`, 'points.xyz');
    const { description, batches } = await readPoints(await readerFor(source), source);
    expect(description).toMatchObject({ format: 'text', pointCount: 1024 });
    const truth = await meshOf(`point2roof-dev/${roof}`, 'ground_truth.obj');
    const distances = Array.from({ length: 1024 }, (_, i) => nearestPlane(batches[0]!.positions.subarray(3 * i, 3 * i + 3), truth)).sort((a, b) => a - b);
    // The set states no noise; 95 % of the points lie within a hundredth of the roof's own length.
    const xs = truth.positions.filter((_, i) => i % 3 === 0);
    expect(distances[972]!).toBeLessThan(0.01 * (Math.max(...xs) - Math.min(...xs)));
  });

  describe('malformed files', () => {
    const names = [...openDataNames('malformed', /\.(ply|obj|glb)$/).map((name) => ['malformed', name]), ...openDataNames('malformed/glb', /\.glb$/).map((name) => ['malformed/glb', name])];
    it.each(names)('%s/%s is read or refused in one line', async (set, name) => {
      const started = performance.now();
      for (const salvage of [false, true]) {
        try {
          const source = open(set!, name!);
          const reader = await readerFor(source);
          const description = await reader.describe(source, { salvage });
          if (description.kind === 'mesh') {
            const { positions, triangles } = await reader.readMesh!(source, description);
            expect(positions.every(Number.isFinite)).toBe(true);
            expect(triangles.every((vertex) => vertex < positions.length / 3)).toBe(true);
          } else {
            const { batches } = await readPoints(reader, source, salvage);
            expect(batches.reduce((count, batch) => count + batch.pointCount, 0)).toBe(description.pointCount);
          }
        } catch (error) {
          expect(error).toBeInstanceOf(InputError);
          expect((error as InputError).message).toMatch(new RegExp(`^${name!.replaceAll('.', '\\.')}: [^\\n]{10,400}$`));
        }
      }
      expect(performance.now() - started).toBeLessThan(10_000);
    });
  });
});

/** Corners of all triangles, one after the other. */
const soup = ({ positions, triangles }: Mesh): Float64Array => Float64Array.from({ length: 3 * triangles.length }, (_, i) => positions[3 * triangles[Math.floor(i / 3)]! + (i % 3)]!);

function threeSoup(geometry: BufferGeometry): Float64Array {
  const position = geometry.getAttribute('position');
  const index = geometry.getIndex();
  return Float64Array.from({ length: 3 * (index ? index.count : position.count) }, (_, i) => position.getComponent(index ? index.getX(Math.floor(i / 3)) : Math.floor(i / 3), i % 3));
}

function expectEqual(ours: Float64Array, theirs: Float64Array): void {
  expect(ours.length).toBe(theirs.length);
  expect(sum(ours)).toBeCloseTo(sum(theirs), 2);
  if (ours.length % 9 === 0) expect(soupArea(ours)).toBeCloseTo(soupArea(theirs), 4);
}

const sum = (values: ArrayLike<number>): number => Array.from(values).reduce((total, value) => total + value, 0);

function soupArea(corners: ArrayLike<number>): number {
  return meshArea({ positions: Float64Array.from(corners), triangles: Uint32Array.from({ length: corners.length / 3 }, (_, i) => i), colours: null, textureCoordinates: null, pictures: [], pictureOf: null });
}

/** Plane of the chosen points; those farther than 4.5 times the median residual (3 sigma) are let go, again and again. */
function trimmedFit(positions: Float64Array, choose: (x: number, y: number, z: number) => boolean): { pitch: number; azimuth: number } {
  const all = Array.from({ length: positions.length / 3 }, (_, i) => [positions[3 * i]!, positions[3 * i + 1]!, positions[3 * i + 2]!] as const).filter((point) => choose(...point));
  const [x0, y0, z0] = all[0]!;
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  let chosen = all;
  for (let round = 0; round < 15; round++) {
    const moments = new Float64Array(10);
    for (const point of chosen) {
      const [x, y, z] = [point[0] - x0, point[1] - y0, point[2] - z0];
      [1, x, y, z, x * x, x * y, x * z, y * y, y * z, z * z].forEach((value, i) => (moments[i]! += value));
    }
    fitMoments(moments, fit);
    const [nx, ny, nz] = fit as unknown as [number, number, number];
    const offset = (nx * moments[1]! + ny * moments[2]! + nz * moments[3]!) / moments[0]!;
    const residual = ([x, y, z]: readonly [number, number, number]) => Math.abs(nx * (x - x0) + ny * (y - y0) + nz * (z - z0) - offset);
    const median = all.map(residual).sort((p, q) => p - q)[all.length >> 1]!;
    chosen = all.filter((point) => residual(point) < 4.5 * median);
  }
  const degrees = 180 / Math.PI;
  return { pitch: Math.acos(fit[2]!) * degrees, azimuth: (Math.atan2(fit[0]!, fit[1]!) * degrees + 360) % 360 };
}

/** Distance of a point to the nearest plane of a mesh's triangles. */
function nearestPlane(at: Float64Array, { positions, triangles }: Mesh): number {
  let nearest = Infinity;
  for (let t = 0; t < triangles.length; t += 3) {
    const corner = (k: number, axis: number) => positions[3 * triangles[t + k]! + axis]!;
    const [u, v, w] = [0, 1, 2].map((axis) => [corner(1, axis) - corner(0, axis), corner(2, axis) - corner(0, axis), at[axis]! - corner(0, axis)]).reduce<[number[], number[], number[]]>((lists, row) => (row.forEach((value, i) => lists[i]!.push(value)), lists), [[], [], []]);
    const n = [u[1]! * v[2]! - u[2]! * v[1]!, u[2]! * v[0]! - u[0]! * v[2]!, u[0]! * v[1]! - u[1]! * v[0]!];
    const size = Math.hypot(...n);
    if (size > 0) nearest = Math.min(nearest, Math.abs(n[0]! * w[0]! + n[1]! * w[1]! + n[2]! * w[2]!) / size);
  }
  return nearest;
}

/** Sum of face areas of an OBJ text by Newell's sum over each ring. */
function newellArea(text: string): number {
  const vertices: number[][] = [];
  let total = 0;
  for (const line of text.replace(/\\\r?\n/g, ' ').split(/\r?\n/)) {
    const [keyword, ...words] = line.trim().split(/\s+/);
    if (keyword === 'v') vertices.push(words.map(Number));
    if (keyword !== 'f') continue;
    const ring = words.map((word) => {
      const number = Number(word.split('/')[0]);
      return vertices.at(number < 0 ? number : number - 1)!;
    });
    const n = [0, 0, 0];
    ring.forEach((a, i) => {
      const b = ring[(i + 1) % ring.length]!;
      n[0]! += (a[1]! - b[1]!) * (a[2]! + b[2]!);
      n[1]! += (a[2]! - b[2]!) * (a[0]! + b[0]!);
      n[2]! += (a[0]! - b[0]!) * (a[1]! + b[1]!);
    });
    total += Math.hypot(...n) / 2;
  }
  return total;
}
