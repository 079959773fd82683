import type { Vector3 } from '../../geometry/vector.ts';
import { closedRing } from '../geojson.ts';
import type { FeatureShape } from '../features.ts';

/** ISO well-known binary types with z: point 1001, line 1002, polygon 1003. */
const WKB_TYPE = { point: 1001, line: 1002, polygon: 1003 } as const;

/**
 * A geometry as GeoPackage stores it (OGC 12-128r18, clause 2.1.3): 'GP', version 0, flags, spatial reference id,
 * envelope in x and y, then well-known binary, all little-endian.
 *
 * @param place  Turns local-frame metres into coordinates of the layer.
 */
export function geometryBlob(shape: FeatureShape, spatialReference: number, place: (local: Vector3) => Vector3): Uint8Array {
  const rings = ringsOf(shape, place);
  const corners = rings.flat();
  const body = bodySize(shape.kind, rings);
  const bytes = new Uint8Array(8 + 32 + body);
  const view = new DataView(bytes.buffer);
  bytes.set([0x47, 0x50, 0, 0b011]);
  view.setInt32(4, spatialReference, true);
  const xs = corners.map((corner) => corner[0]);
  const ys = corners.map((corner) => corner[1]);
  for (const [i, value] of [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)].entries()) view.setFloat64(8 + 8 * i, value, true);
  let at = 40;
  const count = (value: number): void => {
    view.setUint32(at, value, true);
    at += 4;
  };
  bytes[at++] = 1;
  count(WKB_TYPE[shape.kind]);
  if (shape.kind === 'polygon') count(rings.length);
  for (const ring of rings) {
    if (shape.kind !== 'point') count(ring.length);
    for (const corner of ring) {
      for (const value of corner) {
        view.setFloat64(at, value, true);
        at += 8;
      }
    }
  }
  return bytes;
}

function ringsOf(shape: FeatureShape, place: (local: Vector3) => Vector3): Vector3[][] {
  if (shape.kind === 'point') return [[place(shape.at)]];
  if (shape.kind === 'line') return [shape.path.map(place)];
  return shape.rings.map((ring, i) => closedRing(ring.map(place), i === 0 ? 1 : -1));
}

function bodySize(kind: FeatureShape['kind'], rings: readonly (readonly Vector3[])[]): number {
  const corners = rings.reduce((sum, ring) => sum + ring.length, 0) * 24;
  if (kind === 'point') return 5 + corners;
  if (kind === 'line') return 5 + 4 + corners;
  return 5 + 4 + 4 * rings.length + corners;
}
