import { crossingPieces } from './crossing-pieces.ts';
import { rasterSigma } from './piece-sigmas.ts';
import type { RoofRaster } from '../raster/roof-raster.ts';
import type { SolvedCorners } from '../corners/solve-corners.ts';
import type { Piece, RoofMap } from './split-arcs.ts';

/** A face whose outline encloses less or more than its raster cells by this share is drawn wrong. */
const AREA_SHARE = 0.35;
/** And by this many rim cells' worth at least: small faces round much. */
const RIM_CELLS = 1;

/**
 * Where sides cross, of one outline or of two, or a face encloses another area than its cells, the raster draws again: lines
 * each right for itself that do not fit together (a scrap of labels among planes that are nearly one). First only the
 * crossing sides are redrawn, and the others of their faces where they cross still; of a face of the wrong area all.
 *
 * @returns How many pieces were redrawn; they then have the raster's lines, and no less scatter than before.
 */
export function mendRings(map: RoofMap, solved: SolvedCorners, raster: RoofRaster): number {
  const faces = map.rings.reduce((most, { face }) => Math.max(most, face), 0);
  const cells = new Float64Array(1 + faces);
  for (const face of raster.face) if (face !== 0) cells[face]!++;
  const enclosed = new Float64Array(1 + faces);
  const rims = new Float64Array(1 + faces);
  const bad = new Set<number>();
  const sidesOf: number[][] = Array.from({ length: 1 + faces }, () => []);
  for (const ring of map.rings) {
    if (ring.face === 0) continue;
    for (const { piece, forward } of ring.pieces) {
      if (solved.vanished[piece]) continue;
      const { from, to } = map.pieces[piece]!;
      const [a, b] = [solved.positions[forward ? from : to]!, solved.positions[forward ? to : from]!];
      enclosed[ring.face]! += (a[0] * b[1] - a[1] * b[0]) / 2;
      rims[ring.face]! += Math.hypot(b[0] - a[0], b[1] - a[1]);
      sidesOf[ring.face]!.push(piece);
    }
  }
  const crossing = crossingPieces(map, solved);
  for (let face = 1; face <= faces; face++) {
    const area = cells[face]! * raster.step ** 2;
    const wrong = Math.abs(enclosed[face]! - area) > Math.max(AREA_SHARE * area, RIM_CELLS * raster.step * rims[face]!);
    if (wrong) for (const piece of sidesOf[face]!) bad.add(piece);
  }
  for (const pair of crossing) {
    // Redrawn already and crossing still: the sides beside them pull the corners.
    const all = pair.every((i) => map.pieces[i]!.byRaster);
    for (const i of pair) for (const piece of all ? [map.pieces[i]!.left, map.pieces[i]!.right].flatMap((face) => sidesOf[face]!) : [i]) bad.add(piece);
  }
  return [...bad].filter((i) => drawByRaster(map.pieces[i]!, map, raster.step)).length;
}

/** Gives a piece the chord of its raster corners; false when it had that already. */
function drawByRaster(piece: Piece, map: RoofMap, step: number): boolean {
  const [p, q] = [map.vertices[piece.from]!.at, map.vertices[piece.to]!.at];
  const size = Math.hypot(q[0] - p[0], q[1] - p[1]);
  if (piece.gone || piece.byRaster || size < 1e-9) return false;
  piece.line = { at: [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2], direction: [(q[0] - p[0]) / size, (q[1] - p[1]) / size] };
  piece.sigma = Math.max(piece.sigma, rasterSigma(piece.cells, step));
  piece.sigmaAngle = Math.max(piece.sigmaAngle, (3.5 * piece.sigma) / size);
  piece.meets = false;
  piece.drawn = false;
  piece.counted = false;
  piece.byRaster = true;
  return true;
}
