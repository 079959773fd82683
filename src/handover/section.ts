import { planeElevationAt } from '../geometry/plane.ts';
import { length, subtract, type Vector2, type Vector3 } from '../geometry/vector.ts';
import type { Building, RoofPlane } from '../roof/record.ts';
import { missing, type Measured } from '../units/measured.ts';
import { obstructionSolid } from './obstruction-solid.ts';

/** A building cut by an upright plane: `s` runs along the cut, `z` up. Local-frame metres. */
export interface Section {
  readonly from: Vector2;
  readonly to: Vector2;
  readonly pieces: readonly { readonly plane: string; readonly from: Vector2; readonly to: Vector2 }[];
  readonly things: readonly { readonly id: string; readonly corners: readonly Vector2[] }[];
  readonly parapets: readonly { readonly id: string; readonly at: Vector2; readonly topElevation: number; readonly thickness: number }[];
  readonly levels: readonly SectionLevel[];
  readonly ground: Measured;
}

export interface SectionLevel {
  readonly what: string;
  readonly at: Vector2;
  /** Above the ground where that was seen; its ± is known when the plane's covariance is. */
  readonly heightAboveGround: Measured;
}

/**
 * Cuts a building where it says most: across the longest ridge, or, on a roof without ridges, through the
 * highest thing on the largest plane across its longest edge.
 *
 * @returns null when the building has no plane the cut meets.
 */
export function cutBuilding(building: Building): Section | null {
  const cut = chooseCut(building);
  if (cut === null) return null;
  const { through, direction } = cut;
  const pieces = building.roofPlanes.flatMap((plane) =>
    spans([plane.outline, ...plane.holes], through, direction).map(([a, b]) => ({ plane: plane.id, from: onCut(plane, a, cut), to: onCut(plane, b, cut) })),
  );
  if (pieces.length === 0) return null;
  const reach = pieces.flatMap((piece) => [piece.from[0], piece.to[0]]);
  const [start, end] = [Math.min(...reach) - 1, Math.max(...reach) + 1];
  const at = (s: number): Vector2 => [through[0] + direction[0] * s, through[1] + direction[1] * s];
  return {
    from: at(start),
    to: at(end),
    pieces,
    things: cutThings(building, cut),
    parapets: cutParapets(building, cut),
    levels: levelsOf(building, pieces),
    ground: building.groundElevationM,
  };
}

interface Cut {
  readonly through: Vector2;
  readonly direction: Vector2;
}

function chooseCut(building: Building): Cut | null {
  const ridges = building.edges.filter((edge) => edge.kind === 'ridge');
  const longest = longestOf(ridges);
  if (longest !== null) return across(longest.from, longest.to);
  const largest = building.roofPlanes.reduce<RoofPlane | null>((best, plane) => (best === null || areaOf(plane) > areaOf(best) ? plane : best), null);
  if (largest === null) return null;
  const side = longestOf(building.edges.filter((edge) => edge.planes.includes(largest.id))) ?? { from: largest.outline[0]!, to: largest.outline[1]! };
  const highest = building.obstructions
    .filter((thing) => thing.onPlane === largest.id && thing.heightAboveRoofM.value !== null && thing.footprint.length > 0)
    .reduce<(typeof building.obstructions)[number] | null>((best, thing) => (best === null || thing.heightAboveRoofM.value! > best.heightAboveRoofM.value! ? thing : best), null);
  return across(side.from, side.to, highest === null ? null : meanOf(highest.footprint));
}

const areaOf = (plane: RoofPlane): number => plane.slopeAreaM2.value ?? 0;

function longestOf<Edge extends { readonly from: Vector3; readonly to: Vector3 }>(edges: readonly Edge[]): Edge | null {
  let best: Edge | null = null;
  for (const edge of edges) {
    if (best === null || length(subtract(edge.to, edge.from)) > length(subtract(best.to, best.from))) best = edge;
  }
  return best;
}

/** Not the middle, where a cross gable or a dormer often has its own ridge and a cut along it would say nothing. */
const CUT_AT = 0.38;

/** A cut square to a line, through a point of it or another position. Always runs west to east, or south to north. */
function across(from: Vector3, to: Vector3, through: Vector2 | null = null): Cut | null {
  const [dx, dy] = subtract(to, from);
  const size = Math.hypot(dx, dy);
  if (size < 1e-6) return null;
  const direction: Vector2 = [-dy / size, dx / size];
  const flip = direction[0] < -1e-9 || (Math.abs(direction[0]) <= 1e-9 && direction[1] < 0) ? -1 : 1;
  return { through: through ?? [from[0] + dx * CUT_AT, from[1] + dy * CUT_AT], direction: [direction[0] * flip, direction[1] * flip] };
}

function meanOf(ring: readonly Vector2[]): Vector2 {
  let [x, y] = [0, 0];
  for (const corner of ring) [x, y] = [x + corner[0], y + corner[1]];
  return [x / ring.length, y / ring.length];
}

