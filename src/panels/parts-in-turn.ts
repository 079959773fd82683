import type { RoofRecord } from '../roof/record.ts';
import type { PointedPart } from '../viewer/pick-part.ts';

/**
 * The part after (or before) the chosen one, in the ledger's order: planes, edges, things, parapets, then low points, of
 * one building or of all of them, and round again.
 *
 * @param building  Null goes through the whole site.
 * @returns null where there is no part at all.
 */
export function partInTurn(record: RoofRecord, names: ReadonlyMap<string, string>, building: string | null, chosen: string | null, by: 1 | -1): PointedPart | null {
  const parts = record.buildings.filter(({ id }) => building === null || id === building).flatMap(({ id, roofPlanes, edges, obstructions, parapets, lowPoints }) => [
    ...named('plane', roofPlanes, id), ...named('edge', edges, id), ...named('obstruction', obstructions, id), ...named('parapet', parapets, id), ...named('low-point', lowPoints, id),
  ]);
  if (parts.length === 0) return null;
  const at = parts.findIndex(({ id }) => id === chosen);
  const next = parts[at < 0 ? (by > 0 ? 0 : parts.length - 1) : (at + by + parts.length) % parts.length]!;
  return { ...next, name: names.get(next.id) ?? next.id };
}

const named = (kind: PointedPart['kind'], list: readonly { readonly id: string }[], building: string) => list.map(({ id }) => ({ kind, id, building }));
