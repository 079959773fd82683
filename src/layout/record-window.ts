import type { Building, RoofRecord } from '../roof/record.ts';
import type { PlanBox } from '../sun/surface-model.ts';

/** Box about the roof planes of buildings; null when there are none. */
export function contentBox(buildings: readonly Building[]): PlanBox | null {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const building of buildings) {
    for (const { outline } of building.roofPlanes) {
      for (const [x, y] of outline) {
        x0 = Math.min(x0, x);
        y0 = Math.min(y0, y);
        x1 = Math.max(x1, x);
        y1 = Math.max(y1, y);
      }
    }
  }
  return x1 >= x0 ? [x0, y0, x1, y1] : null;
}

/** A record with only the buildings within a distance of a box, in their order. */
export function recordNear(record: RoofRecord, box: PlanBox | null, reach: number): RoofRecord {
  if (!box) return record;
  const isNear = (building: Building): boolean => {
    const own = contentBox([building]);
    return own === null || (own[0] <= box[2] + reach && own[2] >= box[0] - reach && own[1] <= box[3] + reach && own[3] >= box[1] - reach);
  };
  const buildings = record.buildings.filter(isNear);
  return buildings.length === record.buildings.length ? record : { ...record, buildings };
}
