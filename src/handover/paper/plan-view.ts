import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import { fittingScale } from '../drawing-scale.ts';

/** A box on paper. [mm] */
export interface PaperBox {
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

/** How plan positions come to lie on paper: true north up, at a scale. */
export interface PlanView {
  /** 100 for 1 : 100. */
  readonly scale: number;
  readonly toPaper: (at: Vector2 | Vector3) => Vector2;
  readonly box: PaperBox;
}

/**
 * The largest usual scale at which positions fit a box, centred in it.
 *
 * @param gridToTrueDeg  Added to a grid bearing gives the true bearing; true north is drawn up.
 * @param margin  Paper kept free on each side for dimensions and letters. [mm]
 */
export function planView(positions: readonly (Vector2 | Vector3)[], box: PaperBox, gridToTrueDeg: number, margin: number): PlanView {
  const turn = (gridToTrueDeg * Math.PI) / 180;
  const [c, s] = [Math.cos(turn), Math.sin(turn)];
  const northUp = ([x, y]: Vector2 | Vector3): Vector2 => [x * c + y * s, -x * s + y * c];
  let [minX, minY, maxX, maxY] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const position of positions) {
    const [x, y] = northUp(position);
    [minX, minY, maxX, maxY] = [Math.min(minX, x), Math.min(minY, y), Math.max(maxX, x), Math.max(maxY, y)];
  }
  const scale = fittingScale(maxX - minX, maxY - minY, box.width - 2 * margin, box.height - 2 * margin);
  const perMetre = 1000 / scale;
  const centre: Vector2 = [(minX + maxX) / 2, (minY + maxY) / 2];
  const toPaper = (at: Vector2 | Vector3): Vector2 => {
    const [x, y] = northUp(at);
    return [box.left + box.width / 2 + (x - centre[0]) * perMetre, box.top + box.height / 2 - (y - centre[1]) * perMetre];
  };
  return { scale, toPaper, box };
}
