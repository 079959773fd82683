import { signedPlanArea } from '../../geometry/polygon.ts';
import { dot as dotProduct, type Vector3 } from '../../geometry/vector.ts';
import type { InkFrame } from './frame.ts';
import type { Dot, Pen } from './pen.ts';
import { drawShade, type ShadeImage } from './shade-image.ts';

/** What question 6 puts on the roof. */
export interface FittingLines {
  readonly zones: readonly (readonly Vector3[])[];
  readonly modules: readonly FittingModule[];
  /** Shade in coloured cells, one picture a plane; null when none is shown. */
  readonly shade: readonly ShadeImage[] | null;
}

export interface FittingModule {
  readonly id: string;
  readonly plane: string;
  readonly corners: readonly Vector3[];
  readonly isChosen: boolean;
}

/** Keep-clear zones at 45°, module places as tinted rectangles with a short line at their low edge; shade under them. */
export function drawFitting(pen: Pen, frame: InkFrame): void {
  const { context, paper } = pen;
  const { fitting } = frame;
  if (!fitting) return;
  if (fitting.shade) drawShade(pen, fitting.shade);
  else for (const zone of fitting.zones) {
    // A ring that runs clockwise is a hole in its zone.
    if (signedPlanArea(zone.map(([x, y]) => [x, y] as const)) <= 0) continue;
    const ring = zone.map((corner) => pen.at(corner));
    context.save();
    pen.path(ring, true);
    context.clip();
    hatch(pen, ring, 7);
    context.restore();
    pen.line(ring, { width: 0.8, colour: paper.mid }, true);
  }
  for (const { corners, isChosen } of fitting.modules) {
    if (dotProduct(normalOf(corners), frame.view.toward) <= 0) continue;
    const ring = corners.map((corner) => pen.at(corner));
    // Over a picture of shade a tint would change its colours.
    if (!fitting.shade || isChosen) pen.fill(ring, paper.select, isChosen ? 0.5 : 0.2);
    if (fitting.shade) pen.line(ring, { width: 3, colour: paper.sheet, opacity: 0.7 }, true);
    pen.line(ring, { width: isChosen ? 3 : 1, colour: isChosen ? paper.select : paper.ink }, true);
  }
}

function normalOf([a, b, , d]: readonly Vector3[]): Vector3 {
  const [p, q] = [[b![0] - a![0], b![1] - a![1], b![2] - a![2]], [d![0] - a![0], d![1] - a![1], d![2] - a![2]]] as const;
  return [p[1]! * q[2]! - p[2]! * q[1]!, p[2]! * q[0]! - p[0]! * q[2]!, p[0]! * q[1]! - p[1]! * q[0]!];
}

function hatch(pen: Pen, ring: readonly Dot[], spacing: number): void {
  const xs = ring.map(([x]) => x);
  const ys = ring.map(([, y]) => y);
  const [left, right] = [Math.max(-10, Math.min(...xs)), Math.min(pen.view.width + 10, Math.max(...xs))];
  const [top, bottom] = [Math.max(-10, Math.min(...ys)), Math.min(pen.view.height + 10, Math.max(...ys))];
  pen.context.beginPath();
  // Lines x + y = const at even steps of the whole picture, so that neighbouring zones join without a seam.
  const step = spacing * Math.SQRT2;
  for (let sum = Math.ceil((left + top) / step) * step; sum <= right + bottom; sum += step) {
    pen.context.moveTo(sum - top, top);
    pen.context.lineTo(sum - bottom, bottom);
  }
  pen.stroke({ width: 0.9, colour: pen.paper.mid });
}
