import type { Vector2 } from '../../geometry/vector.ts';
import { EDGE_LETTER } from '../../roof/part-names.ts';
import type { EdgeKind } from '../../roof/record.ts';
import { edgeBand, edgeInk } from './edge-ink.ts';
import { textWidth } from './label-space.ts';
import { area, circle, HAIR, INK, INK_2, INK_3, polyline, text, type Mark } from './mark.ts';
import type { PaperBox } from './plan-view.ts';

const EDGE_KINDS = Object.keys(EDGE_LETTER) as EdgeKind[];

/** Width of the zone strips at the top and the left. [mm] */
export const STRIP = 5;

/** Frame of a drawing with zone numbers along the top and letters down the left, so that a place can be said aloud. */
export function frameMarks(box: PaperBox, columns: number, rows: number): Mark[] {
  const { left, top, width, height } = box;
  const [x0, y0] = [left + STRIP, top + STRIP];
  const marks: Mark[] = [polyline([[x0, top + height], [x0, y0], [left + width, y0]], { stroke: INK, width: 0.25 })];
  for (let i = 0; i < columns; i++) {
    const step = (width - STRIP) / columns;
    marks.push(text([x0 + (i + 0.5) * step, top + 3.7], String(i + 1), { size: 2.8, anchor: 'middle', ink: INK_2 }));
    if (i > 0) marks.push(polyline([[x0 + i * step, top], [x0 + i * step, y0]], { stroke: INK, width: 0.25 }));
  }
  for (let i = 0; i < rows; i++) {
    const step = (height - STRIP) / rows;
    marks.push(text([left + 2.5, y0 + (i + 0.5) * step + 1], String.fromCharCode(65 + i), { size: 2.8, anchor: 'middle', ink: INK_2 }));
    if (i > 0) marks.push(polyline([[left, y0 + i * step], [x0, y0 + i * step]], { stroke: INK, width: 0.25 }));
  }
  return marks;
}

export const boxMark = ({ left, top, width, height }: PaperBox, strokeWidth: number): Mark =>
  area([[[left, top], [left + width, top], [left + width, top + height], [left, top + height]]], { stroke: INK, width: strokeWidth });

/** North arrow; drawings are turned so that this north is up. */
export function northMarks([x, y]: Vector2, north: 'true' | 'grid'): Mark[] {
  return [
    circle([x, y], 6, { stroke: INK, width: 0.3 }),
    area([[[x, y - 5], [x + 2, y + 4], [x, y + 2.4]]], { fill: INK }),
    area([[[x, y - 5], [x - 2, y + 4], [x, y + 2.4]]], { stroke: INK, width: 0.3, fill: '#ffffff' }),
    text([x, y - 7.4], 'N', { size: 3.6, face: 'lettering-firm', anchor: 'middle' }),
    text([x, y + 9.4], north, { size: 2.6, anchor: 'middle', ink: INK_2 }),
  ];
}

/** A bar of five pieces of a round length, about `room` long. [mm] */
export function scaleBarMarks([x, y]: Vector2, scale: number, room: number): Mark[] {
  const piece = roundPiece((room / 5) * (scale / 1000));
  const step = (piece * 1000) / scale;
  const marks: Mark[] = [];
  for (let i = 0; i < 5; i++) {
    const ring: Vector2[] = [[x + i * step, y], [x + (i + 1) * step, y], [x + (i + 1) * step, y + 1.5], [x + i * step, y + 1.5]];
    marks.push(area([ring], { stroke: INK, width: 0.2, fill: i % 2 === 0 ? INK : '#ffffff' }));
  }
  for (let i = 0; i <= 5; i++) {
    const length = String(Number((i * piece).toFixed(2)));
    marks.push(text([x + i * step, y - 1], i === 5 ? `${length} m` : length, { size: 2.8, anchor: i === 5 ? 'start' : 'middle' }));
  }
  marks.push(text([x, y + 5.2], `1 : ${scale} only when printed without fitting to the page`, { size: 2.6, ink: INK_2 }));
  return marks;
}

/** 1, 2 or 5 times a power of ten, not above `length`. */
function roundPiece(length: number): number {
  const power = 10 ** Math.floor(Math.log10(length));
  for (const digit of [5, 2, 1]) if (digit * power <= length * (1 + 1e-9)) return digit * power;
  return power;
}

/** The edge kinds on a drawing, each in its own pattern, with how many there are. */
export function legendMarks([x, y]: Vector2, counts: ReadonlyMap<EdgeKind, number>, perRow: number): Mark[] {
  const marks: Mark[] = [];
  const kinds = EDGE_KINDS.filter((kind) => counts.has(kind));
  for (const [i, kind] of kinds.entries()) {
    const [left, top] = [x + (i % perRow) * 31, y + Math.floor(i / perRow) * 11];
    const [from, to]: [Vector2, Vector2] = [[left, top], [left + 10, top]];
    marks.push(...edgeBand(kind, from, to), ...edgeInk(kind, from, to, [0, -1]));
    marks.push(text([left, top + 4.4], [{ text: `${EDGE_LETTER[kind]} `, face: 'lettering-firm' }, { text: `${kind} ${counts.get(kind)}`, face: 'figures' }], { size: 3 }));
  }
  return marks;
}

export interface TitleCell {
  readonly head: string;
  readonly lines: readonly string[];
  /** Columns of six. */
  readonly span: number;
  readonly strong?: boolean;
}

/** Title block: rows of cells over six columns, from the bottom of a column upward. @returns marks and its height. */
export function titleBlockMarks(box: PaperBox, rows: readonly (readonly TitleCell[])[]): { readonly marks: Mark[]; readonly height: number } {
  const heights = rows.map((row) => Math.max(...row.map((cell) => 5.4 + cell.lines.length * 4.3 + (cell.strong ? 2.2 : 0))));
  const height = heights.reduce((sum, one) => sum + one, 0);
  const marks: Mark[] = [polyline([[box.left, box.top + box.height - height], [box.left + box.width, box.top + box.height - height]], { stroke: INK, width: 0.6 })];
  let top = box.top + box.height - height;
  for (const [i, row] of rows.entries()) {
    let left = box.left;
    for (const cell of row) {
      const width = (box.width * cell.span) / 6;
      marks.push(...cellMarks(cell, left + 2.4, top, width - 4));
      left += width;
      if (left < box.left + box.width - 0.01) marks.push(polyline([[left, top], [left, top + heights[i]!]], { stroke: HAIR, width: 0.25 }));
    }
    top += heights[i]!;
    if (i < rows.length - 1) marks.push(polyline([[box.left, top], [box.left + box.width, top]], { stroke: HAIR, width: 0.25 }));
  }
  return { marks, height };
}

function cellMarks(cell: TitleCell, left: number, top: number, width: number): Mark[] {
  const marks: Mark[] = [text([left, top + 3.6], cell.head, { size: 2.6, face: 'lettering', ink: INK_3 })];
  let y = top + 3.6;
  for (const [i, line] of cell.lines.entries()) {
    const strong = cell.strong === true && i === 0;
    y += strong ? 6.4 : 4.3;
    const mark = text([left, y], line, { size: strong ? 5 : 3.3, face: strong ? 'lettering-firm' : 'figures' });
    const room = width / textWidth(mark);
    marks.push(room < 1 ? { ...mark, size: Math.max(mark.size * room, 2.2) } : mark);
  }
  return marks;
}
