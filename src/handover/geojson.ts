import { signedPlanArea } from '../geometry/polygon.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { RoofRecord } from '../roof/record.ts';
import { featureLayers, type Feature, type FeatureShape } from './features.ts';

/** A local-frame position as longitude and latitude, WGS 84. [deg] */
export type ToLonLat = (local: Vector3) => Vector2;

/** A ninth decimal is a tenth of a millimetre; six, as RFC 7946 section 11.2 suggests for maps, would be a decimetre. */
const DECIMALS = 9;

/**
 * All features of a record in one collection (RFC 7946): longitude before latitude, outer rings counter-clockwise,
 * first position repeated at the end. Positions are flat: the format's third number is a height above the ellipsoid,
 * which a record does not know; heights stand in the properties instead.
 *
 * @param note  What is inexact about the positions; kept as a member of the collection.
 */
export function writeGeoJson(record: RoofRecord, toLonLat: ToLonLat, note: string | null = null): string {
  const features = featureLayers(record).flatMap((layer) =>
    layer.features.map((feature) => featureText(feature, layer.name, record.frame.origin, toLonLat)),
  );
  const remark = note === null ? '' : `"note":${JSON.stringify(note)},`;
  return `{"type":"FeatureCollection",${remark}"features":[\n${features.join(',\n')}\n]}\n`;
}

function featureText(feature: Feature, part: string, origin: Vector3, toLonLat: ToLonLat): string {
  const { shape } = feature;
  return JSON.stringify({
    type: 'Feature',
    id: feature.id,
    geometry: shape === null ? null : geometryOf(shape, toLonLat),
    properties: { part, ...feature.properties, ...elevations(shape, origin) },
  });
}

/** Lowest and highest source elevation of a shape. */
function elevations(shape: FeatureShape | null, origin: Vector3): Record<string, number> {
  if (shape === null) return {};
  const corners = shape.kind === 'point' ? [shape.at] : shape.kind === 'line' ? shape.path : shape.rings.flat();
  const heights = corners.map((corner) => corner[2] + origin[2]);
  return { elevation_min_m: rounded(Math.min(...heights)), elevation_max_m: rounded(Math.max(...heights)) };
}

const rounded = (metres: number): number => Number(metres.toFixed(4));

function geometryOf(shape: FeatureShape, toLonLat: ToLonLat): { readonly type: string; readonly coordinates: unknown } {
  const position = (local: Vector3): [number, number] => {
    const [longitude, latitude] = toLonLat(local);
    return [Number(longitude.toFixed(DECIMALS)), Number(latitude.toFixed(DECIMALS))];
  };
  if (shape.kind === 'point') return { type: 'Point', coordinates: position(shape.at) };
  if (shape.kind === 'line') return { type: 'LineString', coordinates: shape.path.map(position) };
  return { type: 'Polygon', coordinates: shape.rings.map((ring, i) => closedRing(ring.map(position), i === 0 ? 1 : -1)) };
}

/** Turns a ring the asked way round (+1 counter-clockwise) and closes it. */
export function closedRing<Position extends Vector2 | Vector3>(ring: readonly Position[], turn: 1 | -1): Position[] {
  const turned = signedPlanArea(ring) * turn < 0 ? ring.toReversed() : [...ring];
  return [...turned, turned[0]!];
}
