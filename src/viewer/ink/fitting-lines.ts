import { hatchLines } from '../../geometry/hatch.ts';
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
  const { paper } = pen;
  const { fitting } = frame;
  if (!fitting) return;
  if (fitting.shade) drawShade(pen, fitting.shade);
  else drawZones(pen, fitting.zones);
  for (const { corners, isChosen } of fitting.modules) {
    if (dotProduct(normalOf(corners), frame.view.toward) <= 0) continue;
    const ring = corners.map((corner) => pen.at(corner));
    // Over a picture of shade a tint would change its colours.
    if (!fitting.shade || isChosen) pen.fill(ring, paper.select, isChosen ? 0.5 : 0.2);
    if (fitting.shade) pen.line(ring, { width: 3, colour: paper.sheet, opacity: 0.7 }, true);
    pen.line(ring, { width: isChosen ? 3 : 1, colour: isChosen ? paper.select : paper.ink }, true);
  }
}

/** Distance of hatch lines. [px] */
const HATCH = 7;

/**
 * Hatching is cut to its zone by arithmetic: clipping by the canvas takes five times as long, and a site has thousands of
 * zones, which a change by hand draws anew.
 */
function drawZones(pen: Pen, zones: FittingLines['zones']): void {
  const { context, view, paper } = pen;
  // A ring that runs clockwise is a hole in its zone.
  for (const zone of zones) {
    if (!runsOutside(zone)) continue;
    const ring = zone.map((corner) => pen.at(corner));
    if (!isInSight(ring, view)) continue;
    // Hatch lines would cross what is narrower than their distance by chance.
    if (isNarrow(ring)) {
      pen.fill(ring, paper.mid, 0.35);
      continue;
    }
    pen.path(ring, true);
    // Lines stand on a grid of the whole picture, so that neighbouring zones join without a seam.
    for (const [from, to] of hatchLines([ring], HATCH, -Math.PI / 4)) {
      context.moveTo(from[0], from[1]);
      context.lineTo(to[0], to[1]);
    }
    pen.stroke({ width: 0.9, colour: paper.mid });
  }
}

/** Whether a ring is on average narrower than half of what hatch lines stand apart: twice its area over its girth. */
function isNarrow(ring: readonly Dot[]): boolean {
  let [area, girth] = [0, 0];
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [a, b] = [ring[j]!, ring[i]!];
    area += a[0] * b[1] - b[0] * a[1];
    girth += Math.abs(b[0] - a[0]) + Math.abs(b[1] - a[1]);
  }
  return Math.abs(area) < girth * HATCH / 2;
}

/** Zones stay as they are from one picture to the next. */
const turns = new WeakMap<readonly Vector3[], boolean>();

function runsOutside(zone: readonly Vector3[]): boolean {
  const known = turns.get(zone) ?? signedPlanArea(zone.map(([x, y]) => [x, y] as const)) > 0;
  turns.set(zone, known);
  return known;
}

const isInSight = (ring: readonly Dot[], { width, height }: Pen['view']): boolean =>
  ring.some(([x]) => x > 0) && ring.some(([x]) => x < width) && ring.some(([, y]) => y > 0) && ring.some(([, y]) => y < height);

function normalOf([a, b, , d]: readonly Vector3[]): Vector3 {
  const [p, q] = [[b![0] - a![0], b![1] - a![1], b![2] - a![2]], [d![0] - a![0], d![1] - a![1], d![2] - a![2]]] as const;
  return [p[1]! * q[2]! - p[2]! * q[1]!, p[2]! * q[0]! - p[0]! * q[2]!, p[0]! * q[1]! - p[1]! * q[0]!];
}
