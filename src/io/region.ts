import { InputError } from '../units/input-error.ts';

/** A region of interest in plan, source coordinates and unit. Plain data: it crosses threads. */
export interface Region {
  /** Closed rings, first corner not repeated, `x, y, x, y, …`; a position inside an odd number of them is in the region. */
  readonly rings: readonly (readonly number[])[];
  readonly bounds: { readonly min: readonly [number, number]; readonly max: readonly [number, number] };
}

interface PlanBounds {
  readonly min: readonly [number, number, ...number[]];
  readonly max: readonly [number, number, ...number[]];
}

/** How the text is to be written, for messages. */
const EXPECTED = 'expected a GeoJSON polygon or corners "x,y x,y x,y …" in the coordinates of the files';

/**
 * Reads a region of interest: GeoJSON (RFC 7946 geometry, but in the coordinates of the files), or at least three corners.
 *
 * @param text  Contents of a GeoJSON file, or corners.
 * @throws InputError for anything else.
 */
export function parseRegion(text: string, subject = '--within'): Region {
  const trimmed = text.trim();
  const rings = trimmed.startsWith('{') ? ringsOfGeoJson(trimmed, subject) : [ringOfCorners(trimmed, subject)];
  const min: [number, number] = [Infinity, Infinity];
  const max: [number, number] = [-Infinity, -Infinity];
  for (const ring of rings) {
    for (let i = 0; i < ring.length; i++) {
      min[i % 2] = Math.min(min[i % 2]!, ring[i]!);
      max[i % 2] = Math.max(max[i % 2]!, ring[i]!);
    }
  }
  if (!(max[0] > min[0] && max[1] > min[1]) || rings.every(isStraight)) throw new InputError(subject, `the corners enclose no area, ${EXPECTED}.`);
  return { rings, bounds: { min, max } };
}

/** All corners on one line. */
function isStraight(ring: readonly number[]): boolean {
  const [x0, y0] = [ring[0]!, ring[1]!];
  let [dx, dy] = [0, 0];
  for (let i = 2; i < ring.length; i += 2) {
    const [x, y] = [ring[i]! - x0, ring[i + 1]! - y0];
    if (Math.hypot(x, y) > Math.hypot(dx, dy)) [dx, dy] = [x, y];
  }
  const size = Math.hypot(dx, dy);
  return ring.every((_, i) => i % 2 === 1 || Math.abs(dx * (ring[i + 1]! - y0) - dy * (ring[i]! - x0)) <= 1e-9 * size * size);
}

/** True when a position lies in the region (one exactly on its rim may fall either way). */
export function regionContains({ rings, bounds }: Region, x: number, y: number): boolean {
  if (x < bounds.min[0] || x > bounds.max[0] || y < bounds.min[1] || y > bounds.max[1]) return false;
  let inside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
      const yi = ring[i + 1]!;
      const yj = ring[j + 1]!;
      if (yi > y !== yj > y && x < ((ring[j]! - ring[i]!) * (y - yi)) / (yj - yi) + ring[i]!) inside = !inside;
    }
  }
  return inside;
}

/** True when something inside the bounds may lie in the region. */
export function regionKeeps(region: Region, { min, max }: PlanBounds): boolean {
  const { rings, bounds } = region;
  if (max[0] < bounds.min[0] || min[0] > bounds.max[0] || max[1] < bounds.min[1] || min[1] > bounds.max[1]) return false;
  if (regionContains(region, min[0], min[1])) return true;
  return rings.some((ring) => {
    for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
      if (touchesBox(ring[j]!, ring[j + 1]!, ring[i]!, ring[i + 1]!, min, max)) return true;
    }
    return false;
  });
}

/** Whether a straight piece has a position inside a box (clipping by parameter: Liang & Barsky 1984). */
function touchesBox(x0: number, y0: number, x1: number, y1: number, min: PlanBounds['min'], max: PlanBounds['max']): boolean {
  let from = 0;
  let to = 1;
  for (const [start, step, low, high] of [[x0, x1 - x0, min[0], max[0]], [y0, y1 - y0, min[1], max[1]]] as const) {
    if (step === 0) {
      if (start < low || start > high) return false;
      continue;
    }
    const [a, b] = [(low - start) / step, (high - start) / step];
    from = Math.max(from, Math.min(a, b));
    to = Math.min(to, Math.max(a, b));
  }
  return from <= to;
}

function ringOfCorners(text: string, subject: string): number[] {
  const corners = text.replace(/\s*,\s*/g, ',').split(/\s+/).filter((word) => word !== '');
  const ring = corners.flatMap((corner) => {
    const pair = corner.split(',');
    const numbers = pair.map(Number);
    if (pair.length !== 2 || pair.includes('') || !numbers.every(Number.isFinite)) {
      throw new InputError(subject, `corner "${corner}" is not two numbers, ${EXPECTED}.`);
    }
    return numbers;
  });
  if (ring.length < 6) throw new InputError(subject, `${ring.length / 2} corners, ${EXPECTED}.`);
  return withoutClosing(ring);
}

function ringsOfGeoJson(text: string, subject: string): number[][] {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    throw new InputError(subject, `the GeoJSON cannot be read (${error instanceof Error ? error.message : String(error)}).`);
  }
  const rings: number[][] = [];
  collectRings(json, rings, subject, 0);
  if (rings.length === 0) throw new InputError(subject, `the GeoJSON holds no polygon, ${EXPECTED}.`);
  return rings;
}

const isObject = (value: unknown): value is Record<string, unknown> => typeof value === 'object' && value !== null;

function collectRings(json: unknown, rings: number[][], subject: string, depth: number): void {
  if (!isObject(json) || depth > 8) return;
  const add = (polygon: unknown): void => {
    for (const ring of Array.isArray(polygon) ? polygon : []) rings.push(ringOfPositions(ring, subject));
  };
  const each = (list: unknown, visit: (item: unknown) => void): void => (Array.isArray(list) ? list.forEach(visit) : undefined);
  switch (json['type']) {
    case 'Polygon': return add(json['coordinates']);
    case 'MultiPolygon': return each(json['coordinates'], add);
    case 'Feature': return collectRings(json['geometry'], rings, subject, depth + 1);
    case 'FeatureCollection': return each(json['features'], (feature) => collectRings(feature, rings, subject, depth + 1));
    case 'GeometryCollection': return each(json['geometries'], (geometry) => collectRings(geometry, rings, subject, depth + 1));
  }
}

function ringOfPositions(positions: unknown, subject: string): number[] {
  const ring = (Array.isArray(positions) ? positions : []).flatMap((position: unknown) => {
    const [x, y] = Array.isArray(position) ? (position as unknown[]) : [];
    if (typeof x !== 'number' || typeof y !== 'number') {
      throw new InputError(subject, `position ${JSON.stringify(position)} of the GeoJSON polygon is not a pair of numbers.`);
    }
    return [x, y];
  });
  const open = withoutClosing(ring);
  if (open.length < 6) throw new InputError(subject, `a ring of the GeoJSON polygon has ${open.length / 2} corners, expected at least 3.`);
  return open;
}

function withoutClosing(ring: number[]): number[] {
  const last = ring.length - 2;
  return last > 0 && ring[0] === ring[last] && ring[1] === ring[last + 1] ? ring.slice(0, last) : ring;
}
