import { planeElevationAt } from '../geometry/plane.ts';
import { ringContains, signedPlanArea } from '../geometry/polygon.ts';
import { length, subtract, type Vector2, type Vector3 } from '../geometry/vector.ts';
import { EDGE_LETTER, partNames } from '../roof/part-names.ts';
import type { Building, EdgeKind, LowPoint, Obstruction, Parapet, RoofEdge, RoofPlane, RoofRecord, SmallFeature } from '../roof/record.ts';
import { regularRings, type RegularRings } from '../roof/regular-rings.ts';
import type { Measured } from '../units/measured.ts';
import type { Bounds } from './projection.ts';
import { roomiestPlace } from './label-place.ts';
import { once } from './once.ts';

/** What can be pointed at and selected. */
export type PartKind = 'plane' | 'edge' | 'obstruction' | 'parapet' | 'low-point' | 'feature' | 'reading';

export interface PartRef {
  readonly kind: PartKind;
  readonly id: string;
}

/** A place for lettering on a plane, and how much room is round it. [m] */
export interface PlaneLabel {
  readonly at: Vector3;
  readonly roomM: number;
}

export interface ScenePlane {
  readonly id: string;
  readonly name: string;
  readonly building: string;
  readonly plane: RoofPlane;
  /** Where its name stands. Searched for when first asked: a site has many planes that are never written on. */
  readonly label: () => PlaneLabel;
  /** Its rings with sides drawn to rules; null where they are as measured. */
  readonly regular: () => RegularRings | null;
  /** Unit, down the roof; null on a level plane. */
  readonly fall: Vector3 | null;
}

export interface SceneEdge {
  readonly id: string;
  readonly name: string;
  readonly kind: EdgeKind;
  readonly building: string;
  readonly planes: readonly string[];
  readonly from: Vector3;
  readonly to: Vector3;
  readonly slopeLengthM: Measured;
  readonly regular?: RoofEdge['regular'];
  /** Level, unit, away from the roof; for an edge of two planes towards the second. */
  readonly outward: Vector3;
}

/** Something that stands on a roof, as a prism. */
export interface SceneThing {
  readonly id: string;
  readonly name: string;
  readonly building: string;
  readonly obstruction: Obstruction;
  readonly base: readonly Vector3[];
  readonly top: readonly Vector3[];
  readonly centre: Vector3;
  readonly doubtful: boolean;
}

export interface SceneParapet {
  readonly id: string;
  readonly name: string;
  readonly building: string;
  readonly parapet: Parapet;
  readonly closed: boolean;
}

export interface SceneBuilding {
  readonly id: string;
  readonly outline: readonly Vector2[];
  /** Where walls end in the drawing: the ground, or an assumed height where none was seen. */
  readonly groundM: number;
  readonly ground: Measured;
  readonly bounds: Bounds;
}

/** A record made ready for drawing and pointing. Refused parts are left out. */
export interface RoofScene {
  readonly buildings: readonly SceneBuilding[];
  readonly planes: readonly ScenePlane[];
  readonly edges: readonly SceneEdge[];
  readonly things: readonly SceneThing[];
  readonly parapets: readonly SceneParapet[];
  readonly lowPoints: readonly { readonly id: string; readonly name: string; readonly building: string; readonly low: LowPoint }[];
  readonly features: readonly { readonly id: string; readonly name: string; readonly feature: SmallFeature }[];
  readonly bounds: Bounds | null;
}

/** How far below its lowest roof corner a building's walls are drawn when no ground was seen. [m] */
const ASSUMED_WALL_M = 3;

/** What a scene holds of one building. */
type BuildingParts = Pick<RoofScene, 'planes' | 'edges' | 'things' | 'parapets' | 'lowPoints'> & { readonly building: SceneBuilding };

/** Parts by building and by what of it is refused: a building that did not change is not worked out again. */
const known = new WeakMap<Building, { readonly refused: string; readonly parts: BuildingParts }>();

