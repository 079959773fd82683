import { DOUBT, HAIR, INK, INK_2, INK_3, type TextRun } from '../paper/mark.ts';
import type { Block, PictureBlock, TableBlock } from './block.ts';
import type { PdfDocument, PdfImage, StructureElement } from './pdf-document.ts';
import type { FontRun, PdfFonts } from './pdf-fonts.ts';
import { POINTS_PER_MM } from './pdf-sheet.ts';

/** ISO 216 A4 upright. [points] */
const PAGE = [210 * POINTS_PER_MM, 297 * POINTS_PER_MM] as const;
const LEFT = 20 * POINTS_PER_MM;
const RIGHT = PAGE[0] - 15 * POINTS_PER_MM;
const TOP = 18 * POINTS_PER_MM;
const BOTTOM = PAGE[1] - 20 * POINTS_PER_MM;
const WIDTH = RIGHT - LEFT;
const BODY = 9.5;
const CELL = 8.2;
const LEADING = 1.38;
/** A picture of 1024 pixels has some 300 to the inch at this size. [points] */
const PICTURE = { width: 85 * POINTS_PER_MM, height: 85 * POINTS_PER_MM } as const;
/** Free paper between columns of a table. [points] */
const GUTTER = 10;

/** Sets headings, sentences and tables down A4 pages, and tags each for what it is. */
export class PdfFlow {
  private y = Infinity;
  /** Of a row in the table that is being set. */
  private leastLines = 1;

  constructor(
    private readonly document: PdfDocument,
    private readonly fonts: PdfFonts,
    private readonly root: StructureElement,
  ) {}

  /** Starts a page; anything set next stands at its top. */
  newPage(): void {
    this.document.addPage({ size: PAGE, margin: 0 });
    this.y = TOP;
  }

  /** The next thing starts a page of its own, because something else used the last one. */
  interrupt(): void {
    this.y = Infinity;
  }

  title(title: string, subtitle: string, below: string): void {
    this.newPage();
    this.y += 30;
    this.lines('P', [{ text: subtitle, face: 'lettering' }], 13, INK_2);
    this.lines('Title', [{ text: title, face: 'lettering-firm' }], 27, INK);
    this.lines('P', [{ text: below, face: 'figures' }], 10, INK_2);
    this.rule(INK, 1.6);
    this.y += 10;
  }

  /** @param next  What follows: a picture goes on the heading's page. */
  heading(level: 1 | 2 | 3, text: string, next?: Block): void {
    const size = [0, 17, 12.5, 11][level]!;
    // With room for what follows: a heading never stands alone at the foot of a page.
    this.need((level === 1 ? 150 : 70) + (next?.kind === 'picture' ? PICTURE.height : 0));
    this.y += level === 1 ? 14 : 8;
    if (level === 1) {
      this.rule(INK, 0.8);
      this.y += 4;
    }
    this.lines(`H${level}`, [{ text, face: 'lettering-firm' }], size, INK);
    this.y += 3;
  }

  paragraph(text: string, lead?: string): void {
    const runs: TextRun[] = lead === undefined ? [{ text, face: 'figures' }] : [{ text: `${lead} `, face: 'figures-firm' }, { text, face: 'figures' }];
    this.lines('P', runs, BODY, INK);
    this.y += 4;
  }

  list(items: readonly string[], rimmed: boolean): void {
    const list = this.document.struct('L');
    this.root.add(list);
    for (const item of items) {
      const lines = this.fonts.lines(this.leadOf(item, rimmed), WIDTH - 16, BODY);
      this.need(Math.min(lines.length, 4) * BODY * LEADING);
      const element = this.document.struct('LI');
      const body = this.document.struct('LBody');
      list.add(element);
      element.add(body);
      const top = this.y;
      if (!rimmed) this.artifact(() => this.document.rect(LEFT + 3, this.y + BODY * 0.45, 3, 3).fillColor(INK).fill());
      this.setLines(body, 'LBody', lines, LEFT + 14, BODY, INK);
      if (rimmed) this.artifact(() => this.document.rect(LEFT, top - 1, 4, this.y - top + 1).fillColor(DOUBT).fill());
      this.y += 3;
      body.end();
      element.end();
    }
    list.end();
    this.y += 4;
  }

