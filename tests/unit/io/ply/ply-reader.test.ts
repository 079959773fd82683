import { describe, expect, it } from 'vitest';
import { bytesSource } from '../../../../src/io/byte-source.ts';
import { plyReader } from '../../../../src/io/ply/ply-reader.ts';
import { bytesOf, concatenated, readMesh, readPoints, textSource } from '../../../fixtures/read-source.ts';

const XYZ = 'property double x\nproperty double y\nproperty double z\n';
const header = (format: string, body: string): string => `ply\nformat ${format} 1.0\n${body}end_header\n`;

/** Little- or big-endian numbers by a word such as "ddd" (double), "f" (float), "B" (byte), "i" (int32). */
function packed(little: boolean, layout: string, values: readonly number[]): Uint8Array {
  const size = { d: 8, f: 4, i: 4, H: 2, B: 1 } as const;
  const view = new DataView(new ArrayBuffer([...layout].reduce((sum, kind) => sum + size[kind as keyof typeof size], 0)));
  let at = 0;
  [...layout].forEach((kind, index) => {
    const value = values[index]!;
    if (kind === 'd') view.setFloat64(at, value, little);
    else if (kind === 'f') view.setFloat32(at, value, little);
    else if (kind === 'i') view.setInt32(at, value, little);
    else if (kind === 'H') view.setUint16(at, value, little);
    else view.setUint8(at, value);
    at += size[kind as keyof typeof size];
  });
  return new Uint8Array(view.buffer);
}

