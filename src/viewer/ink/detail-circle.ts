import { length } from '../../geometry/vector.ts';
import { zoomAt } from '../projection.ts';
import { drawEdgeInk } from './edge-lines.ts';
import type { InkFrame } from './frame.ts';
import { figure, letter, Pen, type Dot } from './pen.ts';

/** On a sheet, and in one hand. [px] */
const RADIUS = 86;
const SMALL_RADIUS = 62;
const LARGER = 7;
const SIGMAS_IN_95 = 1.96;

/** What would be taken, seven times larger, with its ± as two dashed lines; it keeps to the corner farthest from the pointer. */
export function drawDetailCircle(pen: Pen, frame: InkFrame): void {
  const { snap, view, measuring } = frame;
  if (!snap || !measuring || measuring.tool === 'section' || measuring.tool === 'region') return;
  const [x, y] = pen.at(snap.pick.at);
  const radius = radiusOf(frame);
  const small = radius === SMALL_RADIUS;
  const [aside, below, above] = small ? [8, 14, 44] : [36, 90, 120];
  const isHigh = y < view.height / 2;
  // In one hand north stands at the upper right and the scale at the lower left.
  const isLeft = small ? !isHigh : x >= view.width / 2;
  const centre: Dot = [isLeft ? radius + aside : view.width - radius - aside, isHigh ? view.height - radius - below : radius + above];
  const { context, paper } = pen;
  context.save();
  pen.circle(centre, radius);
  context.fillStyle = paper.lift;
  context.fill();
  context.clip();
  drawInside(pen, frame, centre);
  context.restore();
  pen.circle(centre, radius);
  pen.stroke({ width: 2, colour: paper.ink });
  pen.write([letter('Detail ', 13), figure(`${LARGER} × larger`, 13)], [centre[0], centre[1] - radius - 13], { align: 'centre', halo: paper.sheet });
}

/** A finger hides what it points at: the circle stands on a phone as well. */
const radiusOf = ({ compact, view }: InkFrame): number => (compact || view.width < 620 ? SMALL_RADIUS : RADIUS);

function drawInside(outer: Pen, frame: InkFrame, centre: Dot): void {
  const { snap, view, detail, scene } = frame;
  const [x, y] = outer.at(snap!.pick.at);
  // The same picture about the place to be taken, moved so that this place stands in the middle of the circle.
  const zoomed = zoomAt(view, LARGER, x, y);
  const shift: Dot = [centre[0] - x, centre[1] - y];
  const { context, paper } = outer;
  context.translate(shift[0], shift[1]);
  const pen = new Pen(context, paper, zoomed);
  for (const point of detail) {
    pen.circle(pen.at(point), 1.7);
    context.fillStyle = paper.mid;
    context.fill();
  }
  if (frame.name === 'section') {
    for (const piece of frame.cut) pen.line(piece.path.map((at) => pen.at(at)), { width: 2.4, colour: paper.ink });
  } else {
    for (const edge of scene?.edges ?? []) {
      const [from, to] = [pen.at(edge.from), pen.at(edge.to)];
      if (nearCircle(from, to, [x, y])) drawEdgeInk(pen, edge.kind, from, to, [0, -1], 0.8);
    }
  }
  drawDoubt(pen, frame, [x, y]);
}

/** Only lines that pass the circle are worth drawing at this size. */
function nearCircle(from: Dot, to: Dot, [x, y]: Dot): boolean {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const share = Math.min(1, Math.max(0, ((x - from[0]) * dx + (y - from[1]) * dy) / Math.max(dx * dx + dy * dy, 1e-9)));
  return Math.hypot(from[0] + dx * share - x, from[1] + dy * share - y) < RADIUS;
}

/** Level and upright limits of the place, 95 %, as the picture shows them. */
function drawDoubt(pen: Pen, { snap }: InkFrame, [x, y]: Dot): void {
  const { view, paper } = pen;
  const [sx, sy, sz] = snap!.pick.sigmaM;
  const spread = (axis: readonly [number, number, number]): number => length([axis[0] * sx, axis[1] * sy, axis[2] * sz]) * SIGMAS_IN_95 * view.pixelsPerMetre;
  const [across, above] = [spread(view.right), spread(view.up)];
  const dashed = { width: 1.2, colour: paper.select, dash: [4, 3] };
  for (const side of [-1, 1]) {
    pen.line([[x - RADIUS, y + side * above], [x + RADIUS, y + side * above]], dashed);
    pen.line([[x + side * across, y - RADIUS], [x + side * across, y + RADIUS]], dashed);
  }
  pen.line([[x - 16, y], [x + 16, y]], { width: 2, colour: paper.select });
  pen.line([[x, y - 16], [x, y + 16]], { width: 2, colour: paper.select });
}