  /** In cautions the words before the colon stand heavy. */
  private leadOf(item: string, rimmed: boolean): TextRun[] {
    const colon = item.indexOf(': ');
    if (!rimmed || colon < 0) return [{ text: item, face: 'figures' }];
    return [{ text: item.slice(0, colon + 1), face: 'figures-firm' }, { text: item.slice(colon + 1), face: 'figures' }];
  }

  table({ title, columns, rows, leastLines = 1 }: TableBlock): void {
    this.leastLines = leastLines;
    this.need(70);
    this.y += 6;
    this.lines('P', [{ text: title, face: 'lettering-firm' }], 11, INK);
    this.y += 1;
    const element = this.document.struct('Table', { title });
    this.root.add(element);
    const heads = columns.map((column): TextRun[] => [{ text: column.head, face: 'lettering' }]);
    if (heads.some(([run]) => run!.text !== '')) this.row(element, heads, columns, true);
    for (const row of rows) {
      const height = this.rowHeight(row, columns);
      if (this.y + height > BOTTOM) {
        this.newPage();
        // Read aloud once, printed again on every page.
        this.artifact(() => {
          this.drawRow(heads, columns, true);
          this.line(LEFT, RIGHT, this.y - 1, INK, 0.8);
        });
      }
      this.row(element, row, columns, false);
    }
    element.end();
    this.y += 8;
  }

  /**
   * A picture as large as shows what was pinned, its words under it; one that cannot be read leaves only its words. The
   * bytes of the JPEG go in as they are, so that every engine writes the same.
   */
  picture(block: PictureBlock): void {
    const image = this.opened(block.address);
    const words = this.fonts.lines([{ text: `${block.lead} `, face: 'figures-firm' }, { text: `${block.caption}${image ? '' : '; the picture cannot be read'}`, face: 'figures' }], WIDTH, CELL);
    const scale = image ? Math.min(PICTURE.width / block.widthPx, PICTURE.height / block.heightPx) : 0;
    const [width, height] = [block.widthPx * scale, block.heightPx * scale];
    this.need(height + 4 + words.length * CELL * LEADING);
    if (image) {
      const figure = this.document.struct('Figure', { alt: block.alt, bbox: [LEFT, this.y, LEFT + width, this.y + height] });
      this.root.add(figure);
      const content = this.document.markStructureContent('Figure');
      this.document.image(image, LEFT, this.y, { width, height });
      this.document.endMarkedContent();
      figure.add(content);
      figure.end();
      this.y += height + 4;
    }
    const caption = this.document.struct('Caption');
    this.root.add(caption);
    this.setLines(caption, 'Caption', words, LEFT, CELL, INK);
    caption.end();
    this.y += 10;
  }

  private opened(address: string): PdfImage | null {
    try {
      return this.document.openImage(address);
    } catch {
      return null;
    }
  }

  /** Empty lines to write on. */
  signatures(roles: readonly string[]): void {
    this.need(40 * roles.length);
    for (const role of roles) {
      this.y += 22;
      const foot = this.y + BODY;
      this.artifact(() => {
        for (const [from, to] of [[0.2, 0.5], [0.53, 0.68], [0.71, 1]] as const) this.line(LEFT + from * WIDTH, LEFT + to * WIDTH, foot, INK, 0.6);
      });
      this.lines('P', [{ text: `${role}:`, face: 'figures' }], BODY, INK);
      this.artifact(() => {
        const small = (text: string, share: number): void => {
          this.fonts.set(this.fonts.cut([{ text, face: 'lettering' }]), LEFT + share * WIDTH, foot + 9, 7, INK_3);
        };
        small('name', 0.2);
        small('date', 0.53);
        small('signature', 0.71);
      });
      this.y += 8;
    }
  }

