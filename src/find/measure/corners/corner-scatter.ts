import type { Vector2 } from '../../../geometry/vector.ts';
import { solveDecomposed, type RowsFromFirst } from '../../../geometry/solve-symmetric.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { heightDifference } from '../borders/intersections.ts';
import type { NetworkPiece, NetworkPlane } from './corner-network.ts';

/** Share of a vertex's x and y in a number. */
export interface CornerWeight {
  readonly vertex: number;
  readonly x: number;
  readonly y: number;
}

/** Share of a plane's height at its centroid and of its two slopes in a number. */
export interface PlaneWeight {
  readonly face: number;
  readonly elevation: number;
  readonly slopeX: number;
  readonly slopeY: number;
}

/** One sigma of a number, by what it comes of; independent of one another. */
export interface Scatter {
  /** Where points end, the raster's guess, rules. */
  readonly edges: number;
  /** What all sides at which points end have alike. */
  readonly rim: number;
  /** Fits of planes: through the lines where they meet, and of themselves. */
  readonly planes: number;
}

/** What the adjustment left: enough to say how each thing observed moves a sum of its unknowns. */
export interface Adjustment {
  readonly factor: RowsFromFirst;
  readonly at: Float64Array;
  readonly live: readonly NetworkPiece[];
  /** How much each piece's line pulled, 0 to 1. */
  readonly pull: readonly number[];
  readonly planes: readonly NetworkPlane[];
  /** Of every face; null where every piece was a line of its own. */
  readonly fits: readonly FaceFit[] | null;
  /** Of the live piece of this number. */
  readonly precisionAt: (piece: number) => { readonly aa: number; readonly ab: number; readonly bb: number };
}

type Three = [elevation: number, slopeX: number, slopeY: number];

/**
 * Variance of a sum of the unknowns by the observations behind it. Lines where planes meet are no observations of their own:
 * all borders of a plane move with its fit, and so do its slopes. A plane that was fitted too steep meets its neighbour too
 * soon, so its area errs by less than its rim and its slope would make it, one by one.
 *
 * @param vector  Share of every unknown in the number.
 * @param own  Shares of planes that are no unknowns.
 */
export function scatterOf({ factor, at, live, pull, planes, fits, precisionAt }: Adjustment, vector: Float64Array, own: readonly PlaneWeight[]): Scatter {
  const moved = solveDecomposed(factor, vector);
  let edges = vector.reduce((sum, w, i) => sum + w * moved[i]!, 0);
  let rim = 0;
  const shares = new Map<number, Three>();
  const add = (face: number, elevation: number, slopeX: number, slopeY: number): void => {
    const share = shares.get(face) ?? [0, 0, 0];
    shares.set(face, [share[0] + elevation, share[1] + slopeX, share[2] + slopeY]);
  };
  for (const { face, elevation, slopeX, slopeY } of own) add(face, elevation, slopeX, slopeY);
  for (const { face, offset, precision } of planes) {
    const m = [moved[offset]!, moved[offset + 1]!, moved[offset + 2]!] as const;
    const s = [0, 1, 2].map((i) => precision[3 * i]! * m[0] + precision[3 * i + 1]! * m[1] + precision[3 * i + 2]! * m[2]) as Three;
    edges -= m[0] * s[0] + m[1] * s[1] + m[2] * s[2];
    add(face, ...s);
  }
  live.forEach(({ piece, a, b, planes: joint }, i) => {
    const isRim = piece.counted && !piece.byRaster;
    if (joint || (!isRim && (!fits || !piece.meets || piece.drawn))) return;
    const ends: readonly Vector2[] = [[at[a]!, at[a + 1]!], [at[b]!, at[b + 1]!]];
    const [nx, ny] = [-piece.line.direction[1], piece.line.direction[0]];
    const [ma, mb] = [nx * moved[a]! + ny * moved[a + 1]!, nx * moved[b]! + ny * moved[b + 1]!];
    const { aa, ab, bb } = precisionAt(i);
    const s = [pull[i]! * (aa * ma + ab * mb), pull[i]! * (ab * ma + bb * mb)] as const;
    if (isRim) {
      const share = (s[0] + s[1]) * piece.bias;
      rim += share;
      edges -= share * share;
      return;
    }
    const [left, right] = [fits![piece.left - 1]!, fits![piece.right - 1]!];
    const parting = (left.slopeX - right.slopeX) * nx + (left.slopeY - right.slopeY) * ny;
    const { sigma, steepness } = heightDifference(left, right, piece.line.at);
    // Beside the planes' own scatter there is what wrong labels near the border did to either of them.
    const smear = Math.max(0, piece.sigma ** 2 - (sigma / steepness) ** 2);
    edges += (s[0] + s[1]) ** 2 * smear - (s[0] * ma + s[1] * mb);
    ends.forEach(([x, y], k) => {
      const share = -s[k]! / parting;
      const beside = ({ centroid }: FaceFit): [number, number] => [share * (x - centroid[0]), share * (y - centroid[1])];
      const [lx, ly] = beside(left);
      const [rx, ry] = beside(right);
      add(piece.left, share, lx, ly);
      add(piece.right, -share, -rx, -ry);
    });
  });
  let variance = 0;
  for (const [face, share] of shares) {
    const covariance = fits?.[face - 1]?.covariance;
    if (covariance) for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) variance += share[i]! * share[j]! * covariance[3 * i + j]!;
  }
  return { edges: Math.sqrt(Math.max(0, edges)), rim: Math.abs(rim), planes: Math.sqrt(Math.max(0, variance)) };
}
