import { booleanOpD, ClipType, EndType, FillRule, inflatePathsD, JoinType, type PathsD } from 'clipper2-ts';
import { signedPlanArea } from './polygon.ts';
import type { Vector2 } from './vector.ts';
import { cos, sin } from './same-math.ts';

/** One closed ring; the first corner is not repeated. */
export type Ring = readonly Vector2[];
/** Flat area with any number of parts: outer rings counter-clockwise, holes clockwise. */
export type Region = readonly Ring[];

/**
 * Decimals kept by the integer arithmetic underneath: 0.01 mm. The clipping library rounds to two decimals (1 cm) unless
 * told; with eight, noisy unions leave slivers. Coordinates must be local (within some km of zero).
 */
const DECIMALS = 5;
/** Arcs stray this far inside the true circle at most. [m] */
const ARC_TOLERANCE = 0.0005;

export const unite = (...regions: readonly Region[]): Region => {
  const rings = regions.flat();
  return rings.length === 0 ? [] : combine(ClipType.Union, rings, null);
};
export const intersect = (a: Region, b: Region): Region =>
  a.length === 0 || b.length === 0 ? [] : combine(ClipType.Intersection, a, b);
export const subtractRegion = (a: Region, b: Region): Region =>
  a.length === 0 ? [] : b.length === 0 ? a : combine(ClipType.Difference, a, b);

/** Area, holes taken off. [m²] */
export const regionArea = (region: Region): number => region.reduce((sum, ring) => sum + signedPlanArea(ring), 0);

/** Everything within `distance` of a region (round corners), the region included. [m] */
export function grow(region: Region, distance: number): Region {
  if (region.length === 0 || distance === 0) return region;
  return fromPaths(inflatePathsD(toPaths(region), distance, JoinType.Round, EndType.Polygon, 2, DECIMALS, ARC_TOLERANCE));
}

/** What is left when a margin is taken off a region's rim, corners kept sharp. [m] */
export function shrinkSharp(region: Region, distance: number): Region {
  if (region.length === 0 || distance === 0) return region;
  return fromPaths(inflatePathsD(toPaths(region), -distance, JoinType.Miter, EndType.Polygon, 4, DECIMALS, 0));
}

/** Everything within `distance` of a line of straight pieces. [m] */
export function aroundLine(line: readonly Vector2[], distance: number): Region {
  if (distance <= 0 || line.length < 2) return [];
  return fromPaths(inflatePathsD(toPaths([line]), distance, JoinType.Round, EndType.Round, 2, DECIMALS, ARC_TOLERANCE));
}

/** Everything within `distance` of a position. [m] */
export function aroundPosition(at: Vector2, distance: number): Region {
  // Circumscribed, so that no part of the true disc is left out.
  const corners = 32;
  const radius = distance / cos(Math.PI / corners);
  return [Array.from({ length: corners }, (_, i): Vector2 => {
    const turn = ((i + 0.5) * 2 * Math.PI) / corners;
    return [at[0] + radius * cos(turn), at[1] + radius * sin(turn)];
  })];
}

/** Strip of the given full width about a straight line, square at its ends. [m] */
export function strip(from: Vector2, to: Vector2, width: number): Region {
  const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (size === 0 || width <= 0) return [];
  const x = (-(to[1] - from[1]) / size) * (width / 2);
  const y = ((to[0] - from[0]) / size) * (width / 2);
  return [[
    [from[0] - x, from[1] - y],
    [to[0] - x, to[1] - y],
    [to[0] + x, to[1] + y],
    [from[0] + x, from[1] + y],
  ]];
}

/** Parts of a region, each an outer ring with its own holes. */
export function regionParts(region: Region): Region[] {
  const parts = region.filter((ring) => signedPlanArea(ring) > 0).map((outer): Ring[] => [outer]);
  for (const hole of region) {
    if (signedPlanArea(hole) >= 0) continue;
    let home: Ring[] | null = null;
    let homeArea = Infinity;
    for (const part of parts) {
      const area = signedPlanArea(part[0]!);
      if (area < homeArea && windingNumber(part[0]!, hole[0]!) !== 0) {
        home = part;
        homeArea = area;
      }
    }
    home?.push(hole);
  }
  return parts;
}

/** True when a position lies inside a region (a position exactly on its rim may fall either way). */
export function regionContains(region: Region, at: Vector2): boolean {
  let winding = 0;
  for (const ring of region) winding += windingNumber(ring, at);
  return winding !== 0;
}

function windingNumber(ring: Ring, [x, y]: Vector2): number {
  let winding = 0;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [xi, yi] = ring[i]!;
    const [xj, yj] = ring[j]!;
    if (yj > y === yi > y) continue;
    if (x < xj + ((y - yj) / (yi - yj)) * (xi - xj)) winding += yi > yj ? 1 : -1;
  }
  return winding;
}

function combine(kind: ClipType, subject: Region, clip: Region | null): Region {
  return fromPaths(booleanOpD(kind, toPaths(subject), clip ? toPaths(clip) : null, FillRule.NonZero, DECIMALS));
}

const toPaths = (region: Region): PathsD => region.map((ring) => ring.map(([x, y]) => ({ x, y })));
const fromPaths = (paths: PathsD): Region => paths.map((path) => path.map(({ x, y }): Vector2 => [x, y]));
