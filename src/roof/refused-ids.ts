import type { Building, RoofRecord } from './record.ts';

/** Ids of what a person refused and did not accept again; the record keeps the things themselves. */
export function refusedIds(record: RoofRecord): Set<string> {
  const refused = new Set<string>();
  for (const decision of record.decisions) {
    if (decision.what === 'refuse') refused.add(decision.about);
    if (decision.what === 'accept') refused.delete(decision.about);
  }
  return refused;
}

/**
 * The record without what a person refused: planes, edges, obstructions, parapets, low points and small features. The same
 * record when nothing was refused.
 */
export function withoutRefused(record: RoofRecord): RoofRecord {
  const refused = refusedIds(record);
  if (refused.size === 0) return record;
  const stands = ({ id }: { readonly id: string }): boolean => !refused.has(id);
  const kept = (building: Building): Building => ({
    ...building, roofPlanes: building.roofPlanes.filter(stands), edges: building.edges.filter(stands), parapets: building.parapets.filter(stands),
    obstructions: building.obstructions.filter(stands), lowPoints: building.lowPoints.filter(stands),
  });
  return { ...record, buildings: record.buildings.map(kept), smallFeatures: record.smallFeatures.filter(stands) };
}