export function sceneOf(record: RoofRecord, refused: ReadonlySet<string>): RoofScene {
  const names = partNames(record);
  const parts = record.buildings.map((building) => partsOf(building, names, refused));
  return {
    buildings: parts.map(({ building }) => building),
    planes: parts.flatMap(({ planes }) => planes),
    edges: parts.flatMap(({ edges }) => edges),
    things: parts.flatMap(({ things }) => things),
    parapets: parts.flatMap(({ parapets }) => parapets),
    lowPoints: parts.flatMap(({ lowPoints }) => lowPoints),
    features: record.smallFeatures.filter(({ id }) => !refused.has(id)).map((feature) => ({ id: feature.id, name: names.get(feature.id)!, feature })),
    bounds: joinBounds(parts.map(({ building }) => building.bounds)),
  };
}

/** Parts of one building, for working out a scene piece by piece before it is asked for. @param names  Of all parts of the record; those of a building depend on it alone. */
export function partsOf(building: Building, names: ReadonlyMap<string, string>, refused: ReadonlySet<string>): BuildingParts {
  const own = [...refused].filter((id) => id.startsWith(`${building.id}.`)).join(' ');
  const before = known.get(building);
  if (before?.refused === own) return before.parts;
  const parts = makeParts(building, names, refused);
  known.set(building, { refused: own, parts });
  return parts;
}

function makeParts(building: Building, names: ReadonlyMap<string, string>, refused: ReadonlySet<string>): BuildingParts {
  const kept = <T extends { readonly id: string }>(list: readonly T[]): T[] => list.filter(({ id }) => !refused.has(id));
  const things = kept(building.obstructions);
  return {
    building: sceneBuilding(building),
    planes: kept(building.roofPlanes).map((plane) => scenePlane(plane, building, things, names)),
    edges: kept(building.edges).map((edge) => ({ ...edge, name: names.get(edge.id)!, building: building.id, outward: outwardOf(edge, building) })),
    things: things.flatMap((thing) => sceneThing(thing, building, names)),
    parapets: kept(building.parapets).map((parapet) => ({ id: parapet.id, name: names.get(parapet.id)!, building: building.id, parapet, closed: isClosed(parapet.path) })),
    lowPoints: kept(building.lowPoints).map((low) => ({ id: low.id, name: names.get(low.id)!, building: building.id, low })),
  };
}

function sceneBuilding(building: Building): SceneBuilding {
  const corners = building.roofPlanes.flatMap((plane) => plane.outline);
  const lowest = corners.reduce((low, corner) => Math.min(low, corner[2]), Infinity);
  const groundM = building.groundElevationM.value ?? (Number.isFinite(lowest) ? lowest - ASSUMED_WALL_M : 0);
  const plan = building.outline.map(([x, y]): Vector3 => [x, y, groundM]);
  return { id: building.id, outline: building.outline, groundM, ground: building.groundElevationM, bounds: boundsOf([...corners, ...plan]) };
}

function scenePlane(plane: RoofPlane, building: Building, things: readonly Obstruction[], names: ReadonlyMap<string, string>): ScenePlane {
  const [a, b, c] = plane.normal;
  const level = Math.hypot(a, b);
  // Down the roof: the level part of the normal, tipped so that it lies on the plane.
  const fall: Vector3 | null = level > 1e-4 ? [(a / level) * c, (b / level) * c, -level] : null;
  return {
    id: plane.id,
    name: names.get(plane.id)!,
    building: building.id,
    plane,
    label: once(() => labelOf(plane, things)),
    regular: once(() => regularRings(plane, building)),
    fall,
  };
}

/** A name keeps clear of what stands on the plane. */
function labelOf(plane: RoofPlane, things: readonly Obstruction[]): PlaneLabel {
  const standing = things.filter(({ onPlane, footprint }) => onPlane === plane.id && footprint.length > 2).map(({ footprint }) => footprint);
  const { at, room } = roomiestPlace(plane.outline, [...plane.holes, ...standing]);
  return { at: [at[0], at[1], planeElevationAt(plane, at)], roomM: room };
}

