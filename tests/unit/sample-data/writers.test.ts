import { readFileSync, statSync } from 'node:fs';
import { parse } from '@loaders.gl/core';
import { PLYLoader } from '@loaders.gl/ply';
import validator from 'gltf-validator';
import { PNG } from 'pngjs';
import { describe, expect, test } from 'vitest';
import { SAMPLE_OPTIONS, SAMPLE_SEED } from '../../../sample-data/generator/sample-settings.ts';
import { makeScene } from '../../../sample-data/generator/scene.ts';
import { makeSurfaceMesh } from '../../../sample-data/generator/surface-mesh.ts';
import { writeGlb } from '../../../sample-data/writers/write-glb.ts';
import { writeLas, WKT_25832 } from '../../../sample-data/writers/write-las.ts';
import { writePly } from '../../../sample-data/writers/write-ply.ts';
import { writePng } from '../../../sample-data/writers/write-png.ts';

const positions = Float64Array.of(571_200.1234, 6_020_400.5, 3.25, 571_201, 6_020_399.001, -0.5, 571_210.75, 6_020_410, 12);
const colours = Uint8Array.of(255, 0, 128, 1, 2, 3, 90, 91, 92);

describe('LAS', () => {
  test.each([[2, 26, 20], [7, 36, 30]] as const)('format %i by the specification, field by field', (format, size, colourAt) => {
    const bytes = writeLas(positions, colours, format, WKT_25832);
    const view = new DataView(bytes.buffer);
    const text = (at: number, n: number) => new TextDecoder().decode(bytes.subarray(at, at + n)).replace(/\0.*$/s, '');
    expect(text(0, 4)).toBe('LASF');
    expect([bytes[24], bytes[25]]).toEqual([1, 4]);
    expect(view.getUint16(94, true)).toBe(375);
    expect(view.getUint8(104)).toBe(format);
    expect(view.getUint16(105, true)).toBe(size);
    expect(view.getBigUint64(247, true)).toBe(3n);
    expect(view.getUint32(107, true)).toBe(format < 6 ? 3 : 0);
    const start = view.getUint32(96, true);
    expect(bytes.length).toBe(start + 3 * size);
    expect(text(375 + 2, 16)).toBe('LASF_Projection');
    expect(view.getUint16(375 + 18, true)).toBe(2112);
    expect(text(375 + 54, view.getUint16(375 + 20, true))).toBe(WKT_25832);
    // The third point, so that a wrong stride shows.
    const at = start + 2 * size;
    const read = [0, 1, 2].map((k) => view.getInt32(at + 4 * k, true) * view.getFloat64(131 + 8 * k, true) + view.getFloat64(155 + 8 * k, true));
    for (let k = 0; k < 3; k++) expect(read[k]).toBeCloseTo(positions[6 + k]!, 3);
    expect(view.getUint16(at + colourAt + 4, true)).toBe(92 * 257);
    expect(view.getFloat64(179, true)).toBeCloseTo(571_210.75, 3);
    expect(view.getFloat64(187, true)).toBeCloseTo(571_200.123, 3);
  });
});

test('PLY: another reader agrees', async () => {
  const read = await parse(writePly(positions, colours).buffer as ArrayBuffer, PLYLoader, { worker: false });
  expect(read.attributes['POSITION']!.value.length).toBe(9);
  expect(Array.from(read.attributes['COLOR_0']!.value.slice(0, 3) as Uint8Array)).toEqual([255, 0, 128]);
});

test('PNG: another reader gives the pixels back', () => {
  const rgb = Uint8Array.from({ length: 3 * 5 * 4 }, (_, i) => (i * 37) & 255);
  const read = PNG.sync.read(Buffer.from(writePng(5, 4, rgb)));
  expect([read.width, read.height]).toEqual([5, 4]);
  expect(Array.from(read.data).filter((_, i) => i % 4 !== 3)).toEqual(Array.from(rgb));
});

describe('the mesh', () => {
  const scene = makeScene('gable', 2, { spacing: 0.1 });
  const mesh = makeSurfaceMesh(scene, 0.25);

  test('is a valid GLB to the Khronos validator', async () => {
    const report = await validator.validateBytes(writeGlb(mesh));
    expect(report.issues.messages.filter((m: { severity: number }) => m.severity < 2)).toEqual([]);
  });

  test('faces up and lies on the roof inside a plane', () => {
    const plane = scene.truth.planes[0]!;
    const middle = [0, 1, 2].map((k) => plane.ring.reduce((sum, p) => sum + p[k]!, 0) / plane.ring.length - scene.sourceOrigin[k]!);
    let nearest = Infinity;
    let height = NaN;
    for (let i = 0; i < mesh.positions.length; i += 3) {
      const gap = Math.hypot(mesh.positions[i]! - middle[0]!, mesh.positions[i + 1]! - middle[1]!);
      if (gap < nearest) {
        nearest = gap;
        height = plane.normal.reduce((sum, c, k) => sum + c * (mesh.positions[i + k]! + scene.sourceOrigin[k]! - plane.ring[0]![k]!), 0);
      }
    }
    expect(Math.abs(height)).toBeLessThan(0.15);
    const [a, b, c] = Array.from(mesh.triangles.slice(0, 3)).map((i) => Array.from(mesh.positions.slice(3 * i, 3 * i + 2)));
    expect((b![0]! - a![0]!) * (c![1]! - a![1]!) - (b![1]! - a![1]!) * (c![0]! - a![0]!)).toBeGreaterThan(0);
    expect(mesh.positions.every(Number.isFinite)).toBe(true);
  });
});

test('the sample beside the generator is what the generator makes, under 3 MB', () => {
  const path = new URL('../../../sample-data/harbour-works.las', import.meta.url);
  const scene = makeScene('harbour', SAMPLE_SEED, SAMPLE_OPTIONS);
  expect(statSync(path).size).toBeLessThan(3_000_000);
  expect(Buffer.compare(readFileSync(path), Buffer.from(writeLas(scene.positions, scene.colours, 2, WKT_25832)))).toBe(0);
});