  private row(table: StructureElement, row: readonly (readonly TextRun[])[], columns: TableBlock['columns'], head: boolean): void {
    const element = this.document.struct('TR');
    table.add(element);
    this.drawRow(row, columns, head, (i, set) => {
      const tag = head || i === 0 ? 'TH' : 'TD';
      const cell = this.document.struct(tag, tag === 'TH' ? { scope: head ? 'Column' : 'Row' } : {});
      element.add(cell);
      const content = this.document.markStructureContent(tag);
      set();
      this.document.endMarkedContent();
      cell.add(content);
      cell.end();
    });
    element.end();
    this.artifact(() => this.line(LEFT, RIGHT, this.y - 1, head ? INK : HAIR, head ? 0.8 : 0.4));
  }

  private drawRow(row: readonly (readonly TextRun[])[], columns: TableBlock['columns'], head: boolean, mark: (i: number, set: () => void) => void = (_, set) => set()): void {
    const size = head ? CELL - 0.6 : CELL;
    const cells = this.cellLines(row, columns, size);
    let left = LEFT;
    for (const [i, lines] of cells.entries()) {
      const { share, side } = columns[i]!;
      const width = share * WIDTH - (i === columns.length - 1 ? 0 : GUTTER);
      const x = left;
      mark(i, () => {
        for (const [k, line] of lines.entries()) {
          const start = side === 'start' ? x : x + width - this.fonts.width(line, size);
          this.fonts.set(line, start, this.y + size + k * size * LEADING, size, head ? INK_2 : INK);
        }
      });
      left += share * WIDTH;
    }
    this.y += this.heightOf(cells, size, head ? 1 : this.leastLines);
  }

  private rowHeight(row: readonly (readonly TextRun[])[], columns: TableBlock['columns']): number {
    return this.heightOf(this.cellLines(row, columns, CELL), CELL, this.leastLines);
  }

  private cellLines(row: readonly (readonly TextRun[])[], columns: TableBlock['columns'], size: number): FontRun[][][] {
    return row.map((runs, i) => this.fonts.lines(runs, columns[i]!.share * WIDTH - (i === columns.length - 1 ? 0 : GUTTER), size));
  }

  private heightOf(cells: readonly FontRun[][][], size: number, least: number): number {
    return Math.max(least, ...cells.map((lines) => lines.length)) * size * LEADING + 2.6;
  }

  private lines(tag: string, runs: readonly TextRun[], size: number, ink: string): void {
    const lines = this.fonts.lines(runs, WIDTH, size);
    this.need(Math.min(lines.length, 3) * size * LEADING);
    const element = this.document.struct(tag === 'Title' ? 'H1' : tag);
    this.root.add(element);
    this.setLines(element, tag, lines, LEFT, size, ink);
    element.end();
  }

  /** Sets lines, over pages where it must; each page's share is a stretch of its own. */
  private setLines(element: StructureElement, tag: string, lines: readonly FontRun[][], x: number, size: number, ink: string): void {
    let content = this.document.markStructureContent(tag);
    for (const line of lines) {
      if (this.y + size * LEADING > BOTTOM) {
        this.document.endMarkedContent();
        element.add(content);
        this.newPage();
        content = this.document.markStructureContent(tag);
      }
      this.fonts.set(line, x, this.y + size, size, ink);
      this.y += size * LEADING;
    }
    this.document.endMarkedContent();
    element.add(content);
  }

  private need(height: number): void {
    if (this.y + height > BOTTOM) this.newPage();
  }

  private rule(ink: string, width: number): void {
    this.y += 3;
    this.artifact(() => this.line(LEFT, RIGHT, this.y, ink, width));
    this.y += 3;
  }

  private line(from: number, to: number, y: number, ink: string, width: number): void {
    this.document.moveTo(from, y).lineTo(to, y).strokeColor(ink).lineWidth(width).stroke();
  }

  /** Drawn, but not read aloud. */
  private artifact(draw: () => void): void {
    this.document.markContent('Artifact', { type: 'Layout' });
    draw();
    this.document.endMarkedContent();
  }
}
