import type { Vector2 } from '../../../geometry/vector.ts';
import type { SolvedCorners } from '../corners/solve-corners.ts';
import type { RoofMap } from './split-arcs.ts';

type Placed = Pick<SolvedCorners, 'positions' | 'standsFor' | 'vanished'>;

/**
 * Pairs of pieces of a building that cross inside both: an outline that crosses itself, or a face that reaches into its
 * neighbour. None of them is right in a map whose pieces meet at their ends only.
 */
export function crossingPieces(map: RoofMap, { positions, vanished }: Placed): [number, number][] {
  const placed = map.pieces.flatMap(({ from, to }, piece) => (vanished[piece] ? [] : [{ piece, a: positions[from]!, b: positions[to]! }]));
  const order = placed.map((side) => ({ ...side, least: Math.min(side.a[0], side.b[0]), most: Math.max(side.a[0], side.b[0]) })).sort((p, q) => p.least - q.least || p.piece - q.piece);
  const found: [number, number][] = [];
  order.forEach((one, i) => {
    for (let j = i + 1; j < order.length && order[j]!.least <= one.most; j++) if (cross(one, order[j]!)) found.push([one.piece, order[j]!.piece]);
  });
  return found;
}

interface Side {
  readonly a: Vector2;
  readonly b: Vector2;
}

/** True when two sides cross at a position inside both. */
function cross({ a, b }: Side, { a: c, b: d }: Side): boolean {
  const side = (p: Vector2, q: Vector2, r: Vector2): number => (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
  return side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
}

/** Each round moves the corners of some more pieces. */
const MOST_ROUNDS = 40;

/**
 * Corners of pieces that cross however they were redrawn, put back where the raster saw them: there no two pieces cross.
 *
 * @returns Positions by vertex; the given ones where nothing crosses.
 */
export function partedCorners(map: RoofMap, solved: Placed): readonly Vector2[] {
  const positions = [...solved.positions];
  const held = new Set<number>();
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const crossing = crossingPieces(map, { ...solved, positions });
    const corners = crossing.flat().flatMap((i) => [solved.standsFor[map.pieces[i]!.from]!, solved.standsFor[map.pieces[i]!.to]!]);
    const more = new Set(corners.filter((v) => !held.has(v)));
    // Those that cross stand where the raster saw them already: their neighbours reach over.
    for (const v of more.size > 0 ? more : neighboursOf(map, solved, new Set(corners))) held.add(v);
    if (crossing.length === 0) break;
    positions.forEach((_, v) => {
      if (held.has(solved.standsFor[v]!)) positions[v] = map.vertices[solved.standsFor[v]!]!.at;
    });
  }
  return positions;
}

function neighboursOf(map: RoofMap, { standsFor, vanished }: Placed, corners: ReadonlySet<number>): number[] {
  return map.pieces.flatMap(({ from, to }, i) => {
    const [a, b] = [standsFor[from]!, standsFor[to]!];
    return vanished[i] ? [] : corners.has(a) ? [b] : corners.has(b) ? [a] : [];
  });
}
