import { add, type Vector3 } from '../../geometry/vector.ts';
import type { EdgeKind } from '../../roof/record.ts';
import { scaleDenominator } from '../projection.ts';
import { edgeLegend, type SceneEdge } from '../scene.ts';
import { drawEdgeInk, drawPencil } from './edge-lines.ts';
import type { InkFrame } from './frame.ts';
import { figure, letter, type Box, type Dot, type Pen, type TextPiece } from './pen.ts';

const FEET_PER_METRE = 1 / 0.3048;
/** Height of a picture with room for furniture. [px] */
const LEAST_ROOM = 150;

interface BarLayout {
  readonly box: Box;
  readonly left: number;
  readonly bottom: number;
  /** Of one part, as written and in the picture. */
  readonly step: number;
  readonly size: number;
  readonly count: number;
  readonly feet: boolean;
}

function barLayout({ compact, units, view }: InkFrame): BarLayout | null {
  // In a thumbnail above a tall sheet it would cover what it measures.
  if (compact && view.height < LEAST_ROOM) return null;
  const feet = units.length === 'ft-in';
  const pixelsPerUnit = feet ? view.pixelsPerMetre / FEET_PER_METRE : view.pixelsPerMetre;
  const step = roundStep((compact ? 120 : 250) / pixelsPerUnit / 4);
  const [left, bottom] = [compact ? 16 : 50, view.height - (compact ? 14 : 34)];
  const size = step * pixelsPerUnit;
  const count = Math.max(2, Math.min(5, Math.floor((compact ? 150 : 285) / size)));
  return { box: { x0: left - 8, y0: bottom - 30, x1: left + count * size + 34, y1: bottom + 18 }, left, bottom, step, size, count, feet };
}

/** A bar of round lengths with the scale it stands at. */
export function drawScaleBar(pen: Pen, frame: InkFrame): void {
  const layout = barLayout(frame);
  if (!layout) return;
  const { box, left, bottom, step, size, count, feet } = layout;
  const { ink, ink2, sheet } = pen.paper;
  fillBox(pen, box);
  for (let i = 0; i < count; i++) {
    const x = left + i * size;
    pen.fill([[x, bottom - 8], [x + size, bottom - 8], [x + size, bottom - 2], [x, bottom - 2]], i % 2 === 0 ? ink : sheet);
  }
  pen.line([[left, bottom - 8], [left + count * size, bottom - 8], [left + count * size, bottom - 2], [left, bottom - 2]], { width: 1, colour: ink }, true);
  // Where numbers would run into each other, those at the ends are enough.
  const every = pen.widthOf([figure(trim(count * step), 12)]) + 6 < size ? 1 : count;
  for (let i = 0; i <= count; i += every) {
    const last = i === count;
    pen.write([figure(`${trim(i * step)}${last ? (feet ? ' ft' : ' m') : ''}`, 12)], [left + i * size - 3, bottom - 17], { halo: sheet });
  }
  if (frame.compact) return;
  const note = frame.name === 'section' ? ', heights not stretched' : frame.name === 'free' ? ' across the line of sight' : '';
  pen.write([figure(`1 : ${Math.round(scaleDenominator(frame.view.pixelsPerMetre))} on this screen${note}`, 12, 400, ink2)], [left, bottom + 10], { halo: sheet });
}

/** Lets drawn lines shine through a little, so that nobody takes the sheet for empty there. */
const fillBox = (pen: Pen, { x0, y0, x1, y1 }: Box): void => pen.fill([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], pen.paper.sheet, 0.86);

/** Keeps numbers and letters away from where scale bar, north arrow and legend will stand. */
export function reserveFurniture(pen: Pen, frame: InkFrame, edges: readonly SceneEdge[] | null): void {
  const bar = barLayout(frame);
  if (bar) pen.reserve(bar.box);
  if (hasNorthArrow(frame)) {
    const { centre: [x, y], radius } = northArrow(frame);
    pen.reserve({ x0: x - 1.2 * radius, y0: y - 1.8 * radius, x1: x + 1.2 * radius, y1: y + 1.2 * radius });
  }
  const legend = edges && legendLayout(pen, frame, edges);
  if (legend) pen.reserve(legend.box);
}

function roundStep(size: number): number {
  const power = 10 ** Math.floor(Math.log10(size));
  const lead = size / power;
  return power * (lead < 1.5 ? 1 : lead < 3.5 ? 2 : lead < 7.5 ? 5 : 10);
}

const trim = (value: number): string => String(Number(value.toPrecision(6)));

const hasNorthArrow = ({ name }: InkFrame): boolean => name !== 'section' && name !== 'elevation';

const northArrow = ({ view, compact }: InkFrame): { centre: Dot; radius: number } =>
  ({ centre: [view.width - (compact ? 34 : 54), compact ? 48 : 76], radius: compact ? 15 : 22 });

