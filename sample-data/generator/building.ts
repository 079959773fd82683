import type { ObstructionShape } from '../../src/roof/record.ts';
import type { TruthPlane } from '../../src/survey/score/truth.ts';
import { insetRing, mean, middle, normalOf, place, vectorArea, withoutStraightCorners, type P2, type P3, type Placement } from './points.ts';
import { plan, same, type RoofShape, type ShapePlane } from './roof-shape.ts';
import { shapeEdges, type ShapeEdge } from './shape-edges.ts';
import { surface, type Model, type Paint, type Surface } from './surface.ts';

export interface BuildingOptions {
  readonly id: string;
  readonly shape: RoofShape;
  /** Where the shape's origin stands in plan. */
  readonly at: P2;
  readonly turn: number;
  readonly groundZ: number;
  /** Height of the shape's z = 0 above the ground. [m] */
  readonly eaveHeight: number;
  readonly roofPaint: Paint;
  readonly wallPaint: Paint;
  /** How far the cover edge stands out from the wall, by the middle of the side in the shape's frame. [m] */
  readonly overhang: (mid: P3) => number;
  readonly parapet?: { readonly height: number; readonly thickness: number };
  /** Upright faces the shape needs above its eaves, in the shape's frame. */
  readonly upperWalls?: readonly { readonly ring: P3[]; readonly paint: Paint; readonly keep?: number }[];
  readonly things?: readonly Thing[];
}

/** Something that stands on a roof plane, in the shape's frame. */
export interface Thing {
  readonly class: string;
  readonly shape: ObstructionShape;
  readonly plane: string;
  /** The plane beyond the ridge when it stands across one. */
  readonly across?: string;
  readonly at: P2;
  readonly size: P2;
  /** Of the middle of its top above the roof plane below the middle of its footprint. [m] */
  readonly height: number;
  /** The top follows the roof instead of lying level. */
  readonly followsRoof?: boolean;
  readonly paint: Paint;
  readonly lid?: Paint;
  /** Share of points on the lid (glass). */
  readonly lidKeep?: number;
}

const FASCIA_DEPTH = 0.18;

/** Adds roof, walls, parapets and things to the scene, and what is true of them. */
export function addBuilding(model: Model, options: BuildingOptions): void {
  const where: Placement = { at: [options.at[0], options.at[1], options.groundZ + options.eaveHeight], turn: options.turn };
  const put = (p: P3): P3 => place(p, where);
  const { shape, id } = options;
  model.buildings.push({ id, groundElevationM: options.groundZ });
  const planeId = (p: ShapePlane) => `${id} ${p.name}`;
  for (const p of shape.planes) {
    model.surfaces.push(roofSurface(p, put, options.roofPaint));
    model.planes.push(truthPlane(planeId(p), id, p, put));
  }
  const edges = shapeEdges(shape);
  edges.forEach((edge, i) => model.edges.push({
    id: `${id} edge ${i + 1}`, kind: edge.kind, planes: edge.planes.map(planeId), from: put(edge.from), to: put(edge.to),
  }));
  for (const edge of edges) addFascia(model, edge, put);
  for (const wall of options.upperWalls ?? []) {
    model.surfaces.push(surface(wall.ring.map(put), wall.paint, { keep: wall.keep ?? 1 }));
  }
  const ring = outlineRing(shape);
  if (options.parapet) addParapet(model, options, ring, put);
  else addWalls(model, options, ring, put);
  (options.things ?? []).forEach((thing, i) => addThing(model, shape, thing, `${id} ${thing.class} ${i + 1}`, put, planeId));
}

function roofSurface(p: ShapePlane, put: (q: P3) => P3, paint: Paint): Surface {
  return surface(p.ring.map(put), paint, { holes: p.holes.map((hole) => hole.map(put)), freeEdgesRollOver: p.roof !== 'flat' });
}

function truthPlane(id: string, building: string, p: ShapePlane, put: (q: P3) => P3): TruthPlane {
  const ring = p.ring.map(put);
  const holes = p.holes.map((hole) => hole.map(put));
  const normal = normalOf(ring);
  const size = (r: P3[]) => Math.hypot(...vectorArea(r));
  const slopeArea = size(ring) - holes.reduce((sum, hole) => sum + size(hole), 0);
  const level = Math.hypot(normal[0], normal[1]);
  const bearing = (Math.atan2(normal[0], normal[1]) * 180) / Math.PI;
  return {
    id, building, roof: p.roof, normal,
    pitchDeg: (Math.atan2(level, normal[2]) * 180) / Math.PI,
    azimuthGridDeg: level < 1e-9 ? null : (bearing + 360) % 360,
    ring: withoutStraightCorners(ring), holes: holes.map(withoutStraightCorners),
    slopeAreaM2: slopeArea, planAreaM2: slopeArea * normal[2],
  };
}

function addFascia(model: Model, edge: ShapeEdge, put: (q: P3) => P3): void {
  if (edge.planes.length !== 1 || edge.planes[0]!.roof === 'dormer') return;
  if (edge.kind === 'abutment' || edge.kind === 'parapet') return;
  const low = (p: P3): P3 => [p[0], p[1], p[2] - FASCIA_DEPTH];
  model.surfaces.push(surface([low(edge.from), low(edge.to), edge.to, edge.from].map(put), 'fascia'));
}

interface OutlineSide {
  readonly from: P3;
  readonly to: P3;
  readonly plane: ShapePlane;
}

