import { InputError } from '../units/input-error.ts';
import { lookUpEpsg, type ProjectedEntry } from './epsg/epsg-entry.ts';

/** Longitude and latitude in degrees. */
export type LonLat = readonly [number, number];

/** A map projection at work. Grid coordinates are in METRES, whatever the unit of the coordinate system. */
export interface Projection {
  readonly entry: ProjectedEntry;
  /** WGS 84, as GeoJSON, KML and the sun need it; there and back agrees to a centimetre. */
  toLonLat(x: number, y: number): LonLat;
  fromLonLat(lon: number, lat: number): readonly [number, number];
  /** On the system's own datum, without any shift: for north, scale and areas of use. */
  toOwnLonLat(x: number, y: number): LonLat;
  fromOwnLonLat(lon: number, lat: number): readonly [number, number];
  /** Equatorial radius [m] and squared eccentricity of its ellipsoid. */
  readonly ellipsoid: { readonly radius: number; readonly eccentricitySquared: number };
  /** What is known to be inexact about positions on WGS 84; null where nothing is. */
  readonly note: string | null;
}

/** Parameters that belong to the datum and not to the map. */
const DATUM_PARAMETERS = /\+(ellps|a|b|rf|datum|pm)=\S+/g;

/**
 * Datum shifts in place of grid files that are not shipped: the seven parameters of EPSG transformation 1314 (from
 * memory), good to some 2 m.
 */
const SHIFT_OF_ELLIPSOID: Readonly<Record<string, string>> = {
  airy: '+towgs84=446.448,-125.157,542.06,0.15,0.247,0.842,-20.489',
};

/**
 * Makes the projection of a coordinate system.
 *
 * @param crs  `EPSG:n`, projected or compound.
 * @throws InputError for a code that is unknown, not projected, or whose method is not available.
 */
export async function projectionOf(crs: string): Promise<Projection> {
  return projectionOfEntry(await projectedEntryOf(crs));
}

/** Looks up the projected system of a code, or the projected part of a compound one. */
export async function projectedEntryOf(crs: string, subject = crs): Promise<ProjectedEntry> {
  const code = Number(/^EPSG:(\d+)$/i.exec(crs.trim())?.[1]);
  if (!Number.isInteger(code)) throw new InputError(subject, `"${crs}" is no code of a coordinate system, expected EPSG: and a number.`);
  const found = await lookUpEpsg(code);
  const entry = found?.kind === 'compound' ? await lookUpEpsg(found.horizontal) : found;
  if (!entry) throw new InputError(subject, `EPSG:${code} is not in the table of coordinate systems, expected a projected one.`);
  if (entry.kind !== 'projected') throw new InputError(subject, `EPSG:${code} is a ${entry.kind} system, expected a projected one (metres or feet on a map grid).`);
  return entry;
}

/** @throws InputError when the method of the projection is not available. */
export async function projectionOfEntry(entry: ProjectedEntry): Promise<Projection> {
  const { default: proj4 } = await import('proj4');
  const shift = entry.needsGrid ? (SHIFT_OF_ELLIPSOID[/\+ellps=(\S+)/.exec(entry.definition)?.[1] ?? ''] ?? '') : '';
  const definition = `${entry.definition} ${shift}`.trim();
  // Given on both sides, a shift is still applied there and back, which costs some mm: left out, there is none.
  const unshifted = entry.definition.replace(/\+towgs84=\S+/g, '');
  const ownDatum = `+proj=longlat ${(unshifted.match(DATUM_PARAMETERS) ?? []).join(' ')}`;
  let toWgs84: { forward(at: number[]): number[]; inverse(at: number[]): number[] };
  let toOwn: typeof toWgs84;
  let made: { readonly a: number; readonly es: number };
  try {
    toWgs84 = proj4(definition, '+proj=longlat +datum=WGS84');
    toOwn = proj4(unshifted, ownDatum);
    made = new proj4.Proj(definition) as unknown as typeof made;
  } catch {
    throw new InputError(`EPSG:${entry.code}`, `the projection method of "${entry.name}" is not available here.`);
  }
  const pair = (at: number[]): readonly [number, number] => [at[0]!, at[1]!];
  return {
    entry,
    toLonLat: (x, y) => pair(toWgs84.forward([x, y])),
    fromLonLat: (lon, lat) => pair(toWgs84.inverse([lon, lat])),
    toOwnLonLat: (x, y) => pair(toOwn.forward([x, y])),
    fromOwnLonLat: (lon, lat) => pair(toOwn.inverse([lon, lat])),
    ellipsoid: { radius: made.a, eccentricitySquared: made.es },
    note: noteOf(entry, definition),
  };
}

function noteOf({ code, needsGrid }: ProjectedEntry, definition: string): string | null {
  const hasShift = /\+(towgs84|datum)=/.test(definition);
  if (needsGrid) {
    return hasShift
      ? `Longitude and latitude of EPSG:${code} are good to some metres: its grid file of datum shifts is not included.`
      : `Longitude and latitude of EPSG:${code} may be off by 100 m or more: its grid file of datum shifts is not included.`;
  }
  return hasShift ? null : `Longitude and latitude of EPSG:${code} are on its own datum, taken for WGS 84.`;
}
