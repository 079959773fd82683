import type { Vector2 } from '../../geometry/vector.ts';
import type { Face, TextMark } from './mark.ts';
import type { PaperBox } from './plan-view.ts';

/** Mean width of a character over the height of the type, measured on each face. */
const CHARACTER_WIDTH: Readonly<Record<Face, number>> = { figures: 0.54, 'figures-firm': 0.57, 'figures-soft': 0.53, lettering: 0.56, 'lettering-firm': 0.6 };

export const textWidth = (mark: Pick<TextMark, 'runs' | 'size'>): number =>
  mark.runs.reduce((sum, run) => sum + run.text.length * CHARACTER_WIDTH[run.face], 0) * mark.size;

/** Remembers what lettering covers, so that none is set over another. Turned text is taken by the box around it. */
export class LabelSpace {
  private readonly taken: PaperBox[] = [];

  constructor(private readonly sheet: PaperBox) {}

  /** Takes the place of a text if it is free and on the sheet. */
  take(mark: TextMark): boolean {
    const box = boxOf(mark);
    const { left, top, width, height } = this.sheet;
    if (box.left < left || box.top < top || box.left + box.width > left + width || box.top + box.height > top + height) return false;
    if (this.taken.some((other) => overlap(box, other))) return false;
    this.taken.push(box);
    return true;
  }

  /** Keeps lettering away from a thing. */
  block(box: PaperBox): void {
    this.taken.push(box);
  }

  /** The first text of several that finds room. */
  firstThatFits(marks: readonly TextMark[]): TextMark | null {
    return marks.find((mark) => this.take(mark)) ?? null;
  }
}

function boxOf(mark: TextMark): PaperBox {
  const width = textWidth(mark);
  const start = mark.anchor === 'start' ? 0 : mark.anchor === 'middle' ? -width / 2 : -width;
  const turn = (mark.turnDeg * Math.PI) / 180;
  const corners: Vector2[] = [[start, -mark.size * 0.8], [start + width, -mark.size * 0.8], [start + width, mark.size * 0.25], [start, mark.size * 0.25]];
  let [left, top, right, bottom] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of corners) {
    const px = mark.at[0] + x * Math.cos(turn) - y * Math.sin(turn);
    const py = mark.at[1] + x * Math.sin(turn) + y * Math.cos(turn);
    [left, top, right, bottom] = [Math.min(left, px), Math.min(top, py), Math.max(right, px), Math.max(bottom, py)];
  }
  return { left, top, width: right - left, height: bottom - top };
}

const overlap = (a: PaperBox, b: PaperBox): boolean =>
  a.left < b.left + b.width && b.left < a.left + a.width && a.top < b.top + b.height && b.top < a.top + a.height;
