import type { TextRun } from '../paper/mark.ts';
import type { PlanSheet } from '../plan-sheets.ts';

/** What a report is made of. One content, two printed forms (PDF and page). */
export type Block =
  | { readonly kind: 'heading'; readonly level: 1 | 2 | 3; readonly text: string }
  | { readonly kind: 'paragraph'; readonly text: string; readonly lead?: string }
  | { readonly kind: 'list'; readonly items: readonly string[] }
  | { readonly kind: 'caution'; readonly items: readonly string[] }
  | TableBlock
  | { readonly kind: 'sheet'; readonly sheet: PlanSheet }
  | PictureBlock
  | { readonly kind: 'signatures'; readonly roles: readonly string[] };

/** A picture with the words under it. */
export interface PictureBlock {
  readonly kind: 'picture';
  /** A data address of a JPEG picture. */
  readonly address: string;
  readonly widthPx: number;
  readonly heightPx: number;
  /** Read aloud in place of the picture. */
  readonly alt: string;
  readonly lead: string;
  readonly caption: string;
}

export interface TableBlock {
  readonly kind: 'table';
  readonly title: string;
  readonly columns: readonly TableColumn[];
  readonly rows: readonly (readonly TableCell[])[];
  /** Every row has room for this many lines, to write in. Default 1. */
  readonly leastLines?: number;
}

export interface TableColumn {
  readonly head: string;
  readonly side: 'start' | 'end';
  /** Share of the width; shares of a table sum to 1. */
  readonly share: number;
}

export type TableCell = readonly TextRun[];

export interface Report {
  readonly title: string;
  readonly subtitle: string;
  /** Latest decision in the record; null when there is none. */
  readonly date: Date | null;
  /** Stands at the foot of every page. */
  readonly foot: string;
  readonly blocks: readonly Block[];
}

export const plain = (text: string): TableCell => [{ text, face: 'figures' }];
export const firm = (text: string): TableCell => [{ text, face: 'figures-firm' }];
export const heading = (level: 1 | 2 | 3, text: string): Block => ({ kind: 'heading', level, text });
export const paragraph = (text: string, lead?: string): Block => (lead === undefined ? { kind: 'paragraph', text } : { kind: 'paragraph', text, lead });
export const column = (head: string, share: number, side: TableColumn['side'] = 'start'): TableColumn => ({ head, share, side });
export const table = (title: string, columns: readonly TableColumn[], rows: readonly (readonly TableCell[])[]): TableBlock => ({ kind: 'table', title, columns, rows });

/** A table of names and values. */
export const facts = (title: string, rows: readonly (readonly [string, TableCell])[]): TableBlock =>
  table(title, [column('what', 0.34), column('value', 0.66)], rows.map(([name, value]) => [plain(name), value]));
