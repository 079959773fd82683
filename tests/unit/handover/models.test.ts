import { readFileSync } from 'node:fs';
import { NodeIO } from '@gltf-transform/core';
import { Ajv } from 'ajv';
import { Mesh } from 'three';
import { OBJLoader } from 'three/examples/jsm/loaders/OBJLoader.js';
import { describe, expect, it } from 'vitest';
import validator from 'gltf-validator';
import { surfaceArea } from '../../../src/geometry/polygon.ts';
import type { Vector3 } from '../../../src/geometry/vector.ts';
import { writeCityJson } from '../../../src/handover/cityjson.ts';
import { writeGlb } from '../../../src/handover/glb.ts';
import { writeLandXml } from '../../../src/handover/landxml.ts';
import { writeObj } from '../../../src/handover/obj.ts';
import type { RoofPlane } from '../../../src/roof/record.ts';
import { recordHarbour, recordOfManyPlanes } from '../../fixtures/record-harbour.ts';

const record = recordHarbour();
const planes = record.buildings.flatMap((building) => building.roofPlanes);
const things = record.buildings.flatMap((building) => building.obstructions);
const slopeArea = (plane: RoofPlane): number => surfaceArea(plane.outline) - plane.holes.reduce((sum, hole) => sum + surfaceArea(hole), 0);

describe('GLB', () => {
  /** Referee: gltf-validator 2.0.0-dev.3.10 of the Khronos Group. */
  it.each([['harbour', record], ['300 planes', recordOfManyPlanes(15, 10)]])('%s: the validator finds nothing', async (_name, of) => {
    const report = (await validator.validateBytes(await writeGlb(of))) as unknown as { issues: { messages: unknown[] }; info: { generator: string } };
    expect(report.issues.messages).toEqual([]);
    expect(report.info.generator).toBe('roofdatum 0.1.0');
  });

  it('stands y up, with the place in the root node to the last digit', async () => {
    const document = await new NodeIO().readBinary(await writeGlb(record));
    const root = document.getRoot().listNodes().find((node) => node.getName() === 'origin')!;
    const [x, y, z] = record.frame.origin;
    expect(root.getTranslation()).toEqual([x, z, -y]);
    expect(root.getExtras()['crs']).toBe('EPSG:2193');
    expect(root.listChildren().map((node) => node.getName())).toEqual(['b1', 'b2', 'b3']);
  });

  it('holds every plane with its area, facing up, and every obstruction of known height', async () => {
    const document = await new NodeIO().readBinary(await writeGlb(record));
    const meshes = new Map(document.getRoot().listMeshes().map((mesh) => [mesh.getName(), mesh.listPrimitives()[0]!]));
    for (const plane of planes) {
      const positions = meshes.get(plane.id)!.getAttribute('POSITION')!;
      const normals = meshes.get(plane.id)!.getAttribute('NORMAL')!;
      let total = 0;
      for (let i = 0; i < positions.getCount(); i += 3) {
        total += surfaceArea([0, 1, 2].map((k) => positions.getElement(i + k, []) as unknown as Vector3));
        expect(normals.getElement(i, [])[1]).toBeCloseTo(plane.normal[2], 5);
      }
      // Single precision within 40 m of the origin: 4 µm a corner.
      expect(total).toBeCloseTo(slopeArea(plane), 3);
    }
    expect(things.filter((thing) => meshes.has(thing.id)).map((thing) => thing.id)).toEqual(things.filter((thing) => thing.heightAboveRoofM.value !== null).map((thing) => thing.id));
  });
});

interface CityModel {
  readonly transform: { readonly scale: Vector3; readonly translate: Vector3 };
  readonly metadata: { readonly geographicalExtent: number[]; readonly referenceSystem?: string };
  readonly CityObjects: Record<string, { readonly type: string; readonly parents?: string[]; readonly children?: string[]; readonly geometry: { readonly type: string; readonly boundaries: number[][][]; readonly semantics?: { readonly surfaces: Record<string, unknown>[]; readonly values: number[] } }[] }>;
  readonly vertices: Vector3[];
}

