import { alongLine, type PlanLine } from '../../../geometry/plan-line.ts';
import type { Vector2 } from '../../../geometry/vector.ts';
import { elevationAt } from '../borders/intersections.ts';
import type { Piece, RoofMap } from '../borders/split-arcs.ts';
import type { SolvedCorners } from '../corners/solve-corners.ts';
import { eachCellBeside } from '../raster/cells-beside.ts';
import type { RoofRaster } from '../raster/roof-raster.ts';
import { meetShallowly, type FaceFit } from './fit-faces.ts';

/** A side of a face, up to which its points are its own. */
export interface RimSide {
  readonly piece: number;
  /** Face on the other side, 0 for none. */
  readonly other: number;
  /** The face lies on the left. */
  readonly line: PlanLine;
  /** Points nearer to the line than this are left alone. [m] */
  readonly margin: number;
  /** False where what the face ends with there is not known well enough, or is no end of its points. */
  readonly isSure: boolean;
}

/** Cells nearer to a side than this are its rim. [cells] */
const RIM_CELLS = 1;
/** A line less surely known is none to part points at. One sigma. [cells] */
const SURE_CELLS = 0.3;
/** Reconstructions round edges off over about this. [spacings] */
const ROUNDED_SPACINGS = 0.5;
/** Walls and boards below a free edge reach in under it by their own noise: so many sigmas of the face's. */
const HANGING_SIGMAS = 1.5;

/**
 * The sides that cells of a face are near to.
 *
 * @param isOpen  Non-zero for cells that may take part.
 * @returns By cell.
 */
export function rimSides(raster: RoofRaster, fits: readonly FaceFit[], map: RoofMap, { positions, vanished }: SolvedCorners, isOpen: Uint8Array): Map<number, RimSide[]> {
  const sides = new Map<number, RimSide[]>();
  map.pieces.forEach((piece, i) => {
    if (vanished[i] || piece.gone) return;
    const ends = [positions[piece.from]!, positions[piece.to]!] as const;
    for (const own of [piece.left, piece.right]) {
      if (own === 0) continue;
      const side = sideOf(piece, i, own, ends, fits, raster.step);
      const along = ends.map((end) => alongLine(side.line, end));
      eachCellBeside(raster, side.line, Math.min(...along), Math.max(...along), RIM_CELLS * raster.step, RIM_CELLS * raster.step, (k) => {
        if (!isOpen[k] || raster.face[k] !== own) return;
        const list = sides.get(k);
        if (list) list.push(side);
        else sides.set(k, [side]);
      });
    }
  });
  return sides;
}

function sideOf(piece: Piece, index: number, own: number, [p, q]: readonly [Vector2, Vector2], fits: readonly FaceFit[], step: number): RimSide {
  const isLeft = piece.left === own;
  const other = isLeft ? piece.right : piece.left;
  const { at, direction: [dx, dy] } = piece.line;
  const fit = fits[own - 1]!;
  const middle: Vector2 = [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
  const isSure = piece.sigma <= SURE_CELLS * step && (piece.meets
    ? !piece.drawn && !meetShallowly(fit, fits[other - 1]!)
    : piece.counted && (other === 0 || elevationAt(fit, middle) >= elevationAt(fits[other - 1]!, middle)));
  return {
    piece: index, other, isSure,
    line: isLeft ? piece.line : { at, direction: [-dx, -dy] },
    margin: Math.max(ROUNDED_SPACINGS / Math.sqrt(Math.max(1e-6, fit.density)), piece.meets ? 0 : HANGING_SIGMAS * fit.noise),
  };
}
