import { textWidth } from './label-space.ts';
import { HAIR, INK, INK_2, polyline, text, type Mark, type TextRun } from './mark.ts';

/** A table in the notes column of a sheet. */
export interface ColumnTable {
  readonly title: string;
  readonly heads: readonly string[];
  /** Share of the width and side of each column; shares sum to 1. */
  readonly columns: readonly { readonly share: number; readonly side: 'start' | 'end' }[];
  readonly rows: readonly (readonly (readonly TextRun[])[])[];
}

const ROW = 4.9;
const SIZE = 3.1;

/** Sets headings, tables and sentences down a column. */
export class Column {
  readonly marks: Mark[] = [];

  constructor(
    private readonly left: number,
    private y: number,
    private readonly width: number,
    private readonly bottom: number,
  ) {}

  get room(): number {
    return this.bottom - this.y;
  }

  /** The number the sheet is about. */
  hero(runs: readonly TextRun[], of: string): void {
    this.marks.push(text([this.left, this.y + 8], runs, { size: 8.5 }));
    this.marks.push(text([this.left, this.y + 12.6], of, { size: 3, ink: INK_2 }));
    this.y += 17;
  }

  heading(title: string): void {
    this.marks.push(text([this.left, this.y + 4], title, { size: 3.9, face: 'lettering-firm' }));
    this.y += 5.4;
  }

  /**
   * Sets as many rows as there is room for, and says how many are left out.
   *
   * @param reserve  Paper to leave free below. [mm]
   */
  table({ title, heads, columns, rows }: ColumnTable, reserve = 0): void {
    const fits = Math.floor((this.room - reserve - 16) / ROW);
    if (rows.length === 0 || fits < Math.min(2, rows.length)) return;
    const shown = rows.length <= fits ? rows.length : fits - 1;
    this.heading(title);
    this.row(heads.map((head) => [{ text: head, face: 'lettering' as const }]), columns, 2.7, INK_2);
    this.rule(INK);
    for (const row of rows.slice(0, shown)) {
      this.row(row, columns, SIZE, INK);
      this.rule(HAIR);
    }
    if (shown < rows.length) this.sentence(`${rows.length - shown} more in the tables of the report.`);
    this.y += 2.6;
  }

  sentence(content: string, lead = ''): void {
    const size = 2.95;
    const lines = wrap(lead === '' ? content : `${lead} ${content}`, this.width * 1.08, size);
    if (lines.length * 4.1 > this.room) return;
    for (const [i, line] of lines.entries()) {
      this.y += 4.1;
      const runs: TextRun[] = i === 0 && lead !== '' ? [{ text: lead, face: 'figures-firm' }, { text: line.slice(lead.length), face: 'figures' }] : [{ text: line, face: 'figures' }];
      this.marks.push(text([this.left, this.y], runs, { size, ink: INK_2 }));
    }
    this.y += 1.6;
  }

  private row(cells: readonly (readonly TextRun[])[], columns: ColumnTable['columns'], size: number, ink: string): void {
    let left = this.left;
    for (const [i, runs] of cells.entries()) {
      const { share, side } = columns[i]!;
      const width = share * this.width;
      if (runs.length > 0) {
        const mark = text([side === 'start' ? left : left + width - 1, this.y + 3.4], runs, { size, anchor: side, ink });
        const over = textWidth(mark) / (width - 1);
        this.marks.push(over > 1 ? { ...mark, size: size / over } : mark);
      }
      left += width;
    }
    this.y += ROW;
  }

  private rule(stroke: string): void {
    this.marks.push(polyline([[this.left, this.y - 0.3], [this.left + this.width, this.y - 0.3]], { stroke, width: stroke === INK ? 0.3 : 0.2 }));
  }
}

/** Breaks a sentence into lines of about a width. [mm] */
export function wrap(content: string, width: number, size: number): string[] {
  const lines: string[] = [];
  let line = '';
  for (const word of content.split(' ')) {
    const longer = line === '' ? word : `${line} ${word}`;
    if (line !== '' && textWidth({ runs: [{ text: longer, face: 'figures' }], size }) > width) {
      lines.push(line);
      line = word;
    } else {
      line = longer;
    }
  }
  if (line !== '') lines.push(line);
  return lines;
}
