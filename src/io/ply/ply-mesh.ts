import type { Mesh } from '../../cloud/mesh.ts';
import { triangulateFace } from '../../geometry/triangulate-face.ts';
import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import { GrowingArray } from '../growing-array.ts';
import type { PlyHeader } from './ply-header.ts';
import { surfaceLayout, vertexLayout } from './ply-layout.ts';
import { readPlyPoints } from './ply-points.ts';
import type { PlyPartDetail } from './ply-reader.ts';
import { walkRows } from './ply-rows.ts';
import { eachStripTriangle } from '../../geometry/triangle-strip.ts';

/**
 * The surface of a PLY file. Faces of any number of corners are cut into triangles; strips are unrolled.
 *
 * @throws InputError for a face that names a vertex the file does not hold.
 */
export async function readPlyMesh(source: ByteSource, header: PlyHeader, detail: PlyPartDetail): Promise<Mesh> {
  const vertex = vertexLayout(header, source.name);
  const surface = surfaceLayout(header);
  if (!surface) throw new RangeError(`${source.name} has no surface.`);
  // Vertices keep their numbers, so none may be left out even when salvaging.
  const points = await readPlyPoints(source, header, { ...detail, ...detail.ranges[vertex.element]!, salvage: false });
  const triangles = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array, 3 * detail.ranges[surface.element]!.rowCount);
  const push = (a: number, b: number, c: number): void => {
    triangles.push(a);
    triangles.push(b);
    triangles.push(c);
  };
  await walkRows(source, header, header.elements[surface.element]!, detail.ranges[surface.element]!, surface.list, (row, { items }, at) => {
    checkVertexNumbers(source.name, items.values, items.length, points.pointCount, surface.kind === 'strips', row, at);
    if (surface.kind === 'faces') triangulateFace(points.positions, items.values, items.length, push);
    else eachStripTriangle(items.values, items.length, push);
  });
  return { positions: points.positions, triangles: triangles.finish(), colours: points.colours, textureCoordinates: null, pictures: [], pictureOf: null };
}

function checkVertexNumbers(
  fileName: string,
  items: Float64Array,
  count: number,
  vertexCount: number,
  mayRestart: boolean,
  row: number,
  at: number,
): void {
  for (let i = 0; i < count; i++) {
    const vertex = items[i]!;
    if (vertex >= 0 && vertex < vertexCount && Number.isInteger(vertex)) continue;
    if (mayRestart && vertex < 0) continue;
    throw new InputError(fileName, `face ${row + 1} (byte ${at}) names vertex ${vertex}, expected 0 to ${vertexCount - 1}.`);
  }
}