describe('CityJSON 2.0', () => {
  const model = JSON.parse(writeCityJson(record)) as CityModel;
  const at = (index: number): Vector3 => model.vertices[index]!.map((step, i) => step * model.transform.scale[i]!) as unknown as Vector3;

  it('keeps the rules of the published specification', () => {
    const rules = JSON.parse(readFileSync(new URL('../../reference/cityjson/cityjson-2.0-rules.schema.json', import.meta.url), 'utf8')) as object;
    const check = new Ajv({ strict: false, formats: { date: true } }).compile(rules);
    expect(check(model), JSON.stringify(check.errors)).toBe(true);
    // The same rules see what is wrong.
    expect(check({ ...model, version: '2.0.1' })).toBe(false);
    expect(check({ ...model, vertices: [[0.5, 0, 0]] })).toBe(false);
  });

  it('keeps the rules a schema can not say: children and parents agree, indices exist, no vertex is spare', () => {
    const used = new Set<number>();
    for (const [id, object] of Object.entries(model.CityObjects)) {
      for (const child of object.children ?? []) expect(model.CityObjects[child]!.parents).toEqual([id]);
      for (const geometry of object.geometry) {
        for (const index of geometry.boundaries.flat(9)) used.add(index as number);
        if (geometry.semantics === undefined) continue;
        expect(geometry.semantics.values).toHaveLength(geometry.boundaries.length);
        for (const value of geometry.semantics.values) expect(geometry.semantics.surfaces[value]).toBeDefined();
      }
    }
    expect([...used].toSorted((a, b) => a - b)).toEqual(model.vertices.map((_, i) => i));
  });

  it('has a roof surface per plane, with pitch and azimuth and their holes', () => {
    for (const building of record.buildings) {
      const { boundaries, semantics } = model.CityObjects[building.id]!.geometry[0]!;
      for (const [i, plane] of building.roofPlanes.entries()) {
        const surface = semantics!.surfaces[semantics!.values[i]!]!;
        expect(surface).toMatchObject({ type: 'RoofSurface', id: plane.id, pitchDeg: plane.pitchDeg.value });
        const rings = boundaries[i]!.map((ring) => ring.map(at));
        const found = surfaceArea(rings[0]!) - rings.slice(1).reduce((sum, ring) => sum + surfaceArea(ring), 0);
        expect(found).toBeCloseTo(slopeArea(plane), 2);
      }
    }
    expect(model.CityObjects['b1']!.geometry[0]!.semantics!.surfaces[0]).toMatchObject({ azimuthDegMissing: 'level plane' });
    // Ground was not seen under b3, so it has none.
    expect(model.CityObjects['b3']!.geometry[0]!.semantics!.surfaces.some((surface) => surface['type'] === 'GroundSurface')).toBe(false);
  });

  it('closes every obstruction: each side of a face is met once the other way round', () => {
    for (const object of Object.values(model.CityObjects)) {
      if (object.type !== 'BuildingInstallation') continue;
      const sides = new Set<string>();
      for (const ring of (object.geometry[0]!.boundaries as unknown as number[][][][])[0]!.flat()) ring.forEach((from, i) => sides.add(`${from} ${ring[(i + 1) % ring.length]}`));
      for (const side of sides) expect(sides.has(side.split(' ').toReversed().join(' '))).toBe(true);
    }
  });

  it('names its projection, and keeps seven-digit places to 0.1 mm, in feet where the projection is', () => {
    expect(model.metadata.referenceSystem).toBe('https://www.opengis.net/def/crs/EPSG/0/2193');
    const unit = 1200 / 3937;
    const inFeet = JSON.parse(writeCityJson(recordHarbour({ crs: 'EPSG:2263' }), {}, unit)) as CityModel;
    expect(inFeet.transform.translate[0]).toBeCloseTo(record.frame.origin[0] / unit, 6);
    expect((inFeet.metadata.geographicalExtent[0]! * unit - model.metadata.geographicalExtent[0]!) * 1000).toBeCloseTo(0, 0);
  });
});

describe('OBJ and LandXML', () => {
  it('OBJ holds every plane as a group with its area, in feet when asked', () => {
    for (const [text, perMetre] of [[writeObj(record), 1], [writeObj(record, { unit: 'ft' }), 1 / 0.3048]] as const) {
      const corners: Vector3[] = [];
      const areas = new Map<string, number>();
      let group = '';
      for (const line of text.split('\n')) {
        const [word, ...rest] = line.split(' ');
        if (word === 'v') corners.push(rest.map(Number) as unknown as Vector3);
        else if (word === 'g') group = rest[0]!;
        else if (word === 'f') areas.set(group, (areas.get(group) ?? 0) + surfaceArea(rest.map((index) => corners[Number(index) - 1]!)));
      }
      for (const plane of planes) expect(areas.get(`roof-plane-${plane.id}`)! / perMetre ** 2).toBeCloseTo(slopeArea(plane), 3);
    }
  });

  it('LandXML orders northing before easting and says its unit and projection', () => {
    const text = writeLandXml(record, { origin: 'grid' });
    const [x, y, z] = planes[0]!.outline[0]!;
    const [east, north, up] = [x + record.frame.origin[0], y + record.frame.origin[1], z + record.frame.origin[2]].map((value) => String(Number(value.toFixed(5))));
    expect(text).toContain(`<P id="1">${north} ${east} ${up}</P>`);
    expect(text).toContain('linearUnit="meter"');
    expect(text).toContain('epsgCode="2193"');
    expect(text.match(/<Surface /g)).toHaveLength(planes.length);
    expect(writeLandXml(record, { unit: 'us-ft' })).toContain('linearUnit="USSurveyFoot"');
  });

  /** Referee: the OBJ reader of three 0.187. */
  it('another reader finds the same triangles under the same names', () => {
    const groups = new OBJLoader().parse(writeObj(record)).children.filter((child) => child instanceof Mesh);
    const countOf = (prefix: string) => groups.filter((child) => child.name.startsWith(prefix)).length;
    expect([countOf('roof-plane-'), countOf('obstruction-'), countOf('module-')]).toEqual([planes.length, things.length - 1, record.layout!.count]);
    const total = groups.reduce((sum, child) => sum + child.geometry.getAttribute('position').count / 3, 0);
    expect(total).toBe(writeObj(record).match(/^f /gm)!.length);
  });
});
