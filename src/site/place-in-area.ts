import type { Vector3 } from '../geometry/vector.ts';
import type { Projection } from './projection.ts';
import { UNIT_TO_METRE, unitName } from './settle-units.ts';

interface Bounds {
  readonly min: Vector3;
  readonly max: Vector3;
}

/** Areas of use are printed to hundredths, and surveys reach over coasts and borders. [degree] */
const MARGIN = 0.3;

/**
 * Whether the coordinates lie where their projection is used; if not, what would put them there.
 *
 * @returns Sentences for a person; none when all is well.
 */
export function placeInArea(projection: Projection, { min, max }: Bounds, unitToMetre: number): string[] {
  const { code, name } = projection.entry;
  const [x, y] = [(min[0] + max[0]) / 2, (min[1] + max[1]) / 2];
  if (isInArea(projection, x * unitToMetre, y * unitToMetre)) return [];
  const found = `Contradiction: the coordinates (x ${Math.round(x)}, y ${Math.round(y)}) lie outside the area of EPSG:${code} (${name}), so grid north is taken for true north.`;
  for (const [word, factor] of Object.entries(UNIT_TO_METRE)) {
    // The two feet land within metres of each other; telling them apart by place is not possible.
    if (Math.abs(factor / unitToMetre - 1) < 1e-3) continue;
    if (isInArea(projection, x * factor, y * factor)) return [`${found} They would lie inside it as ${unitName(factor)}: say --unit ${word} if so.`];
  }
  if (isInArea(projection, y * unitToMetre, x * unitToMetre)) return [`${found} They would lie inside it with x and y exchanged.`];
  const cut = cutMillions(projection, x * unitToMetre, y * unitToMetre);
  if (cut) return [`${found} They would lie inside it with ${cut}: leading digits look cut off.`];
  return [`${found} Say --crs if another projection is meant.`];
}

/** Leading digits that exporters drop to save digits, and what must be added to bring them back. */
function cutMillions(projection: Projection, x: number, y: number): string | null {
  for (let i = 0; i <= 6; i++) {
    for (let j = 0; j <= 9; j++) {
      if (i + j === 0 || !isInArea(projection, x + i * 1e6, y + j * 1e6)) continue;
      return [i > 0 ? `${i} 000 000 added to x` : null, j > 0 ? `${j} 000 000 added to y` : null].filter(Boolean).join(' and ');
    }
  }
  return null;
}

/** Whether a position [m] lies where its projection is used, with some margin. */
export function isInArea(projection: Projection, x: number, y: number): boolean {
  const { area } = projection.entry;
  if (!area) return true;
  const [lon, lat] = projection.toOwnLonLat(x, y);
  if (!Number.isFinite(lon + lat) || lat > area.north + MARGIN || lat < area.south - MARGIN) return false;
  // Some areas reach over the date line: their west is the larger number.
  const within = (value: number): boolean => value >= area.west - MARGIN && value <= area.east + MARGIN;
  const inside = area.west <= area.east ? within(lon) : lon >= area.west - MARGIN || lon <= area.east + MARGIN;
  // A projection far from home may fold; the way back must lead to where it came from.
  const [backX, backY] = projection.fromOwnLonLat(lon, lat);
  return inside && Math.hypot(backX - x, backY - y) < 1;
}

/** National grids whose numbers are easily told; each is a hint and never a choice. Ranges in metres. */
const GRIDS = [
  { code: 'EPSG:28992 (with heights EPSG:7415)', land: 'the Netherlands', x: [0, 280_000], y: [300_000, 625_000], cut: null },
  { code: 'EPSG:2056', land: 'Switzerland', x: [2_480_000, 2_840_000], y: [1_070_000, 1_300_000], cut: null },
  { code: 'EPSG:2056', land: 'Switzerland', x: [480_000, 840_000], y: [1_070_000, 1_300_000], cut: 'x, whose leading 2 000 000 looks cut off' },
  { code: 'EPSG:21781 (or EPSG:2056 cut by 2 000 000 and 1 000 000)', land: 'Switzerland', x: [480_000, 840_000], y: [70_000, 300_000], cut: null },
  { code: 'EPSG:2154', land: 'France', x: [100_000, 1_250_000], y: [6_040_000, 7_120_000], cut: null },
  { code: 'EPSG:27700', land: 'Great Britain', x: [80_000, 656_000], y: [5_000, 658_000], cut: null },
] as const;

/** What the numbers alone would allow, when the file states no projection. */
export function hintsWithoutCrs({ min, max }: Bounds, unitToMetre: number): string[] {
  const [x, y] = [((min[0] + max[0]) / 2) * unitToMetre, ((min[1] + max[1]) / 2) * unitToMetre];
  const fitting = GRIDS.filter((grid) => x >= grid.x[0] && x <= grid.x[1] && y >= grid.y[0] && y <= grid.y[1]);
  if (fitting.length === 0) return [];
  const list = fitting.map(({ code, land, cut }) => `${land}, ${code}${cut ? ` but for ${cut}` : ''}`).join('; or ');
  return [`The numbers would fit the grid of ${list}. Say --crs if that is where the site is.`];
}
