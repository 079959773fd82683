import type { EdgeKind } from '../../src/roof/record.ts';
import { inner, minus, normalOf, outer, unit, type P3 } from './points.ts';
import { same, type RoofShape, type ShapePlane } from './roof-shape.ts';

export interface ShapeEdge {
  readonly from: P3;
  readonly to: P3;
  readonly planes: readonly ShapePlane[];
  readonly kind: EdgeKind;
}

interface Side {
  readonly plane: ShapePlane;
  readonly normal: P3;
  readonly from: P3;
  readonly to: P3;
  readonly inHole: boolean;
}

/** A side counts as level below this slope along itself, as the shapes' own levels are exact. */
const LEVEL = 1e-6;

/** Every edge of a roof with its kind by the glossary; sides in line and of one kind and planes are joined. */
export function shapeEdges(shape: RoofShape): ShapeEdge[] {
  const sides = allSides(shape);
  const used = new Set<number>();
  const edges: ShapeEdge[] = [];
  sides.forEach((side, i) => {
    if (used.has(i)) return;
    const other = sides.findIndex((s, j) => j !== i && !used.has(j) && same(s.from, side.to) && same(s.to, side.from));
    used.add(i);
    if (other >= 0) {
      used.add(other);
      const partner = sides[other]!;
      edges.push({ from: side.from, to: side.to, planes: [side.plane, partner.plane], kind: sharedKind(side, partner) });
    } else {
      edges.push({ from: side.from, to: side.to, planes: [side.plane], kind: freeKind(shape, side) });
    }
  });
  return joined(edges);
}

function allSides(shape: RoofShape): Side[] {
  return shape.planes.flatMap((plane) => {
    const normal = normalOf(plane.ring);
    const of = (ring: P3[], inHole: boolean) =>
      ring.map((from, i): Side => ({ plane, normal, from, to: ring[(i + 1) % ring.length]!, inHole }));
    return [...of(plane.ring, false), ...plane.holes.flatMap((hole) => of(hole, true))];
  });
}

/** Slope of the plane when one leaves the side inward and square to it: negative when the roof falls away from it. */
function inwardSlope(side: Side): number {
  const along = minus(side.to, side.from);
  const size = Math.hypot(along[0], along[1]);
  const inward: [number, number] = [-along[1] / size, along[0] / size];
  return -(side.normal[0] * inward[0] + side.normal[1] * inward[1]) / side.normal[2];
}

const slopeAlong = (side: Side): number => {
  const along = minus(side.to, side.from);
  return Math.abs(along[2]) / Math.hypot(along[0], along[1]);
};

function sharedKind(side: Side, partner: Side): EdgeKind {
  const along = unit(minus(side.to, side.from));
  const convex = inner(outer(side.normal, partner.normal), along) > 0;
  const a = inwardSlope(side);
  const b = inwardSlope(partner);
  if (slopeAlong(side) < LEVEL) {
    if (a < 0 && b < 0) return 'ridge';
    if (a > 0 && b > 0) return 'valley';
    return 'unknown';
  }
  return convex ? 'hip' : 'valley';
}

function freeKind(shape: RoofShape, side: Side): EdgeKind {
  if (side.inHole) return 'abutment';
  const mid: P3 = [(side.from[0] + side.to[0]) / 2, (side.from[1] + side.to[1]) / 2, (side.from[2] + side.to[2]) / 2];
  const ends = shape.freeSide(mid);
  if (ends !== 'open') return ends;
  if (slopeAlong(side) >= LEVEL) return 'rake';
  return inwardSlope(side) > 0 ? 'eave' : 'unknown';
}

function joined(edges: ShapeEdge[]): ShapeEdge[] {
  const list = [...edges];
  for (let i = 0; i < list.length; i++) {
    for (let j = 0; j < list.length; j++) {
      const a = list[i]!;
      const b = list[j]!;
      if (i === j || a.kind !== b.kind || !same(a.to, b.from) || a.planes.length !== b.planes.length) continue;
      if (!a.planes.every((p) => b.planes.includes(p))) continue;
      if (inner(unit(minus(a.to, a.from)), unit(minus(b.to, b.from))) < 1 - 1e-12) continue;
      list[i] = { ...a, to: b.to };
      list.splice(j, 1);
      return joined(list);
    }
  }
  return list;
}