describe('PLY points', () => {
  it.each([['binary_little_endian', true], ['binary_big_endian', false]] as const)('%s keeps doubles double', async (format, little) => {
    const points = [[770622.123456789, 6277546.000000001, 20.88], [1, 2, 3], [-0.1, 6277546.987654321, 1e-9]];
    const body = header(format, `element vertex 3\n${XYZ}property uchar red\nproperty uchar green\nproperty uchar blue\nproperty ushort intensity\nproperty uchar classification\n`);
    const bytes = concatenated(bytesOf(body), ...points.map((point, i) => packed(little, 'dddBBBHB', [...point, 10 * i, 20, 255, 40000 + i, i])));
    const { description, batches } = await readPoints(plyReader, bytesSource('p.ply', bytes));
    expect(description).toMatchObject({ kind: 'points', pointCount: 3, up: 'z', notes: [] });
    expect([...batches[0]!.positions]).toEqual(points.flat());
    expect([...batches[0]!.colours!]).toEqual([0, 20, 255, 10, 20, 255, 20, 20, 255]);
    expect([...batches[0]!.intensity!]).toEqual([40000, 40001, 40002]);
    expect([...batches[0]!.classification!]).toEqual([0, 1, 2]);
  });

  it('finds the body by bytes when a comment is in another encoding', async () => {
    const text = header('binary_little_endian', `comment toiture \xe9t\xe9 \xe2\x82\xac\nelement vertex 1\n${XYZ}`);
    const { batches } = await readPoints(plyReader, bytesSource('p.ply', concatenated(bytesOf(text), packed(true, 'ddd', [1, 2, 3]))));
    expect([...batches[0]!.positions]).toEqual([1, 2, 3]);
  });

  it('keeps a body whose first byte is that of a line feed', async () => {
    const text = header('binary_little_endian', 'element vertex 1\nproperty uchar n\nproperty float x\nproperty float y\nproperty float z\n');
    const { batches } = await readPoints(plyReader, bytesSource('p.ply', concatenated(bytesOf(text), packed(true, 'Bfff', [10, 1, 2, 3]))));
    expect([...batches[0]!.positions]).toEqual([1, 2, 3]);
  });

  it.each(['\r\n', '\r'])('reads header and rows that end in %j', async (lineEnd) => {
    const text = header('ascii', `element vertex 2\n${XYZ}`) + '1 2 3\n4 5 6\n';
    const { batches } = await readPoints(plyReader, textSource('p.ply', text.replaceAll('\n', lineEnd)));
    expect([...batches[0]!.positions]).toEqual([1, 2, 3, 4, 5, 6]);
  });

  it('steps over lists and elements it has no use for, and says so', async () => {
    const text = header('ascii', `element camera 1\nproperty list uchar float pose\nelement vertex 2\n${XYZ}property list uchar int seen_by\nproperty float quality\nelement track 1\nproperty int a\n`)
      + '3 0.1 0.2 0.3\n1 2 3 2 7 8 0.5\n4 5 6 0 0.25\n9\n';
    const { description, batches } = await readPoints(plyReader, textSource('p.ply', text));
    expect([...batches[0]!.positions]).toEqual([1, 2, 3, 4, 5, 6]);
    expect(description.notes).toEqual(['Element "camera" (1 rows) is not used.', 'Element "track" (1 rows) is not used.']);
  });

  it('takes float colours from 0 to 1 for shares, and larger ones for bytes', async () => {
    const text = (row: string) => header('ascii', `element vertex 1\n${XYZ}property float red\nproperty float green\nproperty float blue\n`) + row;
    const shares = await readPoints(plyReader, textSource('p.ply', text('0 0 0 0 0.5 1\n')));
    const bytes = await readPoints(plyReader, textSource('p.ply', text('0 0 0 0 127.6 255\n')));
    expect([...shares.batches[0]!.colours!]).toEqual([0, 128, 255]);
    expect([...bytes.batches[0]!.colours!]).toEqual([0, 128, 255]);
  });

  it('reads a code of a coordinate system from a comment, without choosing a unit', async () => {
    const { description } = await readPoints(plyReader, textSource('p.ply', header('ascii', `comment crs EPSG:2154+5720\nelement vertex 1\n${XYZ}`) + '1 2 3\n'));
    expect(description.crsStatements).toMatchObject([{ origin: 'comment', epsg: 2154, verticalEpsg: 5720, unitToMetre: null }]);
  });

  it('refuses what is cut short, and reads what is there when told to salvage', async () => {
    const bytes = concatenated(bytesOf(header('binary_little_endian', `element vertex 3\n${XYZ}`)), packed(true, 'dddddd', [1, 2, 3, 4, 5, 6]), new Uint8Array(5));
    const source = bytesSource('cut.ply', bytes);
    await expect(plyReader.describe(source, { salvage: false })).rejects.toThrow(/cut\.ply: element vertex: the header promises 3 rows and the file holds 2/);
    const { description, batches } = await readPoints(plyReader, source, true);
    expect(description.pointCount).toBe(2);
    expect([...batches[0]!.positions]).toEqual([1, 2, 3, 4, 5, 6]);
    expect(description.notes[0]).toMatch(/promises 3 rows and the file holds 2/);
  });

  it.each([
    ['no format line', `ply\nelement vertex 1\n${XYZ}end_header\n1 2 3\n`, /no format line/],
    ['an unknown format', header('binary_middle_endian', ''), /expected ascii, binary_little_endian/],
    ['a negative count', header('ascii', `element vertex -1\n${XYZ}`), /expected a count of 0 or more/],
    ['an unknown type', header('ascii', 'element vertex 1\nproperty real x\n'), /expected "property <type> <name>"/],
    ['a property without element', header('ascii', XYZ), /before any element/],
    ['no vertex element', header('ascii', 'element point 1\nproperty float x\n'), /elements of the PLY header: point; expected an element "vertex"/],
    ['no z', header('ascii', 'element vertex 1\nproperty float x\nproperty float y\n') + '1 2\n', /no property z/],
    ['a word for a number', header('ascii', `element vertex 2\n${XYZ}`) + '1 2 3\n4 five 6\n7 8 9\n', /row 2 \(byte \d+\): property y is "five"/],
    ['too few numbers in a row', header('ascii', `element vertex 2\n${XYZ}`) + '1 2\n4 5 6\n', /row 1 .*2 numbers/],
    ['a header without end', 'ply\nformat ascii 1.0\nelement vertex 1\n', /no end_header/],
    ['a wild count', header('binary_little_endian', `element vertex 999999999999\n${XYZ}`), /promises 999999999999 rows and the file holds 0/],
    ['a coordinate that is not finite', header('ascii', `element vertex 1\n${XYZ}`) + 'nan 2 3\n', /expected three finite numbers/],
  ])('refuses %s', async (_, text, message) => {
    await expect(readPoints(plyReader, textSource('bad.ply', text))).rejects.toThrow(message);
    await expect(readPoints(plyReader, textSource('bad.ply', text))).rejects.toMatchObject({ name: 'InputError' });
  });

  it('cuts a large vertex element into parts that hold every point once', async () => {
    const count = 1_000_003;
    const positions = Float32Array.from({ length: 3 * count }, (_, i) => i);
    const text = header('binary_little_endian', `element vertex ${count}\nproperty float x\nproperty float y\nproperty float z\n`);
    const { description, batches } = await readPoints(plyReader, bytesSource('p.ply', concatenated(bytesOf(text), new Uint8Array(positions.buffer))));
    expect(description.parts.map((part) => part.pointCount)).toEqual([1_000_000, 3]);
    expect(batches[1]!.positions).toEqual(Float64Array.from(positions.subarray(3_000_000)));
  });
});

