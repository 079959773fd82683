import GeometryFactory from 'jsts/org/locationtech/jts/geom/GeometryFactory.js';
import Coordinate from 'jsts/org/locationtech/jts/geom/Coordinate.js';
import RelateOp from 'jsts/org/locationtech/jts/operation/relate/RelateOp.js';
import OverlayOp from 'jsts/org/locationtech/jts/operation/overlay/OverlayOp.js';
import type { Vector2, Vector3 } from '../../../src/geometry/vector.ts';
import type { RoofRecord } from '../../../src/roof/record.ts';

/* A second polygon library (jsts 2.12, a port of JTS) judges layouts: it shares no code with the one they are made with. */

const factory = new GeometryFactory();

export function polygon(ring: readonly (Vector2 | Vector3)[]): unknown {
  const closed = [...ring, ring[0]!].map(([x, y]) => new Coordinate(x, y));
  return factory.createPolygon(factory.createLinearRing(closed), []);
}

export const areaOfIntersection = (a: unknown, b: unknown): number => OverlayOp.intersection(a, b).getArea();
export const touch = (a: unknown, b: unknown): boolean => RelateOp.intersects(a, b);

/**
 * Everything wrong with a layout, in plan: modules that touch a keep-clear zone, leave their plane or overlap each other.
 * Modules on racks are judged by what they cover in plan.
 */
export function faultsOf(record: RoofRecord): string[] {
  const faults: string[] = [];
  const planes = new Map(record.buildings.flatMap((building) => building.roofPlanes).map((plane) => [plane.id, plane]));
  const modules = record.layout!.modules.map((module) => ({ ...module, shape: polygon(module.corners) }));
  for (const module of modules) {
    const plane = planes.get(module.plane)!;
    if (areaOfIntersection(module.shape, polygon(plane.outline)) < (module.shape as { getArea(): number }).getArea() - 1e-9) faults.push(`${module.id} leaves ${plane.id}`);
    for (const zone of record.keepClear!.zones) {
      // A ring that runs clockwise is a hole in its zone, not ground to keep clear.
      if (zone.plane === module.plane && signedArea(zone.polygon) > 0 && touch(module.shape, polygon(zone.polygon)) && !insideHole(record, zone, module.shape)) {
        faults.push(`${module.id} touches ${zone.because}`);
      }
    }
  }
  modules.forEach((a, i) => modules.slice(i + 1).forEach((b) => {
    if (a.plane === b.plane && areaOfIntersection(a.shape, b.shape) > 0) faults.push(`${a.id} overlaps ${b.id}`);
  }));
  return faults;
}

function insideHole(record: RoofRecord, zone: { readonly plane: string; readonly because: string }, shape: unknown): boolean {
  return record.keepClear!.zones.some((other) => other.plane === zone.plane && other.because === zone.because && signedArea(other.polygon) < 0
    && RelateOp.relate(polygon(other.polygon), shape).isContains());
}

function signedArea(ring: readonly Vector3[]): number {
  let sum = 0;
  ring.forEach(([x, y], i) => {
    const [nextX, nextY] = ring[(i + 1) % ring.length]!;
    sum += x * nextY - nextX * y;
  });
  return sum / 2;
}
