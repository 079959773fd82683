import type { Vector2 } from '../../geometry/vector.ts';
import { shortLength } from '../../units/unit-in-use.ts';
import type { InkFrame } from './frame.ts';
import { figure, letter, type Dot, type Pen } from './pen.ts';

/** Room for the small plan, at the upper right. [px] */
const SIZE = { width: 118, height: 74, right: 28, top: 34 } as const;

/** A small plan beside a section or an elevation: where it is cut, and from where it is seen. */
export function drawKeyPlan(pen: Pen, frame: InkFrame): void {
  const { scene, view } = frame;
  if (!scene || frame.compact || view.width < 620) return;
  const shown = scene.buildings.filter(({ id }) => frame.building === null || id === frame.building);
  const section = frame.name === 'section' ? frame.sectionLine : null;
  const corners = [...shown.flatMap(({ outline }) => outline), ...(section ? [section.from, section.to] : [])];
  const place = fitted(corners, view.width);
  if (!place) return;
  const { ink, mid, select, sheet } = pen.paper;
  pen.fill([[view.width - SIZE.right - SIZE.width - 22, 8], [view.width - 8, 8], [view.width - 8, SIZE.top + SIZE.height + 26], [view.width - SIZE.right - SIZE.width - 22, SIZE.top + SIZE.height + 26]], sheet, 0.86);
  for (const { outline } of shown) pen.line(outline.map(place), { width: 1.2, colour: ink }, true);
  for (const edge of scene.edges) {
    if (edge.planes.length > 1 && shown.some(({ id }) => id === edge.building)) pen.line([place(edge.from), place(edge.to)], { width: 0.7, colour: mid });
  }
  const caption: Dot = [view.width - SIZE.right - SIZE.width / 2, SIZE.top + SIZE.height + 14];
  if (section) {
    const [from, to] = [place(section.from), place(section.to)];
    pen.line([from, to], { width: 1.5, colour: select, dash: [8, 2, 2, 2] });
    // The picture is looked into along -toward: the arrows stand at the ends and point that way.
    for (const end of [from, to]) drawArrow(pen, end, [-view.toward[0], view.toward[1]]);
    pen.write([letter('A', 12)], [from[0] - 12, from[1]], { align: 'centre' });
    pen.write([letter('A', 12)], [to[0] + 12, to[1]], { align: 'centre' });
    pen.write([figure(`strip ${shortLength(section.thicknessM, frame.units)} thick`, 12)], caption, { align: 'centre', halo: sheet });
    return;
  }
  const look: Dot = [-view.toward[0], view.toward[1]];
  const middle: Dot = [view.width - SIZE.right - SIZE.width / 2, SIZE.top + SIZE.height / 2];
  drawArrow(pen, [middle[0] - look[0] * (SIZE.width / 2 + 6), middle[1] - look[1] * (SIZE.height / 2 + 8)], look);
  pen.write([figure('seen this way', 12)], caption, { align: 'centre', halo: sheet });
}

/** East to the right, north up, as large as the room allows; null without a corner. */
function fitted(corners: readonly (Vector2 | readonly [number, number, number])[], width: number): ((at: readonly [number, number, ...number[]]) => Dot) | null {
  let [left, right, low, high] = [Infinity, -Infinity, Infinity, -Infinity];
  for (const [x, y] of corners) [left, right, low, high] = [Math.min(left, x), Math.max(right, x), Math.min(low, y), Math.max(high, y)];
  if (!(right > left || high > low)) return null;
  const scale = Math.min(SIZE.width / Math.max(right - left, 1e-3), SIZE.height / Math.max(high - low, 1e-3));
  const [x0, y0] = [width - SIZE.right - SIZE.width / 2 - (scale * (left + right)) / 2, SIZE.top + SIZE.height / 2 + (scale * (low + high)) / 2];
  return ([x, y]) => [x0 + scale * x, y0 - scale * y];
}

function drawArrow(pen: Pen, [x, y]: Dot, look: Dot): void {
  const size = Math.hypot(...look) || 1;
  const [ux, uy] = [look[0] / size, look[1] / size];
  pen.fill([[x - uy * 5, y + ux * 5], [x + uy * 5, y - ux * 5], [x + ux * 9, y + uy * 9]], pen.paper.ink);
}