/** An arrow to true north, lying on the ground when the view is tilted. */
export function drawNorthArrow(pen: Pen, frame: InkFrame): void {
  if (!hasNorthArrow(frame)) return;
  const turn = (-frame.gridToTrueDeg * Math.PI) / 180;
  const { centre, radius } = northArrow(frame);
  const { right, up } = frame.view;
  const place = (bearing: number, size: number): [number, number] => {
    const direction: Vector3 = [Math.sin(bearing + turn), Math.cos(bearing + turn), 0];
    const across = direction[0] * right[0] + direction[1] * right[1] + direction[2] * right[2];
    const above = direction[0] * up[0] + direction[1] * up[1] + direction[2] * up[2];
    return [centre[0] + across * size * radius, centre[1] - above * size * radius];
  };
  const { ink, sheet } = pen.paper;
  pen.fill(Array.from({ length: 48 }, (_, i) => place((i * Math.PI) / 24, 1.12)), sheet, 0.86);
  pen.line(Array.from({ length: 48 }, (_, i) => place((i * Math.PI) / 24, 1)), { width: 1.3, colour: ink }, true);
  pen.fill([place(0, 0.86), place(Math.PI * 0.8, 0.5), place(0, -0.45)], ink);
  pen.line([place(0, 0.86), place(-Math.PI * 0.8, 0.5), place(0, -0.45)], { width: 1.1, colour: ink }, true);
  const [x, y] = place(0, 1.42);
  pen.write([letter('N', 13)], [x, y], { align: 'centre', halo: sheet });
}

interface LegendLayout {
  readonly box: Box;
  readonly entries: readonly { readonly kind: EdgeKind; readonly text: readonly TextPiece[]; readonly x: number }[];
  readonly y: number;
}

/** Counts go first when room is short, then all of it. */
function legendLayout(pen: Pen, { compact, building, view }: InkFrame, edges: readonly SceneEdge[]): LegendLayout | null {
  if (compact) return null;
  const shown = edgeLegend(edges.filter((edge) => building === null || edge.building === building));
  const [left, right, y] = [view.width * 0.4, view.width - 14, view.height - 40];
  for (const [withCount, gap] of [[true, 24], [true, 13], [false, 10]] as const) {
    const texts = shown.map(({ kind, letter: mark, count }) => [letter(mark, 13, 700), figure(withCount ? ` ${kind} ${count}` : ` ${kind}`, 12.5)]);
    const widths = texts.map((pieces) => Math.max(40, pen.widthOf(pieces)) + gap);
    const total = widths.reduce((sum, width) => sum + width, 0);
    if (left + total > right) continue;
    let x = right - total + gap / 2;
    const box = { x0: x - 10, y0: y - 24, x1: right + 4, y1: y + 24 };
    const entries = shown.map(({ kind }, i) => {
      const entry = { kind, text: texts[i]!, x };
      x += widths[i]!;
      return entry;
    });
    return { box, entries, y };
  }
  return null;
}

/** Patterns of the edges present, with letter, name and count. */
export function drawLegend(pen: Pen, frame: InkFrame, edges: readonly SceneEdge[]): void {
  const layout = legendLayout(pen, frame, edges);
  if (!layout) return;
  fillBox(pen, layout.box);
  for (const { kind, text, x } of layout.entries) {
    drawSample(pen, kind, x, layout.y - 8);
    pen.write(text, [x, layout.y + 13], { halo: pen.paper.sheet });
  }
}

function drawSample(pen: Pen, kind: EdgeKind, x: number, y: number): void {
  drawPencil(pen, kind, [x, y], [x + 40, y], 1);
  drawEdgeInk(pen, kind, [x, y], [x + 40, y], [0, -1], 1);
}

/** The line a section is cut along, with its direction of view, in plan. */
export function drawSectionLine(pen: Pen, frame: InkFrame): void {
  const line = frame.sectionLine;
  if (!line || frame.name !== 'plan') return;
  const z = frame.view.centre[2];
  const [from, to]: [Vector3, Vector3] = [[...line.from, z], [...line.to, z]];
  const [a, b] = [pen.at(from), pen.at(to)];
  pen.line([a, b], { width: 2, colour: pen.paper.ink, dash: [12, 3, 2, 3] });
  const run = Math.hypot(line.to[0] - line.from[0], line.to[1] - line.from[1]) || 1;
  const look: Vector3 = [-(line.to[1] - line.from[1]) / run, (line.to[0] - line.from[0]) / run, 0];
  for (const [end, dot] of [[from, a], [to, b]] as const) {
    const ahead = pen.at(add(end, look));
    const size = Math.hypot(ahead[0] - dot[0], ahead[1] - dot[1]) || 1;
    const [ux, uy] = [(ahead[0] - dot[0]) / size, (ahead[1] - dot[1]) / size];
    pen.fill([[dot[0] - uy * 6, dot[1] + ux * 6], [dot[0] + uy * 6, dot[1] - ux * 6], [dot[0] + ux * 11, dot[1] + uy * 11]], pen.paper.ink);
    pen.write([letter('A', 14)], [dot[0] - ux * 12, dot[1] - uy * 12], { align: 'centre' });
  }
}
