import { Document, WebIO, type Material, type Node } from '@gltf-transform/core';
import { cross, normalize, subtract, type Vector3 } from '../geometry/vector.ts';
import type { RoofRecord } from '../roof/record.ts';
import { crsOf, type HandoverOptions } from './handover-kind.ts';
import { triangleSurfaces, type TriangleSurface } from './surfaces.ts';

/**
 * The measured roof as binary glTF 2.0: metres, y up. The place in the world stands in the root node's translation in
 * full precision; positions are single precision from there, good to 0.03 mm within half a kilometre.
 */
export async function writeGlb(record: RoofRecord, options: HandoverOptions = {}): Promise<Uint8Array> {
  const document = new Document();
  document.getRoot().getAsset().generator = `roofdatum ${record.madeBy.version}`;
  const buffer = document.createBuffer();
  const scene = document.createScene('roof');
  document.getRoot().setDefaultScene(scene);
  const root = document.createNode('origin').setTranslation(yUp(record.frame.origin));
  root.setExtras({ crs: crsOf(record, options), about: 'x east, y up, z south; translation is the place of the local origin in source coordinates' });
  scene.addChild(root);

  const materials = new Map<TriangleSurface['what'], Material>();
  const materialOf = (what: TriangleSurface['what']): Material => {
    let material = materials.get(what);
    if (material === undefined) {
      material = document.createMaterial(what).setBaseColorFactor([...COLOUR[what], 1]).setDoubleSided(true).setMetallicFactor(0).setRoughnessFactor(0.9);
      materials.set(what, material);
    }
    return material;
  };

  const homes = new Map<string, Node>();
  for (const surface of triangleSurfaces(record)) {
    let home = homes.get(surface.building);
    if (home === undefined) {
      home = document.createNode(surface.building);
      homes.set(surface.building, home);
      root.addChild(home);
    }
    const { positions, normals } = flatTriangles(surface);
    const primitive = document
      .createPrimitive()
      .setAttribute('POSITION', document.createAccessor().setType('VEC3').setArray(positions).setBuffer(buffer))
      .setAttribute('NORMAL', document.createAccessor().setType('VEC3').setArray(normals).setBuffer(buffer))
      .setMaterial(materialOf(surface.what));
    const node = document.createNode(surface.id).setMesh(document.createMesh(surface.id).addPrimitive(primitive));
    home.addChild(node.setExtras({ what: surface.what }));
  }
  return new WebIO().writeBinary(document);
}

/** Linear red, green, blue. */
const COLOUR: Readonly<Record<TriangleSurface['what'], readonly [number, number, number]>> = {
  'roof-plane': [0.72, 0.74, 0.72],
  obstruction: [0.84, 0.37, 0],
  module: [0, 0.2, 0.45],
};

/** A turn about x: north becomes −z. */
const yUp = ([x, y, z]: Vector3): [number, number, number] => [x, z, -y];

/** Every triangle with its own corners and one normal. */
function flatTriangles({ corners, triangles }: TriangleSurface): { readonly positions: Float32Array<ArrayBuffer>; readonly normals: Float32Array<ArrayBuffer> } {
  const positions = new Float32Array(triangles.length * 3);
  const normals = new Float32Array(triangles.length * 3);
  let at = 0;
  for (let i = 0; i < triangles.length; i += 3) {
    const [a, b, c] = [corners[triangles[i]!]!, corners[triangles[i + 1]!]!, corners[triangles[i + 2]!]!];
    const across = cross(subtract(b, a), subtract(c, a));
    // A triangle without area, from corners in one line, has no normal; up is as good as any.
    const normal = Math.hypot(...across) > 0 ? normalize(across) : ([0, 0, 1] as const);
    for (const corner of [a, b, c]) {
      positions.set(yUp(corner), at);
      normals.set(yUp(normal), at);
      at += 3;
    }
  }
  return { positions, normals };
}