/** Free sides of the planes in plan order around the roof; sides that lie above one another cancel. */
function outlineRing(shape: RoofShape): OutlineSide[] {
  const sides: OutlineSide[] = shape.planes
    .filter((p) => p.roof !== 'dormer')
    .flatMap((p) => p.ring.map((from, i) => ({ from, to: p.ring[(i + 1) % p.ring.length]!, plane: p })));
  const flat = (p: P3): P3 => [p[0], p[1], 0];
  const free = sides.filter((s) => !sides.some((t) => t !== s && same(flat(t.from), flat(s.to)) && same(flat(t.to), flat(s.from))));
  const ring = [free[0]!];
  while (ring.length < free.length) {
    const end = flat(ring.at(-1)!.to);
    const following = free.find((s) => same(flat(s.from), end) && !ring.includes(s));
    if (!following) throw new Error('The free sides of the roof do not close.');
    ring.push(following);
  }
  return ring;
}

function elevationOn(p: ShapePlane, at: P2): number {
  const n = normalOf(p.ring);
  const o = p.ring[0]!;
  return o[2] - (n[0] * (at[0] - o[0]) + n[1] * (at[1] - o[1])) / n[2];
}

function addWalls(model: Model, options: BuildingOptions, ring: OutlineSide[], put: (q: P3) => P3): void {
  const distances = ring.map((s) => options.overhang(middle(s.from, s.to)));
  const feet = insetRing(ring.map((s) => plan(s.from)), distances);
  ring.forEach((side, i) => {
    const a = feet[i]!;
    const b = feet[(i + 1) % ring.length]!;
    const topA = elevationOn(side.plane, a);
    const topB = elevationOn(side.plane, b);
    const bottom = -options.eaveHeight;
    model.surfaces.push(surface([
      put([a[0], a[1], bottom]), put([b[0], b[1], bottom]), put([b[0], b[1], topB]), put([a[0], a[1], topA]),
    ], options.wallPaint));
  });
}

function addParapet(model: Model, options: BuildingOptions, ring: OutlineSide[], put: (q: P3) => P3): void {
  const { height, thickness } = options.parapet!;
  const top = Math.max(...ring.map((s) => s.from[2])) + height;
  const outerRing = insetRing(ring.map((s) => plan(s.from)), ring.map(() => -thickness));
  let heightTimesLength = 0;
  let lengthSum = 0;
  ring.forEach((side, i) => {
    const a = side.from;
    const b = side.to;
    const oa = outerRing[i]!;
    const ob = outerRing[(i + 1) % ring.length]!;
    const up = (p: P3 | P2): P3 => put([p[0], p[1], top]);
    model.surfaces.push(surface([put(b), put(a), up(a), up(b)], options.wallPaint));
    model.surfaces.push(surface([up(a), up(oa), up(ob), up(b)], 'zinc'));
    const foot = (p: P2): P3 => put([p[0], p[1], -options.eaveHeight]);
    model.surfaces.push(surface([foot(oa), foot(ob), up(ob), up(oa)], options.wallPaint));
    const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
    heightTimesLength += size * (top - (a[2] + b[2]) / 2);
    lengthSum += size;
  });
  const path = withoutStraightCorners(ring.map((s) => s.from));
  model.parapets.push({
    id: `${options.id} parapet`, path: [...path, path[0]!].map(put),
    heightAboveRoofM: heightTimesLength / lengthSum, topElevationM: put([0, 0, top])[2], thicknessM: thickness,
  });
}

function addThing(model: Model, shape: RoofShape, thing: Thing, id: string, put: (q: P3) => P3, planeId: (p: ShapePlane) => string): void {
  const host = shape.planes.find((p) => p.name === thing.plane);
  if (!host) throw new Error(`The roof has no plane called ${thing.plane}.`);
  const beyond = shape.planes.find((p) => p.name === thing.across);
  const roofZ = (at: P2) => Math.min(elevationOn(host, at), beyond ? elevationOn(beyond, at) : Infinity);
  const base = thing.shape === 'cylinder' ? disc(thing.at, thing.size[0] / 2) : rectangle(thing.at, thing.size);
  const middleZ = elevationOn(host, thing.at);
  const topOf = (at: P2) => (thing.followsRoof ? elevationOn(host, at) : middleZ) + thing.height;
  const feet = base.map((q): P3 => put([q[0], q[1], roofZ(q)]));
  const top = base.map((q): P3 => put([q[0], q[1], topOf(q)]));
  model.surfaces.push(surface(top, thing.lid ?? thing.paint, { keep: thing.lidKeep ?? 1 }));
  base.forEach((_, i) => {
    const j = (i + 1) % base.length;
    model.surfaces.push(surface([feet[i]!, feet[j]!, top[j]!, top[i]!], thing.paint));
  });
  model.obstructions.push({
    id, plane: planeId(host), class: thing.class, shape: thing.shape, footprint: feet.map(plan),
    widthM: Math.min(...thing.size), heightAboveRoofM: mean(top)[2] - put([thing.at[0], thing.at[1], middleZ])[2],
  });
}

const rectangle = (at: P2, size: P2): P2[] => [
  [at[0] - size[0] / 2, at[1] - size[1] / 2], [at[0] + size[0] / 2, at[1] - size[1] / 2],
  [at[0] + size[0] / 2, at[1] + size[1] / 2], [at[0] - size[0] / 2, at[1] + size[1] / 2],
];
/** Sixteen sides of the same area as the circle. */
function disc(at: P2, radius: number): P2[] {
  const count = 16;
  const turn = (2 * Math.PI) / count;
  const reach = radius * Math.sqrt(turn / Math.sin(turn));
  return Array.from({ length: count }, (_, i) => [at[0] + reach * Math.cos(i * turn), at[1] + reach * Math.sin(i * turn)]);
}
