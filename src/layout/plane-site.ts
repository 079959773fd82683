import { signedPlanArea } from '../geometry/polygon.ts';
import {
  fromPlaneCoordinates, planeCoordinates, planToPlaneCoordinates, toPlaneCoordinates, type PlaneCoordinates,
} from '../geometry/plane-coordinates.ts';
import { aroundLine, aroundPosition, intersect, unite, type Region, type Ring } from '../geometry/region.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { Building, EdgeKind, Obstruction, ObstructionShape, RoofEdge, RoofPlane, RoofRecord } from '../roof/record.ts';
import { isKnown, type Measured } from '../units/measured.ts';

/** A roof plane laid flat, with everything on it that rules speak of. Flat coordinates of `frame`. */
export interface PlaneSite {
  readonly building: Building;
  readonly plane: RoofPlane;
  readonly frame: PlaneCoordinates;
  readonly region: Region;
  readonly edges: readonly SiteEdge[];
  readonly parapets: readonly SiteParapet[];
  readonly obstructions: readonly SiteObstruction[];
  readonly drains: readonly { readonly id: string; readonly at: Vector2 }[];
  /** Ground that lies beneath another roof plane of the record. */
  readonly covered: readonly { readonly by: string; readonly region: Region }[];
}

/** One straight piece of the plane's rim. */
export interface SiteEdge {
  readonly from: Vector2;
  readonly to: Vector2;
  readonly kind: EdgeKind;
  /** False about a hole. */
  readonly isOuter: boolean;
  /** Edge of the record it lies on; null where none does. */
  readonly id: string | null;
  /** Sideways position, 95 %. [m] */
  readonly positionU95M: number;
}

export interface SiteParapet {
  readonly id: string;
  /** Along the inner face. */
  readonly line: readonly Vector2[];
  /** The wall and everything of the plane beyond it. */
  readonly wall: Region;
  readonly positionU95M: number;
}

export interface SiteObstruction {
  readonly id: string;
  readonly footprint: Region;
  readonly heightAboveRoofM: Measured;
  readonly shape: ObstructionShape;
  /** Sideways position of its rim, 95 %. [m] */
  readonly positionU95M: number;
}

/** A rim piece belongs to a record's edge when its middle lies this near. [m] Outlines and edges come from one fit. */
const SAME_EDGE = 0.25;
/** And when the two run within this angle. [-] sine of 20 degrees: a short jog is not the long edge beside it. */
const SAME_DIRECTION = 0.34;
/** Obstructions of neighbouring planes count when their rim passes within this of the plane. [m] Wider than any clearance. */
const NEIGHBOUR_REACH = 3;
/** A neighbour's obstruction standing on a roof higher or lower by more than this does not count. [m] */
const OTHER_STOREY = 1.5;

export function planeSite(record: RoofRecord, building: Building, plane: RoofPlane): PlaneSite {
  const frame = planeCoordinates(plane, middleOf(plane.outline));
  const flat = (ring: readonly Vector3[]): Ring => ring.map((corner) => toPlaneCoordinates(frame, corner));
  const region = unite([turned(flat(plane.outline), 1)], plane.holes.map((hole) => turned(flat(hole), -1)));
  const spacing = Math.max(record.sampling.pointSpacingM, 0);
  return {
    building, plane, frame, region,
    edges: region.flatMap((ring) => ringEdges(ring, building, plane, frame, spacing)),
    parapets: siteParapets(building, plane, frame, region, spacing),
    obstructions: [
      ...building.obstructions.filter((one) => concerns(one, building, plane))
        .map((one) => siteObstruction(one, frame, spacing)),
      ...record.smallFeatures.filter((feature) => feature.onPlane === plane.id && feature.kind !== 'drain')
        .map((feature): SiteObstruction => ({
          id: feature.id,
          footprint: pointsRegion(feature.at.map((at) => toPlaneCoordinates(frame, at)), halfWidth(feature.widthM, spacing)),
          heightAboveRoofM: feature.heightM,
          shape: feature.at.length > 1 ? 'line' : 'cylinder',
          positionU95M: spacing,
        })),
    ],
    drains: [
      ...building.lowPoints.filter((low) => low.verdict === 'likely').map((low) => ({ id: low.id, at: low.at })),
      ...record.smallFeatures.filter((feature) => feature.kind === 'drain' && feature.onPlane === plane.id)
        .map((feature) => ({ id: feature.id, at: feature.at[0]! })),
    ].map(({ id, at }) => ({ id, at: planToPlaneCoordinates(frame, [at[0], at[1]]) }))
      .filter(({ at }) => intersect(region, aroundPosition(at, 0.05)).length > 0),
    covered: coveredGround(record, plane, frame, region),
  };
}

