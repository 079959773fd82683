import type { EdgeKind } from '../../roof/record.ts';
import type { Dot, Pen } from './pen.ts';

/** How large line patterns are drawn: 1 at working scale, less on a whole site. */
export type PatternScale = number;

/** The soft colour under an edge; it may be lost without losing meaning. */
export function drawPencil(pen: Pen, kind: EdgeKind, from: Dot, to: Dot, scale: PatternScale): void {
  const colour = pen.paper.pencil[kind];
  if (colour) pen.line([from, to], { width: 9 * scale, colour, opacity: pen.paper.pencilOpacity });
}

/**
 * One edge in the ink pattern of its kind.
 *
 * @param outward  Unit direction in the picture away from the roof; ticks and hachures stand on that side.
 */
export function drawEdgeInk(pen: Pen, kind: EdgeKind, from: Dot, to: Dot, outward: Dot, scale: PatternScale): void {
  const { ink } = pen.paper;
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (run < 0.5) return;
  const s = Math.max(scale, 0.45);
  const solid = (width: number, dash?: readonly number[]): void => pen.line([from, to], dash ? { width: width * s, colour: ink, dash: dash.map((d) => d * s) } : { width: width * s, colour: ink });
  switch (kind) {
    case 'eave':
      return pen.line([from, to], { width: 3.2 * s, colour: ink, cap: 'square' });
    case 'ridge':
      pen.line(shifted(from, to, 2.3 * s), { width: 1.3 * s, colour: ink });
      return pen.line(shifted(from, to, -2.3 * s), { width: 1.3 * s, colour: ink });
    case 'hip':
      return solid(1.8, [16, 4, 2.5, 4]);
    case 'valley':
      return solid(1.9, [7, 4]);
    case 'rake':
      solid(1.5);
      return drawTicks(pen, from, to, outward, 9 * s, 6 * s, 0);
    case 'parapet':
      solid(1.5);
      return drawTicks(pen, from, to, outward, 6 * s, 5 * s, 0.8);
    case 'abutment':
      solid(1.7);
      return drawTicks(pen, from, to, outward, 6 * s, 8 * s, 0.9);
    case 'unknown':
      return pen.line([from, to], { width: 2.4 * s, colour: ink, dash: [0, 5 * s], cap: 'round' });
  }
}

/** Short strokes on one side of a line. @param slant  Shift along the line for each unit outwards. */
export function drawTicks(pen: Pen, from: Dot, to: Dot, outward: Dot, spacing: number, size: number, slant: number): void {
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
  const [ux, uy] = [(to[0] - from[0]) / run, (to[1] - from[1]) / run];
  const { context } = pen;
  context.beginPath();
  for (let along = spacing / 2; along < run; along += spacing) {
    const [x, y] = [from[0] + ux * along, from[1] + uy * along];
    context.moveTo(x, y);
    context.lineTo(x + (outward[0] + ux * slant) * size, y + (outward[1] + uy * slant) * size);
  }
  pen.stroke({ width: 1, colour: pen.paper.ink });
}

function shifted(from: Dot, to: Dot, by: number): Dot[] {
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]) || 1;
  const [nx, ny] = [((to[1] - from[1]) / run) * by, (-(to[0] - from[0]) / run) * by];
  return [[from[0] + nx, from[1] + ny], [to[0] + nx, to[1] + ny]];
}
