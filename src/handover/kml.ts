import type { Vector3 } from '../geometry/vector.ts';
import type { RoofRecord } from '../roof/record.ts';
import { featureLayers, levelLineId, pondId, type Feature, type FeatureShape } from './features.ts';
import { closedRing, type ToLonLat } from './geojson.ts';
import { escapeXml } from './xml-text.ts';

/** aabbggrr, as KML orders colour. */
const LINE_COLOUR: Readonly<Record<string, string>> = { obstructions: 'ff005ed5', keep_clear: 'ff009fe6', modules: 'ffb27200', ponds: 'ffe9b456', usable_area: 'ff739e00' };
const INK = 'ff1d2013';
const DECIMALS = 9;

/**
 * KML 2.2 for a globe viewer. Where the ground below a building was seen, heights stand above that ground; else shapes
 * lie on the viewer's own ground: a record knows no height above sea.
 *
 * @param note  What is inexact about the positions.
 */
export function writeKml(record: RoofRecord, toLonLat: ToLonLat, note: string | null = null): string {
  const grounds = groundOfThings(record);
  const folders = featureLayers(record).map((layer) => {
    const colour = LINE_COLOUR[layer.name] ?? INK;
    const style = `<Style id="${layer.name}"><LineStyle><color>${colour}</color><width>2</width></LineStyle><PolyStyle><color>59${colour.slice(2)}</color></PolyStyle></Style>`;
    const marks = layer.features.map((feature) => placemark(feature, layer.name, grounds.get(feature.id) ?? null, toLonLat));
    return { style, folder: ['<Folder>', `<name>${escapeXml(layer.title)}</name>`, ...marks, '</Folder>'].join('\n') };
  });
  const lines = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<kml xmlns="http://www.opengis.net/kml/2.2"><Document>',
    `<name>${escapeXml(record.sources[0]?.file ?? 'roof')}</name>`,
    ...(note === null ? [] : [`<description>${escapeXml(note)}</description>`]),
    ...folders.map((one) => one.style),
    ...folders.map((one) => one.folder),
    '</Document></kml>',
  ];
  return `${lines.join('\n')}\n`;
}

/** Local elevation of the ground below each thing, by id; things on no building or over unseen ground are left out. */
function groundOfThings(record: RoofRecord): Map<string, number> {
  const grounds = new Map<string, number>();
  const homeOfPlane = new Map<string, number>();
  for (const building of record.buildings) {
    const ground = building.groundElevationM.value;
    if (ground === null) continue;
    for (const one of [building, ...building.roofPlanes, ...building.edges, ...building.parapets, ...building.obstructions, ...building.lowPoints]) grounds.set(one.id, ground);
    for (const { id } of building.lowPoints) for (const own of [pondId(id), levelLineId(id)]) grounds.set(own, ground);
    for (const plane of building.roofPlanes) homeOfPlane.set(plane.id, ground);
  }
  const onPlane = (id: string, plane: string | null): void => {
    const ground = plane === null ? undefined : homeOfPlane.get(plane);
    if (ground !== undefined) grounds.set(id, ground);
  };
  for (const plane of record.usable?.planes ?? []) {
    for (let i = 1; i <= plane.polygons.length; i++) onPlane(`u.${plane.id}.${i}`, plane.id);
  }
  for (const thing of record.smallFeatures) onPlane(thing.id, thing.onPlane);
  for (const module of record.layout?.modules ?? []) onPlane(module.id, module.plane);
  for (const [i, zone] of (record.keepClear?.zones ?? []).entries()) onPlane(`k${i + 1}`, zone.plane);
  return grounds;
}

function placemark(feature: Feature, layer: string, ground: number | null, toLonLat: ToLonLat): string {
  const data = Object.entries(feature.properties)
    .filter(([, value]) => value !== null)
    .map(([name, value]) => `<Data name="${escapeXml(name)}"><value>${escapeXml(String(value))}</value></Data>`);
  const geometry = feature.shape === null ? '' : geometryKml(feature.shape, ground, toLonLat);
  return `<Placemark><name>${escapeXml(feature.id)}</name><styleUrl>#${layer}</styleUrl><ExtendedData>${data.join('')}</ExtendedData>${geometry}</Placemark>`;
}

function geometryKml(shape: FeatureShape, ground: number | null, toLonLat: ToLonLat): string {
  const mode = `<altitudeMode>${ground === null ? 'clampToGround' : 'relativeToGround'}</altitudeMode>`;
  const place = (local: Vector3): Vector3 => {
    const [longitude, latitude] = toLonLat(local);
    return [longitude, latitude, ground === null ? 0 : local[2] - ground];
  };
  const list = (positions: readonly Vector3[]): string => `<coordinates>${positions.map(positionText).join(' ')}</coordinates>`;
  if (shape.kind === 'point') return `<Point>${mode}${list([place(shape.at)])}</Point>`;
  if (shape.kind === 'line') return `<LineString>${mode}${list(shape.path.map(place))}</LineString>`;
  const [outer, ...holes] = shape.rings.map((ring, i) => `<LinearRing>${list(closedRing(ring.map(place), i === 0 ? 1 : -1))}</LinearRing>`);
  return `<Polygon>${mode}<outerBoundaryIs>${outer}</outerBoundaryIs>${holes.map((hole) => `<innerBoundaryIs>${hole}</innerBoundaryIs>`).join('')}</Polygon>`;
}

const positionText = ([longitude, latitude, height]: Vector3): string =>
  `${Number(longitude.toFixed(DECIMALS))},${Number(latitude.toFixed(DECIMALS))},${Number(height.toFixed(3))}`;
