import { fromPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import type { Region } from '../geometry/region.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { isKnown } from '../units/measured.ts';
import { type ModuleSpec, type RackSpec, LEVEL_PITCH_DEG } from './module-spec.ts';
import { packAligned, packRows } from './pack/pack-grid.ts';
import { modulesIn, packMost, QUICK_EFFORT, USUAL_EFFORT } from './pack/pack-most.ts';
import type { PackProblem, PackShape, PlacedRectangle } from './pack/pack-types.ts';
import { moduleUpperBound } from './pack/upper-bound.ts';
import type { PlaneSite } from './plane-site.ts';
import type { PlaneUsable } from './usable-area.ts';
import { acos, atan2, cos, sin, tan } from '../geometry/same-math.ts';

export type LayoutStyle = 'aligned' | 'rows' | 'most';

/** A module in its place. */
export interface PlacedModule {
  readonly plane: string;
  /** Ground it covers, flat coordinates of the plane, counter-clockwise. */
  readonly ground: readonly Vector2[];
  /** Corners of the module itself, local frame, counter-clockwise from above. */
  readonly corners: readonly Vector3[];
  /** Rise of its upper edge over its lower one above the roof; 0 when it lies on the roof. [m] */
  readonly raisedM: number;
}

export interface PlaneLayout {
  readonly modules: readonly PlacedModule[];
  /** No layout of these modules on this ground can hold more. */
  readonly upperBound: number;
}

/**
 * Places modules on the usable ground of one plane.
 *
 * - `aligned`: one even grid, one way up: common columns and rows.
 * - `rows`: level rows, one way up, each row and each run where it holds most.
 * - `most`: either way up, any straight rows or columns, cuts and repair.
 *
 * On a pitched plane rows run level; on a nearly level one they run along its longest edge. With a rack, and only there,
 * rows face the rack's bearing.
 *
 * @param bound  Stated as the upper bound where it need not be worked out.
 */
export function placeModules(
  usable: Pick<PlaneUsable, 'site' | 'region'>, module: ModuleSpec, style: LayoutStyle, rack: RackSpec | null, gridToTrueDeg: number, bound?: number,
): PlaneLayout {
  const { site } = usable;
  const { problem, axes, used } = laidOut(usable, module, rack, gridToTrueDeg);
  const upperBound = bound ?? moduleUpperBound(problem);
  const placed = style === 'aligned' ? packAligned(problem) : style === 'rows' ? packRows(problem) : packMost(problem, USUAL_EFFORT, bound === undefined ? upperBound : Infinity);
  const modules = placed.flatMap((one) => modulesOf(one, problem.shapes[one.shape]!, axes, site, module, used));
  // The bound and the search are computed on their own; a rounding of areas must not put one below the other.
  return { modules, upperBound: Math.max(upperBound, modules.length) };
}

/** A layout as it stands when planes with fewer modules than some are left empty. */
export const inGroups = (layout: PlaneLayout, leastGroup: number): PlaneLayout =>
  ({ modules: layout.modules.length < leastGroup ? [] : layout.modules, upperBound: layout.upperBound < leastGroup ? 0 : layout.upperBound });

/** The same of a bare count. */
export const countInGroup = (count: number, leastGroup: number): number => (count < leastGroup ? 0 : count);

/**
 * How many modules fit, without repair: quick, for comparing variants of one plane with each other. For `most` the count
 * may be a few per cent below that of `placeModules`.
 */
export function quickCount(usable: Pick<PlaneUsable, 'site' | 'region'>, module: ModuleSpec, style: LayoutStyle, rack: RackSpec | null, gridToTrueDeg: number): number {
  const { problem } = laidOut(usable, module, rack, gridToTrueDeg);
  return modulesIn(problem, quickPack(problem, style));
}

/** The modules `quickCount` counts. */
export function quickModules(usable: Pick<PlaneUsable, 'site' | 'region'>, module: ModuleSpec, style: LayoutStyle, rack: RackSpec | null, gridToTrueDeg: number): PlacedModule[] {
  const { problem, axes, used } = laidOut(usable, module, rack, gridToTrueDeg);
  return quickPack(problem, style).flatMap((one) => modulesOf(one, problem.shapes[one.shape]!, axes, usable.site, module, used));
}

const quickPack = (problem: PackProblem, style: LayoutStyle): PlacedRectangle[] =>
  (style === 'aligned' ? packAligned(problem) : style === 'rows' ? packRows(problem) : packMost(problem, QUICK_EFFORT));

function laidOut(usable: Pick<PlaneUsable, 'site' | 'region'>, module: ModuleSpec, rack: RackSpec | null, gridToTrueDeg: number) {
  const used = rack && isLevel(usable.site) ? rack : null;
  const axes = packingAxes(usable.site, used, gridToTrueDeg);
  const problem = packProblem(usable.region.map((ring) => ring.map((at) => axes.toPacking(at))), module, used);
  return { problem, axes, used };
}

/** Whether racks are offered on a plane. */
export const isLevel = ({ frame }: { readonly frame: Pick<PlaneSite['frame'], 'planPerSlope'> }): boolean =>
  (acos(Math.min(1, frame.planPerSlope)) * 180) / Math.PI <= LEVEL_PITCH_DEG;

export function packProblem(region: Region, module: ModuleSpec, rack: RackSpec | null): PackProblem {
  const upright = { width: module.widthM, height: module.heightM, modules: 1 };
  const lying = { width: module.heightM, height: module.widthM, modules: 1 };
  // "Either" on a rack means lying: the low, long row is the usual one, and the row distance rule speaks of one depth.
  const turn = rack && module.turn === 'either' ? 'lying' : module.turn;
  const flat: PackShape[] = turn === 'either' ? [upright, lying] : [turn === 'upright' ? upright : lying];
  if (!rack) return { region, shapes: flat, gapX: module.gapM, gapY: module.gapM };
  const drawn = cos((rack.tiltDeg * Math.PI) / 180);
  const shapes = flat.map((shape): PackShape => rack.kind === 'east-west'
    ? { width: shape.width, height: 2 * shape.height * drawn + module.gapM, modules: 2 }
    : { ...shape, height: shape.height * drawn });
  return { region, shapes, gapX: module.gapM, gapY: rack.rowGapM };
}

/** Turned flat coordinates in which rows run along x. */
export interface PackingAxes {
  toPacking(at: Vector2): Vector2;
  fromPacking(at: Vector2): Vector2;
}

export function packingAxes(site: PlaneSite, rack: RackSpec | null, gridToTrueDeg: number): PackingAxes {
  const y = rack ? backOfRack(site, rack, gridToTrueDeg) : isLevel(site) ? acrossLongestEdge(site) : ([0, 1] as Vector2);
  const x: Vector2 = [y[1], -y[0]];
  return {
    toPacking: ([u, v]) => [u * x[0] + v * x[1], u * y[0] + v * y[1]],
    fromPacking: ([a, b]) => [a * x[0] + b * y[0], a * x[1] + b * y[1]],
  };
}

/** Unit direction across the plane's longest edge, pointing into the upper half. */
function acrossLongestEdge(site: PlaneSite): Vector2 {
  let longest = 0;
  let across: Vector2 = [0, 1];
  for (const { from, to } of site.edges) {
    const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (size <= longest + 1e-6) continue;
    longest = size;
    across = [-(to[1] - from[1]) / size, (to[0] - from[0]) / size];
  }
  return across[1] > 1e-9 || (Math.abs(across[1]) <= 1e-9 && across[0] > 0) ? across : [-across[0], -across[1]];
}

/** Against the bearing the rack faces, flat coordinates. */
function backOfRack(site: PlaneSite, rack: RackSpec, gridToTrueDeg: number): Vector2 {
  if (rack.facingDeg === null) throw new RangeError('A rack needs a bearing; see rackFacing.');
  const bearing = ((rack.facingDeg - gridToTrueDeg) * Math.PI) / 180;
  const plan: Vector3 = [sin(bearing), cos(bearing), 0];
  const { u, v } = site.frame;
  const a = u[0] * plan[0] + u[1] * plan[1];
  const b = v[0] * plan[0] + v[1] * plan[1];
  const size = Math.hypot(a, b);
  return [-a / size, -b / size];
}

/**
 * Bearing racks face on a building: square to the plane's longest edge, of the four such bearings the one nearest
 * `wanted`. [deg]
 */
export function rackFacing(site: PlaneSite, wanted: number, gridToTrueDeg: number): number {
  const across = acrossLongestEdge(site);
  const { u, v } = site.frame;
  const x = u[0] * across[0] + v[0] * across[1];
  const y = u[1] * across[0] + v[1] * across[1];
  const one = (atan2(x, y) * 180) / Math.PI + gridToTrueDeg;
  const off = (bearing: number): number => Math.abs(((bearing - wanted + 540) % 360) - 180);
  return [0, 90, 180, 270].map((turn) => (((one + turn) % 360) + 360) % 360).reduce((best, next) => (off(next) < off(best) - 1e-6 ? next : best));
}

function modulesOf(
  one: PlacedRectangle, shape: PackShape, axes: PackingAxes, site: PlaneSite, module: ModuleSpec, rack: RackSpec | null,
): PlacedModule[] {
  const { x, y } = one;
  if (!rack) return [moduleAt(x, y, x + shape.width, y + shape.height, 0, 0, axes, site)];
  const tilt = (rack.tiltDeg * Math.PI) / 180;
  const low = rack.standoffM;
  if (rack.kind === 'one-way') {
    return [moduleAt(x, y, x + shape.width, y + shape.height, low, low + shape.height * tan(tilt), axes, site)];
  }
  const depth = (shape.height - module.gapM) / 2;
  const high = low + depth * tan(tilt);
  return [
    moduleAt(x, y, x + shape.width, y + depth, low, high, axes, site),
    moduleAt(x, y + depth + module.gapM, x + shape.width, y + shape.height, high, low, axes, site),
  ];
}

function moduleAt(
  x0: number, y0: number, x1: number, y1: number, front: number, back: number, axes: PackingAxes, site: PlaneSite,
): PlacedModule {
  const ground = ([[x0, y0], [x1, y0], [x1, y1], [x0, y1]] as const).map((at) => axes.fromPacking(at));
  const heights = [front, front, back, back];
  return { plane: site.plane.id, ground, raisedM: Math.abs(back - front), corners: ground.map((at, i) => fromPlaneCoordinates(site.frame, at, heights[i]!)) };
}

/** Pitch of a plane as measured, or as its normal says. [deg] */
export const pitchOfPlane = (site: PlaneSite): number =>
  isKnown(site.plane.pitchDeg) ? site.plane.pitchDeg.value : (acos(Math.min(1, site.frame.planPerSlope)) * 180) / Math.PI;