/** Where a line lies inside rings (even-odd), as pairs of distances from `through`. */
function spans(rings: readonly (readonly (Vector2 | Vector3)[])[], through: Vector2, [dx, dy]: Vector2): [number, number][] {
  const hits: number[] = [];
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [a, b] = [ring[j]!, ring[i]!];
      const sideA = (a[0] - through[0]) * dy - (a[1] - through[1]) * dx;
      const sideB = (b[0] - through[0]) * dy - (b[1] - through[1]) * dx;
      if (sideA > 0 === sideB > 0) continue;
      const t = sideA / (sideA - sideB);
      hits.push((a[0] + t * (b[0] - a[0]) - through[0]) * dx + (a[1] + t * (b[1] - a[1]) - through[1]) * dy);
    }
  }
  hits.sort((first, second) => first - second);
  const pairs: [number, number][] = [];
  for (let k = 0; k + 1 < hits.length; k += 2) if (hits[k + 1]! - hits[k]! > 1e-6) pairs.push([hits[k]!, hits[k + 1]!]);
  return pairs;
}

function onCut(plane: RoofPlane, s: number, { through, direction }: Cut): Vector2 {
  return [s, planeElevationAt(plane, [through[0] + direction[0] * s, through[1] + direction[1] * s])];
}

function cutThings(building: Building, cut: Cut): Section['things'] {
  return building.obstructions.flatMap((thing) => {
    const plane = building.roofPlanes.find((one) => one.id === thing.onPlane);
    const solid = plane === undefined ? null : obstructionSolid(thing, plane);
    if (plane === undefined || solid === null) return [];
    return spans([thing.footprint], cut.through, cut.direction).map(([a, b]) => {
      const [footA, footB] = [onCut(plane, a, cut), onCut(plane, b, cut)];
      const level = solid.top.every((corner) => Math.abs(corner[2] - solid.top[0]![2]) < 1e-9);
      const rise = thing.heightAboveRoofM.value!;
      const topOf = (foot: Vector2): Vector2 => [foot[0], level ? solid.top[0]![2] : foot[1] + rise];
      return { id: thing.id, corners: [footA, topOf(footA), topOf(footB), footB] };
    });
  });
}

function cutParapets(building: Building, { through, direction: [dx, dy] }: Cut): Section['parapets'] {
  return building.parapets.flatMap((parapet) => {
    const rise = parapet.heightAboveRoofM.value;
    if (rise === null) return [];
    const found: Section['parapets'][number][] = [];
    for (let i = 0; i + 1 < parapet.path.length; i++) {
      const [a, b] = [parapet.path[i]!, parapet.path[i + 1]!];
      const sideA = (a[0] - through[0]) * dy - (a[1] - through[1]) * dx;
      const sideB = (b[0] - through[0]) * dy - (b[1] - through[1]) * dx;
      if (sideA > 0 === sideB > 0) continue;
      const t = sideA / (sideA - sideB);
      const s = (a[0] + t * (b[0] - a[0]) - through[0]) * dx + (a[1] + t * (b[1] - a[1]) - through[1]) * dy;
      const base = a[2] + t * (b[2] - a[2]);
      found.push({ id: parapet.id, at: [s, base], topElevation: base + rise, thickness: parapet.thicknessM.value ?? 0 });
    }
    return found;
  });
}

/** Highest and lowest ends of the cut roof, named for the edge kind they end at. */
function levelsOf(building: Building, pieces: Section['pieces']): SectionLevel[] {
  const ends = pieces.flatMap((piece) => [{ plane: piece.plane, at: piece.from }, { plane: piece.plane, at: piece.to }]).sort((a, b) => b.at[1] - a.at[1]);
  const kept: typeof ends = [];
  for (const end of ends) if (kept.every((other) => Math.abs(other.at[1] - end.at[1]) > 0.15)) kept.push(end);
  return kept.slice(0, 5).map(({ plane, at }, i) => ({
    what: i === 0 ? 'highest roof' : i === kept.length - 1 ? 'lowest roof' : 'roof',
    at,
    heightAboveGround: heightAboveGround(building, building.roofPlanes.find((one) => one.id === plane)!, at[1]),
  }));
}

/** Two-sided 95 % point of the normal distribution. */
const Z95 = 1.96;

function heightAboveGround(building: Building, plane: RoofPlane, elevation: number): Measured {
  const ground = building.groundElevationM;
  if (ground.value === null) return missing(ground.why);
  const covariance = plane.evidence?.covariance;
  if (covariance === undefined) return missing('plane without stored covariance');
  // At the centroid; the ends are worse, so the largest slope share over the outline is added.
  const [cx, cy] = plane.evidence!.centroid;
  let worst = 0;
  for (const [x, y] of plane.outline) {
    const g = [1, x - cx, y - cy];
    let variance = 0;
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) variance += g[i]! * covariance[3 * i + j]! * g[j]!;
    worst = Math.max(worst, variance);
  }
  const planeU95 = Z95 * Math.sqrt(worst);
  return {
    value: elevation - ground.value,
    u95: Math.hypot(planeU95, ground.u95),
    parts: [{ name: 'plane', u95: planeU95 }, { name: 'ground', u95: ground.u95 }],
  };
}
