import { PNG } from 'pngjs';
import { describe, expect, it } from 'vitest';
import type { Mesh } from '../../../../src/cloud/mesh.ts';
import { sampleMesh } from '../../../../src/cloud/sample-mesh.ts';
import { bytesSource, type ByteSource } from '../../../../src/io/byte-source.ts';
import { objReader } from '../../../../src/io/obj/obj-reader.ts';
import { readMesh, textSource } from '../../../fixtures/read-source.ts';

type Colour = readonly [number, number, number];
const [RED, GREEN, BLUE, YELLOW, GREY, WHITE]: readonly Colour[] = [[200, 0, 0], [0, 200, 0], [0, 0, 200], [200, 200, 0], [128, 128, 128], [255, 255, 255]] as const;

/** Two by two pixels, packed by an independent library: upper left, upper right, lower left, lower right. */
function picture(name: string, colours: readonly Colour[]): ByteSource {
  const png = new PNG({ width: 2, height: 2 });
  colours.forEach((colour, i) => png.data.set([...colour, 255], 4 * i));
  return bytesSource(name, PNG.sync.write(png));
}

/** Colour of the middle of a triangle: its plain one, or of its picture as that library unpacks it. */
function colourOf({ triangles, textureCoordinates, pictures, pictureOf }: Mesh, t: number): Colour | null {
  if (pictureOf![t] === 0) return null;
  const paint = pictures[pictureOf![t]! - 1]!;
  if ('colour' in paint) return paint.colour;
  const png = PNG.sync.read(Buffer.from(paint.bytes));
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
    expect([0, 1, 2, 3, 4].map((t) => colourOf(mesh, t))).toEqual([BLUE, GREY, GREEN, BLUE, BLUE]);
    expect([...mesh.pictureOf!]).toEqual([2, 3, 1, 1, 1]);
    expect(mesh.pictures.map((paint) => ('colour' in paint ? paint.colour : paint.mimeType))).toEqual(['image/png', 'image/png', GREY]);
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
    // Its material's own colour stands in: white.
    expect([0, 1, 2, 3, 4].map((t) => colourOf(mesh, t))).toEqual([BLUE, GREY, WHITE, WHITE, WHITE]);
    const none = await read([library]);
    expect(none.description.notes).toEqual([expect.stringMatching(/^house materials\.mtl, line 3: .* The same holds for 1 more picture\.$/)]);
    expect([...none.mesh.pictureOf!]).toEqual([0, 2, 1, 1, 1]);
  });

  it.each([
    ['its materials', [SLATE, TILES], /^house\.obj, line 1: materials House Materials\.MTL are not among the opened files/],
    ['a picture that is one', [library, SLATE, textSource('Tiles Red.PNG', 'II*\0')], /^house materials\.mtl, line 3: picture .* is neither JPEG, PNG nor WebP/],
  ])('opens without %s', async (_, beside, says) => {
    const { description, mesh } = await read(beside);
    expect(description.notes).toEqual([expect.stringMatching(says)]);
    expect(mesh.triangles.length).toBe(15);
  });

  it('takes plain colours without any picture or place: of three numbers, or one for all, each once; others are none', async () => {
    // Alias/Wavefront MTL: "Kd r g b", g and b are r where they are left out; spectral curves and CIEXYZ are other statements.
    const materials = textSource('c.mtl', 'newmtl a\nKd 0.87 0.26 0.28\nnewmtl b\nKd 0.5\nnewmtl c\nKd spectral file.rfl 1\nnewmtl d\nKd xyz 0.2 0.2 0.2\nnewmtl e\nKd 0.870 0.260 0.280\nnewmtl f\nKd 2 -1 0\n');
    const faces = [...'abcdef'].map((name) => `usemtl ${name}\nf 1 2 3\n`).join('');
    const shape = (more: string) => textSource('c.obj', `mtllib c.mtl\nv 0 0 0${more}\nv 1 0 0${more}\nv 1 1 0${more}\n${faces}`);
    const { mesh, description } = await readMesh(objReader, shape(''), false, [materials]);
    expect(description.notes).toEqual([]);
    expect([0, 1, 2, 3, 4, 5].map((t) => colourOf(mesh, t))).toEqual([[222, 66, 71], [128, 128, 128], null, null, [222, 66, 71], [255, 0, 0]]);
    expect(mesh.pictures).toHaveLength(3);
    // Colours of the points themselves go before those somebody chose for a material.
    expect((await readMesh(objReader, shape(' 0.1 0.2 0.3'), false, [materials])).mesh).toMatchObject({ pictures: [], pictureOf: null });
  });

  it('draws a face plain whose places are not there', async () => {
    const shape = textSource('a.obj', 'mtllib house materials.mtl\nv 0 0 0\nv 1 0 0\nv 1 1 0\nvt 0 0\nvt x 1\nusemtl slate\nf 1/1 2/1 3/7\nf 1/1 2/2 3/1\nf 1 2 3\nf 1//1 2//1 3//1\nf 1/1 2/1 3/1\n');
    expect([...(await readMesh(objReader, shape, false, [library, SLATE])).mesh.pictureOf!]).toEqual([0, 0, 0, 0, 1]);
  });
});
