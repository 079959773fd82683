import type { CrsStatement } from '../../site/crs-statement.ts';
import { geoKey, type GeoKeys } from './geo-keys.ts';
import { lengthUnitMetres } from './length-unit.ts';

const UNDEFINED = 0;
/** From here on codes are a file's own (OGC 19-008, 7.4). */
const USER_DEFINED = 32767;

/**
 * What GeoTIFF keys say of projection and unit. Only what stands in them: nothing is looked up but unit codes.
 *
 * @param origin  Where they were read, for messages.
 * @returns null when no key says anything of the kind.
 */
export function geoKeysStatement(keys: GeoKeys, origin = 'GeoTIFF keys'): CrsStatement | null {
  const projected = codeOf(keys, geoKey.projectedCrs);
  const geodetic = codeOf(keys, geoKey.geodeticCrs);
  const verticalEpsg = codeOf(keys, geoKey.verticalCrs);
  const kind = kindOf(keys, projected, geodetic);
  const unitToMetre = kind === 'geographic'
    ? null
    : unitOf(keys, geoKey.projectedLinearUnit, geoKey.projectedLinearUnitSize) ??
      (kind === 'geocentric' ? unitOf(keys, geoKey.geodeticLinearUnit, geoKey.geodeticLinearUnitSize) : null);
  const verticalUnitToMetre = unitOf(keys, geoKey.verticalUnit, null);
  const name = nameOf(keys, kind);
  const epsg = kind === 'geographic' || kind === 'geocentric' ? geodetic : projected;
  if (kind === 'unknown' && name === null && unitToMetre === null && verticalEpsg === null && verticalUnitToMetre === null) return null;
  return { origin, kind, name, epsg, verticalEpsg, unitToMetre, verticalUnitToMetre, wkt: null };
}

/** The model type key where it has a defined value; otherwise which of the two codes is there. */
function kindOf(keys: GeoKeys, projected: number | null, geodetic: number | null): CrsStatement['kind'] {
  switch (keys.get(geoKey.modelType)) {
    case 1: return 'projected';
    case 2: return 'geographic';
    case 3: return 'geocentric';
  }
  if (projected !== null || keys.get(geoKey.projectedCrs) === USER_DEFINED) return 'projected';
  return geodetic !== null ? 'geographic' : 'unknown';
}

function codeOf(keys: GeoKeys, key: number): number | null {
  const code = keys.get(key);
  return typeof code === 'number' && code > UNDEFINED && code < USER_DEFINED ? code : null;
}

function unitOf(keys: GeoKeys, unitKey: number, sizeKey: number | null): number | null {
  const size = sizeKey === null ? undefined : keys.get(sizeKey);
  const unit = keys.get(unitKey);
  const stated = typeof unit === 'number' ? lengthUnitMetres(unit) : null;
  return stated ?? (typeof size === 'number' && size > 0 ? size : null);
}

function nameOf(keys: GeoKeys, kind: CrsStatement['kind']): string | null {
  const order = kind === 'projected'
    ? [geoKey.projectedCitation, geoKey.citation, geoKey.geodeticCitation]
    : [geoKey.citation, geoKey.geodeticCitation, geoKey.projectedCitation];
  for (const key of order) {
    const text = keys.get(key);
    if (typeof text === 'string' && text !== '') return text;
  }
  return null;
}
