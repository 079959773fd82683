import type { Vector2 } from '../../geometry/vector.ts';
import type { CircleMark, Ink, Mark, PathMark, TextMark } from '../paper/mark.ts';
import type { PdfDocument } from './pdf-document.ts';
import type { PdfFonts } from './pdf-fonts.ts';

/** PDF points in a millimetre: 72 to the inch. */
export const POINTS_PER_MM = 72 / 25.4;

/** Draws a sheet's marks on the current page, at true size. */
export function drawMarks(document: PdfDocument, fonts: PdfFonts, marks: readonly Mark[]): void {
  for (const mark of marks) {
    if (mark.kind === 'path') drawPath(document, mark);
    else if (mark.kind === 'circle') drawCircle(document, mark);
    else drawText(document, fonts, mark);
  }
}

const points = (mm: number): number => mm * POINTS_PER_MM;

function drawPath(document: PdfDocument, mark: PathMark): void {
  if (mark.parts.length === 0) return;
  document.save();
  for (const { points: corners, closed } of mark.parts) {
    corners.forEach(([x, y]: Vector2, i) => (i === 0 ? document.moveTo(points(x), points(y)) : document.lineTo(points(x), points(y))));
    if (closed) document.closePath();
  }
  paint(document, mark);
  document.restore();
}

function drawCircle(document: PdfDocument, mark: CircleMark): void {
  document.save();
  document.circle(points(mark.centre[0]), points(mark.centre[1]), points(mark.radius));
  paint(document, mark);
  document.restore();
}

/** The writer refuses pen strokes of no length; a hundredth of a millimetre with round ends is a dot all the same. */
const LEAST_DASH = 0.01;

function paint(document: PdfDocument, { stroke, width = 0.25, dash, roundEnds, fill, opacity }: Ink): void {
  if (opacity !== undefined) document.opacity(opacity);
  if (fill !== undefined) document.fillColor(fill);
  if (stroke === undefined) {
    document.fill('even-odd');
    return;
  }
  document.strokeColor(stroke).lineWidth(points(width)).lineCap(roundEnds ? 'round' : 'butt');
  if (dash !== undefined) document.dash(dash.map((one) => points(Math.max(one, LEAST_DASH))));
  if (fill === undefined) document.stroke();
  else document.fillAndStroke('even-odd');
}

function drawText(document: PdfDocument, fonts: PdfFonts, mark: TextMark): void {
  const runs = fonts.cut(mark.runs);
  const size = points(mark.size);
  const [x, y] = [points(mark.at[0]), points(mark.at[1])];
  const width = fonts.width(runs, size);
  const start = x - (mark.anchor === 'middle' ? width / 2 : mark.anchor === 'end' ? width : 0);
  document.save();
  if (mark.turnDeg !== 0) document.rotate(mark.turnDeg, { origin: [x, y] });
  if (mark.halo) {
    document.save().opacity(0.78);
    document.rect(start - 1, y - size * 0.74, width + 2, size * 0.94).fillColor('#ffffff').fill();
    document.restore();
  }
  fonts.set(runs, start, y, size, mark.ink);
  document.restore();
}