function outwardOf(edge: { readonly planes: readonly string[]; readonly from: Vector3; readonly to: Vector3 }, building: Building): Vector3 {
  const [dx, dy] = subtract(edge.to, edge.from);
  const run = Math.hypot(dx, dy);
  if (run < 1e-9) return [1, 0, 0];
  const side: Vector3 = [dy / run, -dx / run, 0];
  const first = building.roofPlanes.find(({ id }) => id === edge.planes[0]);
  if (!first) return side;
  const probe = Math.min(0.25, run / 4);
  const middle: Vector2 = [(edge.from[0] + edge.to[0]) / 2 + side[0] * probe, (edge.from[1] + edge.to[1]) / 2 + side[1] * probe];
  return ringContains(first.outline, middle) ? [-side[0], -side[1], 0] : side;
}

function sceneThing(obstruction: Obstruction, building: Building, names: ReadonlyMap<string, string>): SceneThing[] {
  const plane = building.roofPlanes.find(({ id }) => id === obstruction.onPlane);
  if (!plane || plane.normal[2] < 0.05 || obstruction.footprint.length < 3) return [];
  const onRoof = (at: Vector2): Vector3 => [at[0], at[1], planeElevationAt(plane, at)];
  const base = obstruction.footprint.map(onRoof);
  const middle = centreOf(base);
  const height = obstruction.heightAboveRoofM.value ?? 0;
  // A flush thing follows the roof; anything taller is drawn with a level top, its height counted at its middle.
  const level = obstruction.shape === 'flush' ? null : onRoof([middle[0], middle[1]])[2] + height;
  const top = base.map(([x, y, z]): Vector3 => [x, y, level === null ? z + height : Math.max(level, z)]);
  const doubtful = obstruction.resolvability !== 'resolved' || obstruction.heightAboveRoofM.value === null;
  return [{ id: obstruction.id, name: names.get(obstruction.id)!, building: building.id, obstruction, base, top, centre: centreOf(top), doubtful }];
}

const isClosed = (path: readonly Vector3[]): boolean => path.length > 3 && length(subtract(path[0]!, path.at(-1)!)) < 0.05;

export function centreOf(points: readonly Vector3[]): Vector3 {
  const sum = points.reduce<Vector3>((total, p) => [total[0] + p[0], total[1] + p[1], total[2] + p[2]], [0, 0, 0]);
  return [sum[0] / points.length, sum[1] / points.length, sum[2] / points.length];
}

export function boundsOf(points: readonly Vector3[]): Bounds {
  const min: [number, number, number] = [Infinity, Infinity, Infinity];
  const max: [number, number, number] = [-Infinity, -Infinity, -Infinity];
  for (const point of points) {
    for (let axis = 0; axis < 3; axis++) {
      min[axis] = Math.min(min[axis]!, point[axis]!);
      max[axis] = Math.max(max[axis]!, point[axis]!);
    }
  }
  return { min, max };
}

function joinBounds(list: readonly Bounds[]): Bounds | null {
  const usable = list.filter(({ min }) => Number.isFinite(min[0]));
  return usable.length > 0 ? boundsOf(usable.flatMap(({ min, max }) => [min, max])) : null;
}

/** Letter and kinds present, in the order of the drawing's legend. */
export function edgeLegend(edges: readonly SceneEdge[]): { kind: EdgeKind; letter: string; count: number }[] {
  const kinds = Object.keys(EDGE_LETTER) as EdgeKind[];
  return kinds
    .map((kind) => ({ kind, letter: EDGE_LETTER[kind], count: edges.filter((edge) => edge.kind === kind).length }))
    .filter(({ count }) => count > 0);
}

/** Area of a building's outline seen from above, for sorting and picking. [m²] */
export const planArea = (building: SceneBuilding): number => Math.abs(signedPlanArea(building.outline));
