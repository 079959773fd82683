import { rasterComponents } from '../../../geometry/raster-components.ts';
import { atan2 } from '../../../geometry/same-math.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import type { DeckHeights } from './deck-heights.ts';
import { cellCentre } from '../raster/roof-raster.ts';

/** A place on a deck without any point, which the surface falls to from all sides. */
export interface InwardHole {
  readonly at: Vector2;
  /** Lowest deck around it. [m] */
  readonly elevation: number;
  /** Radius of a disc as large. [m] */
  readonly radius: number;
}

/** Smaller gaps are chance, larger ones are what the flight did not see. [spacings, m, m²] */
const LEAST_SPACINGS = 4;
const LEAST_WIDTH = 0.25;
const LARGEST = 4;
/** Least share of the cells about it that are deck: what a wall or a thing bounds is its shadow. */
const DECK_SHARE = 0.9;
/** How far around the surface is looked at, and the fewest cells of a sector that tell a slope. [m] */
const REACH = 1.2;
const SECTORS = 8;
const FEWEST_CELLS = 6;
/** So many sectors must be seen, and so many of them fall to the hole. */
const SEEN_SECTORS = 7;
const FALLING_SECTORS = 6;
/** Less is no fall that drains, and must stand above the waves of the noise. [-, sigmas] */
const LEAST_FALL = 0.004;
const LEAST_SIGMAS = 3;
/** Sectors whose waves are independent, of all. */
const FREE_SECTORS = 4;

/**
 * Standing water and glossy membranes leave no points, and they lie where the roof drains: a hole in the points that the
 * deck slopes to from all sides is a cue for a drain (methods D). A hole on a slope, or one that the deck's rim or another
 * roof bounds, is none.
 *
 * @param isDeck  Faces that belong to the deck.
 * @param spacing  Of the points. [m]
 * @param sigma  Of the long waves of smoothed heights. [m]
 */
export function inwardHoles(deck: DeckHeights, isDeck: (face: number) => boolean, spacing: number, sigma: number): InwardHole[] {
  const { columns, rows, step, isEmpty, weights, face } = deck;
  const least = Math.max(LEAST_WIDTH, LEAST_SPACINGS * spacing) ** 2;
  const { component, sizes } = rasterComponents(columns, rows, (k) => isEmpty[k]! - 1, true);
  const cells = sizes.map((): number[] => []);
  component.forEach((c, k) => {
    if (c > 0 && sizes[c]! * step * step <= LARGEST) cells[c]!.push(k);
  });
  return cells.flatMap((own) => {
    const area = own.length * step * step;
    const rim = area < least ? null : rimOf(own, columns, rows, isEmpty);
    if (!rim || rim.filter((n) => weights[n]! > 0 && isDeck(face[n]!)).length < DECK_SHARE * rim.length) return [];
    return slopesIn(own, area, deck, isDeck, sigma) ?? [];
  });
}

/** Cells with points about a hole; null where it reaches the end of the raster. */
function rimOf(own: readonly number[], columns: number, rows: number, isEmpty: Uint8Array): number[] | null {
  const rim = new Set<number>();
  for (const k of own) {
    const [x, y] = [k % columns, Math.floor(k / columns)];
    if (x === 0 || y === 0 || x === columns - 1 || y === rows - 1) return null;
    for (const by of [-columns - 1, -columns, -columns + 1, -1, 1, columns - 1, columns, columns + 1]) if (!isEmpty[k + by]) rim.add(k + by);
  }
  return [...rim];
}

/** Slope away from the hole in sectors around it; null where they do not rise. */
function slopesIn(own: readonly number[], area: number, deck: DeckHeights, isDeck: (face: number) => boolean, sigma: number): InwardHole | null {
  const { columns, rows, step, heights, weights, face } = deck;
  const places = own.map((k) => cellCentre(deck, k));
  const at: Vector2 = [places.reduce((sum, [x]) => sum + x, 0) / own.length, places.reduce((sum, [, y]) => sum + y, 0) / own.length];
  const radius = Math.sqrt(area / Math.PI);
  const reach = radius + REACH;
  const sectors = Array.from({ length: SECTORS }, () => ({ n: 0, r: 0, z: 0, rr: 0, rz: 0 }));
  let lowest = Infinity;
  const [fromX, fromY] = [Math.floor((at[0] - reach - deck.origin[0]) / step), Math.floor((at[1] - reach - deck.origin[1]) / step)];
  const across = Math.ceil((2 * reach) / step) + 1;
  for (let y = Math.max(0, fromY); y < Math.min(rows, fromY + across); y++) {
    for (let x = Math.max(0, fromX); x < Math.min(columns, fromX + across); x++) {
      const k = y * columns + x;
      if (!(weights[k]! > 0) || !isDeck(face[k]!)) continue;
      const [dx, dy] = [deck.origin[0] + (x + 0.5) * step - at[0], deck.origin[1] + (y + 0.5) * step - at[1]];
      const r = Math.hypot(dx, dy);
      if (r > reach) continue;
      const sum = sectors[Math.floor(((atan2(dy, dx) / (2 * Math.PI) + 1) % 1) * SECTORS) % SECTORS]!;
      sum.n++;
      sum.r += r;
      sum.z += heights[k]!;
      sum.rr += r * r;
      sum.rz += r * heights[k]!;
      if (r < radius + 2 * step) lowest = Math.min(lowest, heights[k]!);
    }
  }
  const slopes = sectors.flatMap(({ n, r, z, rr, rz }) => (n >= FEWEST_CELLS && rr - (r * r) / n > 0 ? [(rz - (r * z) / n) / (rr - (r * r) / n)] : []));
  if (slopes.length < SEEN_SECTORS || slopes.filter((slope) => slope > 0).length < FALLING_SECTORS || !Number.isFinite(lowest)) return null;
  const fall = slopes.reduce((sum, slope) => sum + slope, 0) / slopes.length;
  // Two heights apart by the reach, each with its wave, tell the slope of a sector.
  const scatter = (Math.SQRT2 * sigma) / REACH / Math.sqrt(FREE_SECTORS);
  return fall >= Math.max(LEAST_FALL, LEAST_SIGMAS * scatter) ? { at, elevation: lowest, radius } : null;
}
