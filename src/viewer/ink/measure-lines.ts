import type { RecordPick, RecordReading } from '../../roof/record.ts';
import { withModelParts } from '../../survey/measure/model-parts.ts';
import { twoPickNumbers } from '../../survey/measure/numbers.ts';
import { isKnown, type Measured } from '../../units/measured.ts';
import { writeReading, type Dimension } from '../../units/written-reading.ts';
import { isRingTool } from '../../survey/correct/correct-step.ts';
import type { InkFrame } from './frame.ts';
import { drawSlash } from './dimension.ts';
import { letter, readingPieces, type Dot, type Pen } from './pen.ts';

/** Readings already taken, each as a thin line with its number; the selected one in the colour of selection. */
export function drawReadings(pen: Pen, frame: InkFrame, names: ReadonlyMap<string, string>): void {
  const seen = new Set<string>();
  for (const reading of frame.readings) {
    // A distance writes three readings on the same two picks; one line shows them.
    const key = reading.picks.map(({ at }) => at.join(' ')).join('|');
    const selected = frame.selection?.id === reading.id;
    if (seen.has(key) && !selected) continue;
    seen.add(key);
    drawReading(pen, frame, reading, names.get(reading.id) ?? '', selected);
  }
}

function drawReading(pen: Pen, frame: InkFrame, reading: RecordReading, name: string, selected: boolean): void {
  const dots = reading.picks.map(({ at }) => pen.at(at));
  if (dots.length === 0) return;
  const colour = selected ? pen.paper.select : pen.paper.ink;
  const closed = reading.kind === 'slope-area' || reading.kind === 'plan-area';
  if (closed) pen.fill(dots, pen.paper.selectWash);
  pen.line(dots, { width: selected ? 2 : 1.2, colour }, closed);
  for (const dot of dots) drawTaken(pen, dot, selected ? pen.paper.select : pen.paper.ink);
  const [number, dimension] = readingNumber(reading);
  const written = number ? writeReading(number, dimension, frame.units) : null;
  const place = middleOf(dots);
  const turn = dots.length === 2 ? Math.atan2(dots[1]![1] - dots[0]![1], dots[1]![0] - dots[0]![0]) : 0;
  const lifted: Dot = dots.length === 2 ? [place[0] + Math.sin(turn) * 11, place[1] - Math.cos(turn) * 11] : place;
  const text = written ? [letter(`${name} `, 12), ...readingPieces(written, pen.paper, 13)] : [letter(name, 12)];
  pen.write(text, lifted, { align: 'centre', turn, yields: !selected });
}

/** The number of a reading, whichever field holds it. */
export function readingNumber(reading: RecordReading): [Measured | null, Dimension] {
  if (reading.valueM) return [reading.valueM, 'length'];
  if (reading.valueM2) return [reading.valueM2, 'area'];
  return [reading.valueDeg ?? null, reading.kind === 'pitch' ? 'pitch' : 'bearing'];
}

/** What is being measured now: ends taken, the line to the pointer, and the number it would give. */
export function drawMeasuring(pen: Pen, frame: InkFrame): void {
  const { measuring, snap } = frame;
  if (!measuring) return;
  const { select } = pen.paper;
  const picks: RecordPick[] = [...measuring.picks, ...(snap ? [snap.pick] : [])];
  const dots = picks.map(({ at }) => pen.at(at));
  if (dots.length > 1) {
    const closes = measuring.tool === 'area' || measuring.tool === 'outline' || measuring.tool === 'region' || isRingTool(measuring.tool);
    if (measuring.tool === 'split' && dots.length === 2) drawThrough(pen, dots as [Dot, Dot]);
    if (closes && dots.length > 2) pen.fill(dots, pen.paper.selectWash);
    pen.line(dots, { width: 2, colour: select }, closes);
  }
  measuring.picks.forEach((pick) => drawTaken(pen, pen.at(pick.at), select));
  if (snap) drawWouldTake(pen, pen.at(snap.pick.at), snap.pick.landedOn === 'point');
  if (dots.length === 2 && measuring.tool === 'distance') drawRunningNumber(pen, frame, picks as [RecordPick, RecordPick], dots as [Dot, Dot]);
}

function drawRunningNumber(pen: Pen, frame: InkFrame, picks: readonly [RecordPick, RecordPick], dots: readonly [Dot, Dot]): void {
  const written = writeReading(runningNumber(picks, frame), 'length', frame.units);
  const run = Math.hypot(dots[1][0] - dots[0][0], dots[1][1] - dots[0][1]);
  if (!written || run < 24) return;
  const direction: Dot = [(dots[1][0] - dots[0][0]) / run, (dots[1][1] - dots[0][1]) / run];
  for (const dot of dots) drawSlash(pen, dot, direction, pen.paper.select);
  const turn = Math.atan2(direction[1], direction[0]);
  const middle = middleOf(dots);
  pen.write(readingPieces(written, pen.paper, 20), [middle[0] + Math.sin(turn) * 18, middle[1] - Math.cos(turn) * 18], { align: 'centre', turn });
}

/** The number that taking the second place would give, with the ± it would have in the record. */
export function runningNumber(picks: readonly [RecordPick, RecordPick], { name, assumptions }: Pick<InkFrame, 'name' | 'assumptions'>): Measured {
  const numbers = twoPickNumbers(...picks);
  // In section and elevation the picture shows heights, so the height is what is being drawn out.
  const upright = name === 'section' || name === 'elevation';
  const byHeight = upright && isKnown(numbers.height) && Math.abs(numbers.height.value) > 0.05;
  return byHeight ? withModelParts('height-difference', numbers.height, picks, assumptions) : withModelParts('distance', numbers.slope, picks, assumptions);
}

/** A split line goes on to the rim: dashed beyond its ends, across the picture. */
function drawThrough(pen: Pen, [a, b]: readonly [Dot, Dot]): void {
  const run = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (run < 4) return;
  const reach = 2 * (pen.view.width + pen.view.height);
  const [ux, uy] = [((b[0] - a[0]) / run) * reach, ((b[1] - a[1]) / run) * reach];
  pen.line([[a[0] - ux, a[1] - uy], [b[0] + ux, b[1] + uy]], { width: 1.2, colour: pen.paper.select, dash: [7, 5] });
}

/** Small square: this end is taken. */
export function drawTaken(pen: Pen, [x, y]: Dot, colour: string): void {
  const ring: Dot[] = [[x - 5, y - 5], [x + 5, y - 5], [x + 5, y + 5], [x - 5, y + 5]];
  pen.fill(ring, pen.paper.lift);
  pen.line(ring, { width: 1.8, colour }, true);
}

/** Crosshair in a square: what a click would take. A bare point gets the cross alone. */
export function drawWouldTake(pen: Pen, [x, y]: Dot, bare: boolean): void {
  const { select, lift } = pen.paper;
  const arms = 12;
  for (const [width, colour] of [[4, lift], [1.8, select]] as const) {
    pen.line([[x - arms, y], [x + arms, y]], { width, colour });
    pen.line([[x, y - arms], [x, y + arms]], { width, colour });
  }
  if (!bare) pen.line([[x - 15, y - 15], [x + 15, y - 15], [x + 15, y + 15], [x - 15, y + 15]], { width: 1.5, colour: select }, true);
}

const middleOf = (dots: readonly Dot[]): Dot => [dots.reduce((sum, [x]) => sum + x, 0) / dots.length, dots.reduce((sum, [, y]) => sum + y, 0) / dots.length];
