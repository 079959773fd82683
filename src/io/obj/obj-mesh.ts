import type { Mesh } from '../../cloud/mesh.ts';
import { triangulateFace } from '../../geometry/triangulate-face.ts';
import type { ByteSource } from '../byte-source.ts';
import { GrowingArray } from '../growing-array.ts';
import { PointCollector } from '../point-collector.ts';
import { eachObjLine } from './obj-lines.ts';
import type { ObjPartDetail } from './obj-reader.ts';
import { addVertex, faceCorners } from './obj-vertex.ts';

/** The surface of an OBJ file; all groups and objects together. */
export async function readObjMesh(source: ByteSource, detail: ObjPartDetail): Promise<Mesh> {
  const points = new PointCollector({ colours: detail.colours.some, intensity: false, classification: false }, detail.vertexCount);
  const triangles = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);
  // Faces of more corners wait until every vertex is known: they may name later ones, and their shape decides the cut.
  const waiting = new GrowingArray<Uint32Array<ArrayBuffer>>(Uint32Array);
  const corners: number[] = [];
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
      if (count === 3) push(corners[0]!, corners[1]!, corners[2]!);
      if (count <= 3) return;
      waiting.push(count);
      for (let i = 0; i < count; i++) waiting.push(corners[i]!);
    }
  });
  const { positions, colours } = points.finish();
  for (let at = 0; at < waiting.length; ) {
    const count = waiting.values[at]!;
    triangulateFace(positions, waiting.values.subarray(at + 1, at + 1 + count), count, push);
    at += count + 1;
  }
  return { positions, triangles: triangles.finish(), colours, textureCoordinates: null, pictures: [], pictureOf: null };
}
