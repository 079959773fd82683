import type { Vector2 } from './vector.ts';
import { cos, sin } from './same-math.ts';

/**
 * Parallel lines that fill an area.
 *
 * @param rings  Outer ring and holes in any winding; inside by the even-odd rule.
 * @param spacing  Distance between lines, in the unit of the rings.
 * @param angle  Direction of the lines from the x axis. [rad]
 * @returns Straight pieces. Lines stand on a grid fixed to the coordinate origin, so hatches of neighbours line up.
 */
export function hatchLines(rings: readonly (readonly Vector2[])[], spacing: number, angle: number): (readonly [Vector2, Vector2])[] {
  if (!(spacing > 0)) throw new RangeError(`Expected a hatch spacing above 0, got ${spacing}.`);
  const [c, s] = [cos(angle), sin(angle)];
  // Turned so that the lines run level: `along` stays, `across` becomes the scan value.
  const turned = rings.map((ring) => ring.map(([x, y]): Vector2 => [x * c + y * s, -x * s + y * c]));
  let [low, high] = [Infinity, -Infinity];
  for (const [, across] of turned.flat()) [low, high] = [Math.min(low, across), Math.max(high, across)];
  const pieces: (readonly [Vector2, Vector2])[] = [];
  for (let i = Math.ceil(low / spacing); i * spacing <= high; i++) {
    const across = i * spacing;
    const hits = crossings(turned, across);
    for (let k = 0; k + 1 < hits.length; k += 2) {
      pieces.push([turnBack(hits[k]!, across, c, s), turnBack(hits[k + 1]!, across, c, s)]);
    }
  }
  return pieces;
}

const turnBack = (along: number, across: number, c: number, s: number): Vector2 => [along * c - across * s, along * s + across * c];

function crossings(rings: readonly (readonly Vector2[])[], across: number): number[] {
  const hits: number[] = [];
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [a, b] = [ring[j]!, ring[i]!];
      if (a[1] > across === b[1] > across) continue;
      hits.push(a[0] + ((across - a[1]) / (b[1] - a[1])) * (b[0] - a[0]));
    }
  }
  return hits.toSorted((first, second) => first - second);
}
