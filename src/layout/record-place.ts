import type { RoofRecord } from '../roof/record.ts';
import { isInArea } from '../site/place-in-area.ts';
import { projectionOf } from '../site/projection.ts';
import { InputError } from '../units/input-error.ts';

/** Where a record's site lies on the Earth, WGS 84. */
export interface RecordPlace {
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
}

/**
 * Latitude and longitude of a record from its projection; null where the record states none, one that is not known
 * here, or one its coordinates do not lie in. Then the user must give them, or energy is not computed.
 */
export async function recordPlace(record: RoofRecord): Promise<RecordPlace | null> {
  const crs = record.sources.find((source) => source.crs !== null)?.crs ?? null;
  if (crs === null) return null;
  const [x, y] = record.frame.origin;
  try {
    const projection = await projectionOf(crs);
    if (!isInArea(projection, x, y)) return null;
    const [longitudeDeg, latitudeDeg] = projection.toLonLat(x, y);
    return { latitudeDeg, longitudeDeg };
  } catch (error) {
    if (error instanceof InputError) return null;
    throw error;
  }
}
