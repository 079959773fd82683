import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../../../src/io/byte-source.ts';
import { objReader } from '../../../../src/io/obj/obj-reader.ts';
import { bytesOf, readMesh, readPoints, textSource } from '../../../fixtures/read-source.ts';

const SQUARE = 'v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\n';

describe('OBJ', () => {
  it('reads groups, texture and normal numbers, and names no material', async () => {
    const { description, mesh } = await readMesh(objReader, textSource('m.obj', `mtllib m.mtl\no roof\n${SQUARE}vt 0 0\nvn 0 0 1\ng a\nusemtl tile\nf 1/1/1 2/1/1 3/1/1\ng b\ns 1\nf 1//1 3//1 4//1\n`));
    expect([...mesh.triangles]).toEqual([0, 1, 2, 0, 2, 3]);
    expect(description).toMatchObject({ kind: 'mesh', triangleCount: 2, notes: ['Materials and textures stand in another file and are not shown.'] });
    expect(description.bounds).toEqual({ min: [0, 0, 0], max: [1, 1, 0] });
  });

  it('keeps all digits of large coordinates', async () => {
    const { batches } = await readPoints(objReader, textSource('p.obj', 'v 770622.123456789 6277546.000000001 20.88\n'));
    expect([...batches[0]!.positions]).toEqual([770622.123456789, 6277546.000000001, 20.88]);
  });

  it('counts negative numbers back from the vertices before the line', async () => {
    const { mesh } = await readMesh(objReader, textSource('m.obj', 'v 0 0 0\nv 1 0 0\nv 1 1 0\nf -3 -2 -1\nv 0 1 0\nf -4 -2 -1\n'));
    expect([...mesh.triangles]).toEqual([0, 1, 2, 0, 2, 3]);
  });

  it('cuts faces whose vertices come later in the file', async () => {
    const { mesh } = await readMesh(objReader, textSource('m.obj', `f 1 2 3 4\n${SQUARE}`));
    expect(mesh.triangles.length).toBe(6);
  });

  it('joins lines that end in a backslash, and needs no line end at the last', async () => {
    const { mesh } = await readMesh(objReader, textSource('m.obj', `${SQUARE}f 1 2 \\\n3 4\\\r\n\nf 1 2 3`));
    expect(mesh.triangles.length).toBe(9);
  });

  it('reads vertex colours as shares or bytes, and greys those without', async () => {
    const shares = await readPoints(objReader, textSource('p.obj', 'v 0 0 0 0 0.5 1\nv 1 1 1\n'));
    expect([...shares.batches[0]!.colours!]).toEqual([0, 128, 255, 128, 128, 128]);
    expect(shares.description.notes[0]).toBe('1 of 2 vertices have no colour and are shown grey.');
    const bytes = await readPoints(objReader, textSource('p.obj', 'v 0 0 0 0 127 255\n'));
    expect([...bytes.batches[0]!.colours!]).toEqual([0, 127, 255]);
  });

  it('takes a fourth number for a weight and not for a colour', async () => {
    const { batches } = await readPoints(objReader, textSource('p.obj', 'v 1 2 3 1.0\n'));
    expect(batches[0]!.colours).toBeNull();
  });

  it.each([['big', true], ['little', false]])('reads UTF-16, %s end first', async (_, big) => {
    const plain = bytesOf(`# Dach \n${SQUARE}f 1 2 3 4\n`);
    const wide = new Uint8Array(2 + 2 * plain.length);
    wide.set(big ? [0xfe, 0xff] : [0xff, 0xfe]);
    plain.forEach((byte, i) => (wide[2 + 2 * i + (big ? 1 : 0)] = byte));
    const { mesh } = await readMesh(objReader, bytesSource('m.obj', wide));
    expect(mesh.triangles.length).toBe(6);
  });

  it('reads a file of line elements as points and says what was left out', async () => {
    const { description } = await readPoints(objReader, textSource('p.obj', `${SQUARE}l 1 2 3\np 4\nf 1 2\n`));
    expect(description).toMatchObject({ kind: 'points', pointCount: 4 });
    expect(description.notes).toEqual(['Faces with fewer than three corners: 1, left out.', 'Line and point elements: 2, left out.']);
  });

  it.each([
    ['an empty file', '', /is empty/],
    ['no vertex', '# nothing\n', /holds no vertex/],
    ['vertex number 0', `${SQUARE}f 0 1 2\n`, /line 5 \(byte 32\): "0" names no vertex/],
    ['a vertex that is not there', `${SQUARE}f 1 2 9\n`, /line 5: a face names vertex 9, the file holds 4/],
    ['a number back beyond the first', `${SQUARE}f -5 1 2\n`, /"-5" names no vertex/],
    ['a word for a coordinate', 'v 0 north 0\n', /line 1 \(byte 0\): y of a vertex is "north"/],
    ['a missing coordinate', 'v 0 0 0\nv 1 2\n', /line 2 \(byte 8\): z of a vertex is missing/],
    ['half a number', `${SQUARE}f 1 2.5 3\n`, /"2.5" names no vertex/],
  ])('refuses %s', async (_, text, message) => {
    const read = async () => {
      const source = textSource('bad.obj', text);
      const description = await objReader.describe(source, { salvage: false });
      return description.kind === 'mesh' ? objReader.readMesh!(source, description) : objReader.readPoints(source, description, 0);
    };
    await expect(read()).rejects.toThrow(message);
    await expect(read()).rejects.toMatchObject({ name: 'InputError' });
  });
});
