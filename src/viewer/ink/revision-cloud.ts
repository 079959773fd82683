import type { Dot, Pen } from './pen.ts';

/** Distance of the cloud from what it doubts, and size of one scallop, at working scale. [px] */
const OFFSET = 8;
const SCALLOP = 15;
/** How far each scallop's arc reaches round, so that neighbours meet in a cusp. [rad] */
const ARC = 1.75;

/** Scallops round a doubtful thing, following its shape. */
export function drawRevisionCloud(pen: Pen, ring: readonly Dot[], scale: number): void {
  const path = inflated(hullOf(ring), OFFSET * Math.max(0.6, scale));
  const around = lengthOf(path);
  const count = Math.max(8, Math.round(around / (SCALLOP * Math.max(0.55, scale))));
  const radius = (around / count) * 0.56;
  const { context } = pen;
  context.beginPath();
  for (const { at, outward } of walk(path, count)) {
    const angle = Math.atan2(outward[1], outward[0]);
    context.moveTo(at[0] + radius * Math.cos(angle - ARC), at[1] + radius * Math.sin(angle - ARC));
    context.arc(at[0], at[1], radius, angle - ARC, angle + ARC);
  }
  pen.stroke({ width: Math.max(1.1, 1.6 * scale), colour: pen.paper.doubt });
}

/** Convex hull, counter-clockwise in picture axes (Andrew 1979). */
export function hullOf(dots: readonly Dot[]): Dot[] {
  const sorted = dots.toSorted((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list: readonly Dot[]): Dot[] => {
    const chain: Dot[] = [];
    for (const dot of list) {
      while (chain.length > 1 && turn(chain.at(-2)!, chain.at(-1)!, dot) <= 0) chain.pop();
      chain.push(dot);
    }
    return chain.slice(0, -1);
  };
  const hull = [...half(sorted), ...half(sorted.toReversed())];
  return hull.length > 0 ? hull : dots.slice(0, 1);
}

const turn = (a: Dot, b: Dot, c: Dot): number => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);

/** A ring pushed outwards, its corners rounded by a few short sides. */
function inflated(hull: readonly Dot[], by: number): Dot[] {
  if (hull.length < 3) return Array.from({ length: 16 }, (_, i) => [hull[0]![0] + by * Math.cos((i * Math.PI) / 8), hull[0]![1] + by * Math.sin((i * Math.PI) / 8)]);
  return hull.flatMap((corner, i) => {
    const before = hull[(i + hull.length - 1) % hull.length]!;
    const after = hull[(i + 1) % hull.length]!;
    const start = Math.atan2(-(corner[0] - before[0]), corner[1] - before[1]);
    const end = Math.atan2(-(after[0] - corner[0]), after[1] - corner[1]);
    const swing = (((end - start) % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);
    return [0, 0.5, 1].map((share): Dot => [corner[0] + by * Math.cos(start + swing * share), corner[1] + by * Math.sin(start + swing * share)]);
  });
}

const lengthOf = (path: readonly Dot[]): number => path.reduce((sum, dot, i) => sum + Math.hypot(path[(i + 1) % path.length]![0] - dot[0], path[(i + 1) % path.length]![1] - dot[1]), 0);

/** Evenly spaced places along a closed path, with the direction outwards. */
function walk(path: readonly Dot[], count: number): { at: Dot; outward: Dot }[] {
  const step = lengthOf(path) / count;
  const places: { at: Dot; outward: Dot }[] = [];
  let due = 0;
  let passed = 0;
  path.forEach((from, i) => {
    const to = path[(i + 1) % path.length]!;
    const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (run < 1e-9) return;
    const [ux, uy] = [(to[0] - from[0]) / run, (to[1] - from[1]) / run];
    for (; due < passed + run - 1e-9 && places.length < count; due += step) {
      const along = due - passed;
      places.push({ at: [from[0] + ux * along, from[1] + uy * along], outward: [uy, -ux] });
    }
    passed += run;
  });
  return places;
}
