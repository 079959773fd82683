import type { RoofRecord } from '../roof/record.ts';

/**
 * When a record was last decided on: the latest time among its decisions. Files that must carry a date take it from
 * here, never from a clock, so that the same record gives the same bytes.
 *
 * @returns null when nobody decided anything yet, or no time can be read.
 */
export function recordDate(record: RoofRecord): Date | null {
  let latest: number | null = null;
  for (const { at } of record.decisions) {
    const time = Date.parse(at);
    if (Number.isFinite(time) && (latest === null || time > latest)) latest = time;
  }
  return latest === null ? null : new Date(latest);
}

/** Stands where a format insists on a date and the record has none: the start of the usual computer calendar. */
export const NO_DATE = new Date(0);
