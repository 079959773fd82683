import type { RoofRecord } from '../roof/record.ts';

/** Ids of what a person refused and did not accept again; the record keeps the things themselves. */
export function refusedIds(record: RoofRecord): Set<string> {
  const refused = new Set<string>();
  for (const decision of record.decisions) {
    if (decision.what === 'refuse') refused.add(decision.about);
    if (decision.what === 'accept') refused.delete(decision.about);
  }
  return refused;
}
