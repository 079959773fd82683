import type { Pen, Dot } from './pen.ts';
import { letter } from './pen.ts';

/** A roof still to be measured, dotted, in shares of the picture: two planes and a small gable. */
const RINGS: readonly (readonly Dot[])[] = [
  [[0.62, 0.2], [0.93, 0.12], [0.96, 0.42], [0.655, 0.5]],
  [[0.655, 0.5], [0.96, 0.42], [0.985, 0.68], [0.69, 0.78]],
];
const MARKS: readonly Dot[] = [[0.79, 0.31], [0.82, 0.6]];

/** Nothing measured yet: blank planes with a question in each. */
export function drawBlankSheet(pen: Pen): void {
  const { width, height } = pen.view;
  if (width < 700) return;
  const at = ([x, y]: Dot): Dot => [x * width, y * height];
  for (const ring of RINGS) pen.line(ring.map(at), { width: 2.4, colour: pen.paper.ink, dash: [0, 6], cap: 'round' }, true);
  for (const mark of MARKS) pen.write([{ ...letter('?', 26, 500), colour: pen.paper.ink3 }], at(mark), { align: 'centre', halo: pen.paper.sheet });
}