describe('PLY meshes', () => {
  const vertices = (rows: string): string => `element vertex ${rows.trim().split('\n').length}\n${XYZ}`;
  const square = '0 0 0\n1 0 0\n1 1 0\n0 1 0\n';

  it('cuts faces of any number of corners', async () => {
    const pentagon = '0 0 0\n2 0 0\n3 2 0\n1 3 0\n-1 2 0\n';
    const text = header('ascii', `${vertices(pentagon)}element face 1\nproperty list uchar int vertex_indices\n`) + pentagon + '5 0 1 2 3 4\n';
    const { description, mesh } = await readMesh(plyReader, textSource('m.ply', text));
    expect(description).toMatchObject({ kind: 'mesh', triangleCount: 3, pointCount: 0 });
    expect(mesh.triangles.length).toBe(9);
  });

  it('cuts a concave face without leaving it', async () => {
    // An L: area 3; a fan from any corner but two would cover 4 or more.
    const corners = '2 2 5\n1 2 5\n1 1 5\n0 1 5\n0 0 5\n2 0 5\n';
    const text = header('ascii', `${vertices(corners)}element face 1\nproperty list uchar int vertex_index\n`) + corners + '6 0 1 2 3 4 5\n';
    const { mesh } = await readMesh(plyReader, textSource('m.ply', text));
    expect(shadowArea(mesh.positions, mesh.triangles)).toEqual({ signed: 3, absolute: 3 });
  });

  it('unrolls strips with restarts, all triangles facing one way', async () => {
    const text = header('ascii', `${vertices(square)}element tristrips 1\nproperty list int int vertex_indices\n`) + square + '8 0 1 3 2 -1 0 1 3\n';
    const { description, mesh } = await readMesh(plyReader, textSource('m.ply', text));
    expect(description.triangleCount).toBe(3);
    expect(shadowArea(mesh.positions, mesh.triangles)).toEqual({ signed: 1.5, absolute: 1.5 });
  });

  it('reads binary faces with properties around the list', async () => {
    const text = header('binary_big_endian', `${vertices(square)}element face 2\nproperty uchar flags\nproperty list uchar int vertex_indices\nproperty float quality\n`);
    const rows = concatenated(
      ...square.trim().split('\n').map((row) => packed(false, 'ddd', row.split(' ').map(Number))),
      packed(false, 'BBiiif', [7, 3, 0, 1, 2, 0.5]), packed(false, 'BBiiif', [7, 3, 0, 2, 3, 0.5]),
    );
    const { mesh } = await readMesh(plyReader, bytesSource('m.ply', concatenated(bytesOf(text), rows)));
    expect([...mesh.triangles]).toEqual([0, 1, 2, 0, 2, 3]);
  });

  it('refuses a face that names a vertex the file does not hold', async () => {
    const text = header('ascii', `${vertices(square)}element face 1\nproperty list uchar int vertex_indices\n`) + square + '3 0 1 4\n';
    await expect(readMesh(plyReader, textSource('m.ply', text))).rejects.toThrow(/face 1 \(byte \d+\) names vertex 4, expected 0 to 3/);
  });
});

/** Area of a mesh's shadow on the plan, with and without regard to the turning direction. */
function shadowArea(positions: Float64Array, triangles: Uint32Array): { signed: number; absolute: number } {
  let signed = 0;
  let absolute = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [3 * triangles[t]!, 3 * triangles[t + 1]!, 3 * triangles[t + 2]!];
    const twice = (positions[b]! - positions[a]!) * (positions[c + 1]! - positions[a + 1]!) - (positions[c]! - positions[a]!) * (positions[b + 1]! - positions[a + 1]!);
    signed += twice / 2;
    absolute += Math.abs(twice) / 2;
  }
  return { signed, absolute };
}
