import type { Vector3 } from '../../geometry/vector.ts';
import type { ClipBox } from '../clip-box.ts';
import { boxCorners } from '../projection.ts';
import { letter, type Pen } from './pen.ts';

/** The twelve sides of a box, as pairs of the corners `boxCorners` gives. */
const SIDES = [[0, 1], [2, 3], [4, 5], [6, 7], [0, 2], [1, 3], [4, 6], [5, 7], [0, 4], [1, 5], [2, 6], [3, 7]] as const;

/** The box outside which no points are shown, in dashes, with its name at its upper left. */
export function drawClipBox(pen: Pen, box: ClipBox): void {
  const corners: Vector3[] = boxCorners(box);
  const dots = corners.map((corner) => pen.at(corner));
  for (const [from, to] of SIDES) pen.line([dots[from]!, dots[to]!], { width: 1, colour: pen.paper.ink2, dash: [3, 5] });
  const left = dots.reduce((best, dot) => (dot[0] + dot[1] < best[0] + best[1] ? dot : best));
  pen.write([letter('clip box', 12, 500)], [left[0] + 2, left[1] - 9], { yields: true });
}
