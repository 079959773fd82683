import type { RoofRecord } from '../roof/record.ts';

/** Whether bearings of a record run from true north: without a projection they run from the north of the source's grid. */
export function northOf(record: RoofRecord): 'true' | 'grid' {
  return record.frame.gridToTrueDeg !== 0 || record.sources.some((source) => source.crs !== null) ? 'true' : 'grid';
}

/** One line for title blocks: where north comes from. */
export function northText(record: RoofRecord): string {
  const { gridToTrueDeg } = record.frame;
  if (northOf(record) === 'grid') return 'grid; true unknown';
  return `true; grid ${gridToTrueDeg < 0 ? '−' : '+'} ${Math.abs(gridToTrueDeg).toFixed(2)}°`;
}