/** Overlaps in plan below this are outlines that touch. [m²] */
const TOUCHING_M2 = 0.02;

/**
 * Ground under other planes. Where two planes overlap in plan the higher one keeps the ground; where neither is higher by
 * more than a hand's thickness, the one that stands first in the record does, so that no ground is used twice.
 */
function coveredGround(record: RoofRecord, plane: RoofPlane, frame: PlaneCoordinates, region: Region): PlaneSite['covered'] {
  const covered: { by: string; region: Region }[] = [];
  const own = boxOf(plane);
  let isBefore = true;
  for (const other of record.buildings.flatMap((building) => building.roofPlanes)) {
    if (other === plane) {
      isBefore = false;
      continue;
    }
    const box = boxOf(other);
    if (box[0] >= own[2] || box[2] <= own[0] || box[1] >= own[3] || box[3] <= own[1]) continue;
    const onOwn = (ring: readonly Vector3[]): Ring => ring.map((at) => planToPlaneCoordinates(frame, [at[0], at[1]]));
    const shape = unite([turned(onOwn(other.outline), 1)], other.holes.map((hole) => turned(onOwn(hole), -1)));
    const common = intersect(region, shape);
    const area = common.reduce((sum, ring) => sum + signedPlanArea(ring), 0);
    if (area < TOUCHING_M2) continue;
    const [u, v] = middleOfRing(common[0]!);
    const [x, y, z] = fromPlaneCoordinates(frame, [u, v]);
    const higher = elevation(other, x, y) - z;
    if (higher > SAME_HEIGHT || (higher > -SAME_HEIGHT && isBefore)) covered.push({ by: other.id, region: common });
  }
  return covered;
}

/** Planes nearer than this in height are taken for the same roof seen twice. [m] */
const SAME_HEIGHT = 0.1;

function boxOf(plane: RoofPlane): readonly [number, number, number, number] {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of plane.outline) {
    x0 = Math.min(x0, x);
    y0 = Math.min(y0, y);
    x1 = Math.max(x1, x);
    y1 = Math.max(y1, y);
  }
  return [x0, y0, x1, y1];
}

function middleOfRing(ring: Ring): Vector2 {
  const sum = ring.reduce(([x, y], at): Vector2 => [x + at[0], y + at[1]], [0, 0]);
  return [sum[0] / ring.length, sum[1] / ring.length];
}

const turned = (ring: Ring, sign: 1 | -1): Ring => (Math.sign(signedPlanArea(ring)) === sign ? ring : ring.toReversed());

function middleOf(outline: readonly Vector3[]): Vector2 {
  let x = 0;
  let y = 0;
  for (const corner of outline) {
    x += corner[0];
    y += corner[1];
  }
  return [x / outline.length, y / outline.length];
}

function ringEdges(
  ring: Ring, building: Building, plane: RoofPlane, frame: PlaneCoordinates, spacing: number,
): SiteEdge[] {
  const candidates = building.edges.filter((edge) => edge.planes.includes(plane.id)).map((edge) => ({
    edge, from: toPlaneCoordinates(frame, edge.from), to: toPlaneCoordinates(frame, edge.to),
  }));
  const isOuter = signedPlanArea(ring) > 0;
  return ring.map((to, i): SiteEdge => {
    const from = ring[(i + ring.length - 1) % ring.length]!;
    let nearest: RoofEdge | null = null;
    let least = SAME_EDGE;
    for (const candidate of candidates) {
      const distance = distanceWhenAlong(from, to, candidate.from, candidate.to);
      if (distance < least) {
        least = distance;
        nearest = candidate.edge;
      }
    }
    const position = nearest?.positionM;
    return {
      from, to, isOuter, kind: nearest?.kind ?? 'unknown', id: nearest?.id ?? null,
      // With no stated position an edge is taken as known to one point spacing.
      positionU95M: position && isKnown(position) ? position.u95 : spacing,
    };
  });
}

/** Distance of a piece's middle from a line piece that runs the same way; infinite when it does not. */
function distanceWhenAlong(from: Vector2, to: Vector2, lineFrom: Vector2, lineTo: Vector2): number {
  const x = to[0] - from[0];
  const y = to[1] - from[1];
  const lineX = lineTo[0] - lineFrom[0];
  const lineY = lineTo[1] - lineFrom[1];
  const size = Math.hypot(x, y) * Math.hypot(lineX, lineY);
  if (size === 0 || Math.abs(x * lineY - y * lineX) > SAME_DIRECTION * size) return Infinity;
  return distanceToPiece([(from[0] + to[0]) / 2, (from[1] + to[1]) / 2], lineFrom, lineTo);
}

