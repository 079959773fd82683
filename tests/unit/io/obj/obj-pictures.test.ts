import { PNG } from 'pngjs';
import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../../../src/cloud/mesh.ts';
import { sampleMesh } from '../../../../src/cloud/sample-mesh.ts';
import { bytesSource, type ByteSource } from '../../../../src/io/byte-source.ts';
import { objReader } from '../../../../src/io/obj/obj-reader.ts';
import { readMesh, textSource } from '../../../fixtures/read-source.ts';

type Colour = readonly [number, number, number];
const [RED, GREEN, BLUE, YELLOW]: readonly Colour[] = [[200, 0, 0], [0, 200, 0], [0, 0, 200], [200, 200, 0]] as const;

/** Two by two pixels, packed by an independent library: upper left, upper right, lower left, lower right. */
function picture(name: string, colours: readonly Colour[]): ByteSource {
  const png = new PNG({ width: 2, height: 2 });
  colours.forEach((colour, i) => png.data.set([...colour, 255], 4 * i));
  return bytesSource(name, PNG.sync.write(png));
}

/** Colour of the middle of a triangle, from its picture as that library unpacks it. */
function colourOf({ triangles, textureCoordinates, pictures, pictureOf }: Mesh, t: number): Colour | null {
  if (pictureOf![t] === 0) return null;
  const png = PNG.sync.read(Buffer.from(pictures[pictureOf![t]! - 1]!.bytes));
  const middle = (axis: number): number => [0, 1, 2].reduce((sum, k) => sum + textureCoordinates![2 * triangles[3 * t + k]! + axis]!, 0) / 3;
  const at = 4 * (Math.floor(middle(1) * 2) * 2 + Math.floor(middle(0) * 2));
  return [png.data[at]!, png.data[at + 1]!, png.data[at + 2]!];
}

const MATERIALS = 'newmtl tiles\nKd 1 1 1\nmap_Kd -s 1 1 1 -clamp on textures\\Tiles Red.PNG\nnewmtl slate\n\tmap_kd -bm 0.5 -o 0 0 -mm 0 1 ./slate.png\nnewmtl plain\nKd 0.5 0.5 0.5\n';
const TILES = picture('tiles red.png', [RED, GREEN, BLUE, YELLOW]);
const SLATE = picture('slate.png', [BLUE, BLUE, BLUE, BLUE]);
/** Two squares side by side, with an edge in common that has other places in each; v counts from below. */
const SHAPE = 'v 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nv 2 0 0\nv 2 1 0\nvt 0 0\nvt 0.4 0\nvt 0.4 0.4\nvt 0 0.4\nvt 0.6 0.6\nvt 0.9 0.6\nvt 0.6 0.9\n';
const FACES = 'usemtl tiles\nf 1/1 2/2 3/3 4/4\nusemtl slate\nf 2/1/9 5/2/9 6/-5/9\nusemtl plain\nf 2/1 6/3 3/4\nusemtl tiles\nf 1/5 2/6 4/7\n';
const house = textSource('house.obj', `mtllib House Materials.MTL\n${SHAPE}${FACES}`);
const read = (beside: readonly ByteSource[]) => readMesh(objReader, house, false, beside);
const library = textSource('house materials.mtl', MATERIALS);

describe('pictures of an OBJ', () => {
  it('gives each triangle the colours of its picture, past options, folders, slashes and case', async () => {
    const { description, mesh } = await read([SLATE, library, TILES]);
    expect(description.notes).toEqual([]);
    // Three corners first, then those of more: as without pictures.
    expect([0, 1, 2, 3, 4].map((t) => colourOf(mesh, t))).toEqual([BLUE, null, GREEN, BLUE, BLUE]);
    expect([...mesh.pictureOf!]).toEqual([2, 0, 1, 1, 1]);
    expect(mesh.pictures.map(({ mimeType }) => mimeType)).toEqual(['image/png', 'image/png']);
  });

  it('makes two vertices of one with two places, and one of places that are the same', async () => {
    const { mesh } = await read([SLATE, library, TILES]);
    // Vertices 1, 2 and 4 of the tiles have a second place, 2 a third one on the slate; counted by hand.
    expect(mesh.positions.length / 3).toBe(6 + 4);
    const twice = textSource('twice.obj', 'mtllib house materials.mtl\nv 0 0 0\nv 1 0 0\nv 1 1 0\nv 0 1 0\nvt 0 0\nvt 1 0\nvt 1 1\nvt 0 0\nvt 1 1\nvt 0 1\nusemtl slate\nf 1/1 2/2 3/3\nf 1/4 3/5 4/6\n');
    expect((await readMesh(objReader, twice, false, [library, SLATE])).mesh.positions.length / 3).toBe(4);
  });

  it('lays the same points on it as without its pictures', async () => {
    const [plain, draped] = [(await readMesh(objReader, house)).mesh, (await read([SLATE, library, TILES])).mesh];
    expect(plain.pictureOf).toBeNull();
    expect(sampleMesh(draped, 0.05).positions).toEqual(sampleMesh(plain, 0.05).positions);
  });

  it('opens without a picture, and says which line names it', async () => {
    const { description, mesh } = await read([library, SLATE]);
    expect(description.notes).toEqual(['house materials.mtl, line 3: picture textures\\Tiles Red.PNG is not among the opened files; what it covers is drawn plain.']);
    expect([...mesh.pictureOf!]).toEqual([1, 0, 0, 0, 0]);
    const none = await read([library]);
    expect(none.description.notes).toEqual([expect.stringMatching(/^house materials\.mtl, line 3: .* The same holds for 1 more picture\.$/)]);
    expect(none.mesh.pictureOf).toBeNull();
  });

  it.each([
    ['its materials', [SLATE, TILES], /^house\.obj, line 1: materials House Materials\.MTL are not among the opened files/],
    ['a picture that is one', [library, SLATE, textSource('Tiles Red.PNG', 'II*\0')], /^house materials\.mtl, line 3: picture .* is neither JPEG, PNG nor WebP/],
  ])('opens without %s', async (_, beside, says) => {
    const { description, mesh } = await read(beside);
    expect(description.notes).toEqual([expect.stringMatching(says)]);
    expect(mesh.triangles.length).toBe(15);
  });

  it('draws a face plain whose places are not there', async () => {
    const shape = textSource('a.obj', 'mtllib house materials.mtl\nv 0 0 0\nv 1 0 0\nv 1 1 0\nvt 0 0\nvt x 1\nusemtl slate\nf 1/1 2/1 3/7\nf 1/1 2/2 3/1\nf 1 2 3\nf 1//1 2//1 3//1\nf 1/1 2/1 3/1\n');
    expect([...(await readMesh(objReader, shape, false, [library, SLATE])).mesh.pictureOf!]).toEqual([0, 0, 0, 0, 1]);
  });
});
