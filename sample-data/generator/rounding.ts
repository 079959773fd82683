import { inner, mean, middle, minus, normalOf, outer, unit, type P3 } from './points.ts';
import { upperTail } from './random.ts';
import type { Surface } from './surface.ts';

/** A side of a surface at which a reconstruction rolls over to the neighbour instead of keeping the sharp edge. */
export interface RoundedSide {
  readonly through: P3;
  /** Unit, into the surface. */
  readonly inward: P3;
  readonly along: P3;
  readonly sideLength: number;
  /** Where a point on the edge itself goes, for a blur of sigma 1. */
  readonly push: P3;
  /** Distance from the edge in the smoothing frame over distance in the surface. */
  readonly foreshorten: number;
}

/** Angles between neighbours are taken as no sharper than this. [rad] */
const SHARPEST = (100 / 180) * Math.PI;

/** Finds for each surface which of its sides meet another surface, or end free, and how the blur moves points there. */
export function roundedSides(surfaces: readonly Surface[]): RoundedSide[][] {
  const sides = new Map<string, { surface: number; normal: P3; centre: P3 }[]>();
  const ringsOf = (s: Surface) => [s.ring, ...s.holes];
  surfaces.forEach((s, index) => {
    const normal = normalOf(s.ring);
    const centre = mean(s.ring);
    for (const ring of ringsOf(s)) ring.forEach((a, i) => {
      const key = sideKey(a, ring[(i + 1) % ring.length]!);
      const list = sides.get(key) ?? [];
      list.push({ surface: index, normal, centre });
      sides.set(key, list);
    });
  });
  return surfaces.map((s, index) => {
    const normal = normalOf(s.ring);
    return ringsOf(s).flatMap((ring) => ring.flatMap((a, i) => {
      const b = ring[(i + 1) % ring.length]!;
      const neighbour = sides.get(sideKey(a, b))!.find((other) => other.surface !== index);
      const along = unit(minus(b, a));
      const inward = outer(normal, along);
      if (!neighbour && !s.freeEdgesRollOver) return [];
      const other = neighbour?.normal ?? unit([-inward[0], -inward[1], 0]);
      const convex = neighbour ? inner(normal, minus(neighbour.centre, middle(a, b))) < 0 : true;
      return [rounded(a, b, along, inward, normal, other, convex)];
    }));
  });
}

/**
 * Two planes that meet at an angle, blurred by a Gaussian across the edge: in the frame of their bisector the surface is
 * -|x| tan(half turn), and the blur of |x| is |x| + 2 (sigma phi(x/sigma) - |x| Q(|x|/sigma)).
 */
function rounded(a: P3, b: P3, along: P3, inward: P3, normal: P3, other: P3, convex: boolean): RoundedSide {
  const turn = Math.min(SHARPEST, Math.acos(Math.max(-1, Math.min(1, inner(normal, other)))));
  const bisector = unit([normal[0] + other[0], normal[1] + other[1], normal[2] + other[2] + 1e-9]);
  const size = Math.tan(turn / 2) * (convex ? -1 : 1);
  return {
    through: a, inward, along, sideLength: Math.hypot(...minus(b, a)),
    push: [bisector[0] * size, bisector[1] * size, bisector[2] * size], foreshorten: Math.cos(turn / 2),
  };
}

/** Displacement of a point near an edge over `push`, for blur sigma 1 and distance x >= 0 in sigmas. */
export const blurLift = (x: number): number => 2 * (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI) - x * upperTail(x));

const rounding = (p: P3): string => p.map((c) => Math.round(c * 1e5)).join(',');
function sideKey(a: P3, b: P3): string {
  const ka = rounding(a);
  const kb = rounding(b);
  return ka < kb ? `${ka}|${kb}` : `${kb}|${ka}`;
}
