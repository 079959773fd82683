import type { RoofRecord } from '../roof/record.ts';
import type { HandoverOptions } from './handover-kind.ts';
import { buildingSheet, siteSheet } from './paper/building-sheet.ts';
import type { Sheet } from './paper/svg.ts';

export interface PlanSheet extends Sheet {
  /** Building id, or "site". */
  readonly of: string;
  readonly scale: number;
  /** "A3" or "A4". */
  readonly paper: string;
}

/** One sheet per building, and one of the whole site when it has several. */
export function planSheets(record: RoofRecord, options: HandoverOptions = {}): PlanSheet[] {
  const withSite = record.buildings.length > 1;
  const count = record.buildings.length + (withSite ? 1 : 0);
  const sheets: PlanSheet[] = withSite ? [{ of: 'site', ...siteSheet({ record, options, number: 1, count }) }] : [];
  for (const building of record.buildings) {
    sheets.push({ of: building.id, ...buildingSheet({ record, options, number: sheets.length + 1, count }, building) });
  }
  return sheets;
}
