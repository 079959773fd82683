import type { Vector3 } from '../geometry/vector.ts';
import type { Building, Obstruction, RoofPlane, RoofRecord } from '../roof/record.ts';
import type { Measured } from '../units/measured.ts';
import { crsOf, type HandoverOptions } from './handover-kind.ts';
import { obstructionSolid } from './obstruction-solid.ts';

/** Step of the whole-number coordinates: a tenth of a millimetre. */
const STEP = 0.0001;

type Ring = number[];
type Surface = Ring[];

/**
 * CityJSON 2.0: buildings with their measured roof surfaces (pitch and azimuth as attributes) and, where the ground was
 * seen, the ground outline; obstructions as installations. Walls were not measured and are not made up.
 *
 * @param horizontalMetres  Metres in one unit of the projection; heights stay in metres.
 */
export function writeCityJson(record: RoofRecord, options: HandoverOptions = {}, horizontalMetres = 1): string {
  const vertices = new VertexList();
  const objects: Record<string, unknown> = {};
  for (const building of record.buildings) {
    const installations = building.obstructions.flatMap((thing) => {
      const plane = building.roofPlanes.find((one) => one.id === thing.onPlane);
      const geometry = plane === undefined ? null : solidGeometry(thing, plane, vertices, horizontalMetres);
      return geometry === null ? [] : [{ thing, geometry }];
    });
    objects[building.id] = {
      type: 'Building',
      attributes: { ...attribute('groundElevationLocalM', building.groundElevationM), heightUnit: 'm' },
      ...(installations.length === 0 ? {} : { children: installations.map(({ thing }) => thing.id) }),
      geometry: [buildingGeometry(building, vertices, horizontalMetres)],
    };
    for (const { thing, geometry } of installations) {
      objects[thing.id] = {
        type: 'BuildingInstallation',
        parents: [building.id],
        attributes: { onPlane: thing.onPlane, shape: thing.shape, resolvability: thing.resolvability, ...attribute('heightAboveRoofM', thing.heightAboveRoofM), ...(thing.note === undefined ? {} : { note: thing.note }) },
        geometry: [geometry],
      };
    }
  }
  const [x, y, z] = record.frame.origin;
  const translate: Vector3 = [x / horizontalMetres, y / horizontalMetres, z];
  const epsg = /^EPSG:(\d+)$/i.exec(crsOf(record, options) ?? '')?.[1];
  const model = {
    type: 'CityJSON',
    version: '2.0',
    transform: { scale: [STEP, STEP, STEP], translate },
    metadata: {
      geographicalExtent: vertices.extent(translate),
      title: record.sources[0]?.file ?? 'roof',
      ...(epsg === undefined ? {} : { referenceSystem: `https://www.opengis.net/def/crs/EPSG/0/${epsg}` }),
    },
    CityObjects: objects,
    vertices: vertices.list,
  };
  return `${JSON.stringify(model)}\n`;
}

function buildingGeometry(building: Building, vertices: VertexList, unit: number): unknown {
  const boundaries: Surface[] = building.roofPlanes.map((plane) => [plane.outline, ...plane.holes].map((ring) => vertices.ring(ring, unit)));
  const surfaces: Record<string, unknown>[] = building.roofPlanes.map(roofSurface);
  const ground = building.groundElevationM.value;
  if (ground !== null && building.outline.length >= 3) {
    boundaries.push([vertices.ring(building.outline.map(([x, y]): Vector3 => [x, y, ground]).toReversed(), unit)]);
    surfaces.push({ type: 'GroundSurface' });
  }
  return { type: 'MultiSurface', lod: '2.0', boundaries, semantics: { surfaces, values: surfaces.map((_, i) => i) } };
}

function roofSurface(plane: RoofPlane): Record<string, unknown> {
  return {
    type: 'RoofSurface',
    id: plane.id,
    ...attribute('pitchDeg', plane.pitchDeg),
    ...attribute('azimuthDeg', plane.azimuthDeg),
    ...attribute('slopeAreaM2', plane.slopeAreaM2),
  };
}

/** Value and ±, or the reason there is none: never a made-up number. */
function attribute(name: string, number: Measured): Record<string, number | string> {
  return number.value === null ? { [`${name}Missing`]: number.why } : { [name]: number.value, [`${name}U95`]: number.u95 };
}

function solidGeometry(thing: Obstruction, plane: RoofPlane, vertices: VertexList, unit: number): unknown {
  const solid = obstructionSolid(thing, plane);
  if (solid === null) return null;
  const sides = solid.foot.map((corner, i) => {
    const next = (i + 1) % solid.foot.length;
    return [vertices.ring([corner, solid.foot[next]!, solid.top[next]!, solid.top[i]!], unit)];
  });
  const shell = [[vertices.ring(solid.foot.toReversed(), unit)], ...sides, [vertices.ring(solid.top, unit)]];
  return { type: 'Solid', lod: '2.0', boundaries: [shell] };
}

/** Shared vertices as whole steps from the local origin. */
class VertexList {
  readonly list: [number, number, number][] = [];
  private readonly index = new Map<string, number>();

  ring(corners: readonly Vector3[], unit: number): Ring {
    return corners.map(([x, y, z]) => this.add([Math.round(x / unit / STEP), Math.round(y / unit / STEP), Math.round(z / STEP)]));
  }

  private add(steps: [number, number, number]): number {
    const key = steps.join(' ');
    let at = this.index.get(key);
    if (at === undefined) {
      at = this.list.length;
      this.index.set(key, at);
      this.list.push(steps);
    }
    return at;
  }

  /** Least and greatest coordinates. */
  extent(translate: Vector3): number[] {
    const low = [Infinity, Infinity, Infinity];
    const high = [-Infinity, -Infinity, -Infinity];
    for (const steps of this.list) {
      for (let axis = 0; axis < 3; axis++) {
        low[axis] = Math.min(low[axis]!, steps[axis]!);
        high[axis] = Math.max(high[axis]!, steps[axis]!);
      }
    }
    return [...low, ...high].map((steps, i) => Number((steps * STEP + translate[i % 3]!).toFixed(4)));
  }
}
