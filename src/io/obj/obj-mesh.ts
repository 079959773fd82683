import type { Mesh } from '../../cloud/mesh.ts';
import { triangulateFace } from '../../geometry/triangulate-face.ts';
import type { ByteSource } from '../byte-source.ts';
import { GrowingArray } from '../growing-array.ts';
import { PointCollector } from '../point-collector.ts';
import { eachObjLine } from './obj-lines.ts';
import type { ObjPartDetail } from './obj-reader.ts';
import { readPictures, wordsFrom, type ObjMaterials } from './obj-materials.ts';
import { addVertex, faceCorners } from './obj-vertex.ts';
import { PicturedFaces } from './pictured-faces.ts';

/**
 * The surface of an OBJ file; all groups and objects together.
 *
 * @param materials  What it is drawn with; null: plain. Triangles and their order are the same either way.
 */
export async function readObjMesh(source: ByteSource, detail: ObjPartDetail, materials: ObjMaterials | null): Promise<Mesh> {
  const points = new PointCollector({ colours: detail.colours.some, intensity: false, classification: false }, detail.vertexCount);
  const triangles = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);
  // Faces of more corners wait until every vertex is known: they may name later ones, and their shape decides the cut.
  const waiting = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);
  const corners: number[] = [];
  const places: number[] = [];
  // Colours of the points themselves were measured; those of materials were chosen.
  const pictured = materials?.pictures.some((picture) => 'source' in picture || !detail.colours.some) ? new PicturedFaces() : null;
  let picture = 0;
  const push = (a: number, b: number, c: number): void => {
    triangles.push(a);
    triangles.push(b);
    triangles.push(c);
  };
  await eachObjLine(source, detail.begin, detail.end, (line) => {
    if (line.keyword === 'v') {
      addVertex(source.name, line, points, detail.colours);
    } else if (line.keyword === 'f' || line.keyword === 'fo') {
      const count = faceCorners(source.name, line, points.pointCount, corners);
      pictured?.placesOf(line, places);
      if (count === 3) {
        push(corners[0]!, corners[1]!, corners[2]!);
        pictured?.addTriangle(picture, places[0]!, places[1]!, places[2]!);
      }
      if (count <= 3) return;
      waiting.push(count);
      waiting.push(picture);
      for (let i = 0; i < count; i++) waiting.push(corners[i]!);
      for (let i = 0; pictured && i < count; i++) waiting.push(places[i]!);
    } else if (pictured && line.keyword === 'vt') {
      pictured.addPlace(line);
    } else if (line.keyword === 'usemtl') {
      picture = materials?.pictureOf.get(wordsFrom(line.tokens, 1)) ?? 0;
    }
  });
  const { positions, colours } = points.finish();
  for (let at = 0; at < waiting.length; ) {
    const count = waiting.values[at]!;
    const picture = waiting.values[at + 1]!;
    const face = waiting.values.subarray(at + 2, at + 2 + count);
    const placeOf = (vertex: number): number => waiting.values[at + 2 + count + face.indexOf(vertex)]!;
    triangulateFace(positions, face, count, (a, b, c) => {
      push(a, b, c);
      pictured?.addTriangle(picture, placeOf(a), placeOf(b), placeOf(c));
    });
    at += 2 + count * (pictured ? 2 : 1);
  }
  const plain: Mesh = { positions, triangles: triangles.finish(), colours, textureCoordinates: null, pictures: [], pictureOf: null };
  return pictured ? pictured.drape(plain, await readPictures(materials!)) : plain;
}