export function distanceToPiece(at: Vector2, from: Vector2, to: Vector2): number {
  const x = to[0] - from[0];
  const y = to[1] - from[1];
  const squared = x * x + y * y;
  const share = squared === 0 ? 0 : Math.min(1, Math.max(0, ((at[0] - from[0]) * x + (at[1] - from[1]) * y) / squared));
  return Math.hypot(at[0] - from[0] - share * x, at[1] - from[1] - share * y);
}

/** Whether rules about an obstruction reach a plane. @param building  With the plane it stands on. */
export function concerns(one: Obstruction, building: Building, plane: RoofPlane): boolean {
  if (one.onPlane === plane.id) return true;
  const home = building.roofPlanes.find((candidate) => candidate.id === one.onPlane);
  const [x, y] = one.footprint[0]!;
  if (home && Math.abs(elevation(home, x, y) - elevation(plane, x, y)) > OTHER_STOREY) return false;
  return plane.outline.some((corner, i) => {
    const before = plane.outline[(i + plane.outline.length - 1) % plane.outline.length]!;
    return one.footprint.some((at) => distanceToPiece(at, [before[0], before[1]], [corner[0], corner[1]]) < NEIGHBOUR_REACH);
  });
}

const elevation = ({ normal, offset }: RoofPlane, x: number, y: number): number =>
  -(normal[0] * x + normal[1] * y + offset) / normal[2];

/** Laid flat. */
export function siteObstruction(one: Obstruction, frame: PlaneCoordinates, spacing: number): SiteObstruction {
  const ring = turned(one.footprint.map((at) => planToPlaneCoordinates(frame, at)), 1);
  let around = 0;
  one.footprint.forEach((at, i) => {
    const before = one.footprint[(i + one.footprint.length - 1) % one.footprint.length]!;
    around += Math.hypot(at[0] - before[0], at[1] - before[1]);
  });
  const area = one.planAreaM2;
  return {
    id: one.id, footprint: unite([ring]), heightAboveRoofM: one.heightAboveRoofM, shape: one.shape,
    // A rim that moves out by d all round adds its length times d to the area.
    positionU95M: isKnown(area) && around > 0 ? area.u95 / around : spacing,
  };
}

const pointsRegion = (points: readonly Vector2[], half: number): Region =>
  points.length > 1 ? aroundLine(points, half) : aroundPosition(points[0]!, half);

const halfWidth = (width: Measured, spacing: number): number =>
  isKnown(width) && width.value > 0 ? width.value / 2 : Math.max(spacing, 0.05);

function siteParapets(
  building: Building, plane: RoofPlane, frame: PlaneCoordinates, region: Region, spacing: number,
): SiteParapet[] {
  const found: SiteParapet[] = [];
  for (const parapet of building.parapets) {
    const middle = parapet.path[Math.floor(parapet.path.length / 2)]!;
    if (Math.abs(elevation(plane, middle[0], middle[1]) - middle[2]) > OTHER_STOREY) continue;
    const line = parapet.path.map((at) => planToPlaneCoordinates(frame, [at[0], at[1]]));
    const thickness = isKnown(parapet.thicknessM) ? parapet.thicknessM.value : 0;
    const wall = intersect(region, unite(...wallStrips(line, region, thickness)));
    const touches = wall.length > 0 || intersect(region, aroundLine(line, 0.5)).length > 0;
    if (touches) found.push({ id: parapet.id, line, wall, positionU95M: spacing });
  }
  return found;
}

/** How far beyond the inner face the plane may still reach: the wall and a coping. [m] */
const BEYOND_WALL = 0.3;

function wallStrips(line: readonly Vector2[], region: Region, thickness: number): Region[] {
  const depth = thickness + BEYOND_WALL;
  return line.slice(1).map((to, i): Region => {
    const from = line[i]!;
    const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (size === 0) return [];
    const x = -(to[1] - from[1]) / size;
    const y = (to[0] - from[0]) / size;
    const side = (sign: number): Region => [turned([
      from, to, [to[0] + sign * depth * x, to[1] + sign * depth * y], [from[0] + sign * depth * x, from[1] + sign * depth * y],
    ], 1)];
    // The outer side is the one with less of the plane on it within three wall depths.
    const near = (sign: number): Region => [turned([
      from, to, [to[0] + sign * 3 * depth * x, to[1] + sign * 3 * depth * y],
      [from[0] + sign * 3 * depth * x, from[1] + sign * 3 * depth * y],
    ], 1)];
    return areaWithin(region, near(1)) < areaWithin(region, near(-1)) ? side(1) : side(-1);
  });
}

const areaWithin = (region: Region, part: Region): number =>
  intersect(region, part).reduce((sum, ring) => sum + signedPlanArea(ring), 0);
