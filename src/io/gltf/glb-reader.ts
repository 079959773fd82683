import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { FileDescription, SurveyFileReader } from '../survey-file.ts';
import { accessorCount } from './accessor.ts';
import { openGltf } from './glb-container.ts';
import { readGltfMesh, readGltfPoints } from './gltf-geometry.ts';
import { entryOf, MODE, type GltfJson } from './gltf-json.ts';
import { drawnImages } from './gltf-texture.ts';
import { placedPrimitives, type PlacedPrimitive } from './node-transforms.ts';

/** Extensions that may be required and are either read or change nothing about shape. */
const KNOWN = /^(KHR_mesh_quantization|(EXT|KHR)_meshopt_compression|KHR_texture_\w+|EXT_texture_webp|KHR_materials_\w+|KHR_lights_punctual|KHR_xmp\w*|EXT_structural_metadata|EXT_mesh_features)$/;

/** Reader of glTF 2.0 in one file: a surface, or points. Up is y by the format's rule. */
export const glbReader: SurveyFileReader = {
  recognises: (head, name) =>
    (head[0] === 0x67 && head[1] === 0x6c && head[2] === 0x54 && head[3] === 0x46) || /\.glb$/i.test(name) || (/\.gltf$/i.test(name) && head[0] === 0x7b),
  describe: describeGlb,
  readPoints: async (source, _, part) => readGltfPoints(source, await openGltf(source), part),
  readMesh: async (source) => readGltfMesh(source, await openGltf(source)),
};

async function describeGlb(source: ByteSource): Promise<FileDescription> {
  const container = await openGltf(source);
  const { json } = container;
  for (const extension of json.extensionsRequired ?? []) {
    if (!KNOWN.test(extension)) throw new InputError(source.name, `needs the glTF extension ${extension}, which is not read: export it without.`);
  }
  const placed = placedPrimitives(source.name, json);
  const surfaces = placed.filter(isSurface);
  const points = placed.filter(isPoints);
  const notes = [...container.notes, ...notesOn(json, placed)];
  if (surfaces.length === 0 && points.length === 0) throw new InputError(source.name, 'the scene holds neither triangles nor points.');
  const isMesh = surfaces.length > 0;
  if (isMesh && points.length > 0) notes.push(`${points.length} groups of loose points beside the mesh are not used.`);
  notes.push(...drawnImages(json, surfaces).notes);
  const pointCounts = points.map((one) => positionCount(source.name, json, one));
  const triangleCount = surfaces.reduce((sum, one) => sum + triangleCountOf(source.name, json, one), 0);
  return {
    name: source.name,
    format: 'GLB',
    formatDetail: `glTF ${container.version}${container.binary ? ' (GLB)' : ''}, ${placed.length} ${placed.length === 1 ? 'primitive' : 'primitives'}`,
    kind: isMesh ? 'mesh' : 'points',
    pointCount: isMesh ? 0 : pointCounts.reduce((sum, count) => sum + count, 0),
    triangleCount,
    bounds: null,
    up: 'y',
    crsStatements: [],
    coordinateStep: null,
    parts: isMesh ? [] : pointCounts.map((pointCount) => ({ pointCount, bounds: null, detail: null })),
    notes,
  };
}

export const isSurface = ({ primitive }: PlacedPrimitive): boolean => {
  const mode = primitive.mode ?? MODE.triangles;
  return mode === MODE.triangles || mode === MODE.strip || mode === MODE.fan;
};

export const isPoints = ({ primitive }: PlacedPrimitive): boolean => primitive.mode === MODE.points;

function positionCount(fileName: string, json: GltfJson, { primitive, label }: PlacedPrimitive): number {
  const index = primitive.attributes?.['POSITION'];
  if (index === undefined) throw new InputError(fileName, `${label} has no POSITION.`);
  return accessorCount(fileName, entryOf(fileName, json.accessors, index, 'accessor'), index);
}

function triangleCountOf(fileName: string, json: GltfJson, one: PlacedPrimitive): number {
  const { primitive } = one;
  const corners = primitive.indices === undefined
    ? positionCount(fileName, json, one)
    : accessorCount(fileName, entryOf(fileName, json.accessors, primitive.indices, 'accessor'), primitive.indices);
  return (primitive.mode ?? MODE.triangles) === MODE.triangles ? Math.floor(corners / 3) : Math.max(0, corners - 2);
}

function notesOn(json: GltfJson, placed: readonly PlacedPrimitive[]): string[] {
  const notes: string[] = [];
  const lines = placed.filter((one) => !isSurface(one) && !isPoints(one)).length;
  if (lines > 0) notes.push(`${lines} groups of lines are not used.`);
  if (json.nodes?.some((node) => node.extensions?.['EXT_mesh_gpu_instancing'])) notes.push('Repeated copies of meshes (EXT_mesh_gpu_instancing) are not read: one of each is.');
  if ((json.scenes?.length ?? 0) > 1) notes.push(`Scene ${json.scene ?? 0} of ${json.scenes!.length} is read.`);
  return notes;
}
