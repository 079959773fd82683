import GeometryFactory from 'jsts/org/locationtech/jts/geom/GeometryFactory.js';
import Coordinate from 'jsts/org/locationtech/jts/geom/Coordinate.js';
import BufferOp from 'jsts/org/locationtech/jts/operation/buffer/BufferOp.js';
import OverlayOp from 'jsts/org/locationtech/jts/operation/overlay/OverlayOp.js';
import type { Vector2, Vector3 } from '../../../src/geometry/vector.ts';
import type { Truth, TruthPlane } from '../../../src/survey/score/truth.ts';

/* Usable ground of the true roof by a second polygon library (jsts 2.12, a port of JTS): shares no code with ours. */

const factory = new GeometryFactory();
/** Straight pieces of a quarter circle: strays 0.05 mm from a circle of 0.4 m. */
const QUADRANT = 48;

interface Shape {
  getArea(): number;
  isEmpty(): boolean;
  getNumGeometries(): number;
  getGeometryN(n: number): Shape;
}

/** The rule both sides follow: this far from every rim and every thing, along the surface; parts below `leastPartM2` do not count. */
export interface PlainRule {
  readonly marginM: number;
  readonly leastPartM2: number;
}

/** Usable slope area of a true plane, with everything that stands on it. [m²] */
export function trueUsableM2(plane: TruthPlane, truth: Truth, { marginM, leastPartM2 }: PlainRule): number {
  const flat = flattener(plane);
  const outline = factory.createPolygon(ring(plane.ring.map(flat)), plane.holes.map((hole) => ring(hole.map(flat))));
  let left = BufferOp.bufferOp(outline, -marginM, QUADRANT) as Shape;
  for (const one of truth.obstructions) {
    if (one.plane !== plane.id || left.isEmpty()) continue;
    const foot = factory.createPolygon(ring(one.footprint.map(([x, y]) => flat([x, y, heightAt(plane, x, y)]))), []);
    left = OverlayOp.difference(left, BufferOp.bufferOp(foot, marginM, QUADRANT)) as Shape;
  }
  let area = 0;
  for (let n = 0; n < left.getNumGeometries(); n++) {
    const part = left.getGeometryN(n).getArea();
    if (part >= leastPartM2) area += part;
  }
  return area;
}

function ring(corners: readonly Vector2[]): unknown {
  return factory.createLinearRing([...corners, corners[0]!].map(([x, y]) => new Coordinate(x, y)));
}

/** Two directions in the plane at right angles, from its first side. */
function flattener({ ring: [a, b], normal }: TruthPlane): (at: Vector3) => Vector2 {
  const along = [b![0] - a![0], b![1] - a![1], b![2] - a![2]] as const;
  const size = Math.hypot(...along);
  const p = along.map((part) => part / size) as unknown as Vector3;
  const q: Vector3 = [normal[1] * p[2] - normal[2] * p[1], normal[2] * p[0] - normal[0] * p[2], normal[0] * p[1] - normal[1] * p[0]];
  return (at) => {
    const d: Vector3 = [at[0] - a![0], at[1] - a![1], at[2] - a![2]];
    return [d[0] * p[0] + d[1] * p[1] + d[2] * p[2], d[0] * q[0] + d[1] * q[1] + d[2] * q[2]];
  };
}

const heightAt = ({ ring: [a], normal }: TruthPlane, x: number, y: number): number =>
  a![2] - (normal[0] * (x - a![0]) + normal[1] * (y - a![1])) / normal[2];
