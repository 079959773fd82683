import { addAt, factorOf, solveDecomposed, wholeRows, type RowsFromFirst } from '../../../geometry/solve-symmetric.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { cellCentre, type RasterFrame } from '../raster/roof-raster.ts';
import { elevationAt } from './intersections.ts';

/**
 * Chi-square, of three numbers, of a face's plane over the planes around it carried on under it: height and slopes of the one
 * plane that fits best to the difference, with the covariance of all the fits that had a share in it.
 *
 * @param takers  By cell the face whose plane is carried on there.
 * @param own  Face that is doubted.
 * @returns Infinity where the cells do not span a plane.
 */
export function chiSquareOverCarried(frame: RasterFrame, cells: readonly number[], takers: Uint16Array, fits: readonly FaceFit[], own: number): number {
  const fit = fits[own - 1]!;
  const normal = wholeRows(3);
  const right = new Float64Array(3);
  /** By taker what its height and slopes add to the right side, 3 × 3 row by row. */
  const shares = new Map<number, Float64Array>();
  cells.forEach((k, i) => {
    const at = cellCentre(frame, k);
    const taker = fits[takers[i]! - 1]!;
    const place = [1, at[0] - fit.centroid[0], at[1] - fit.centroid[1]];
    const there = [1, at[0] - taker.centroid[0], at[1] - taker.centroid[1]];
    const above = elevationAt(fit, at) - elevationAt(taker, at);
    let share = shares.get(takers[i]!);
    if (!share) shares.set(takers[i]!, (share = new Float64Array(9)));
    for (let a = 0; a < 3; a++) {
      right[a]! += place[a]! * above;
      for (let b = 0; b <= a; b++) addAt(normal, a, b, place[a]! * place[b]!);
      for (let b = 0; b < 3; b++) share[3 * a + b]! += place[a]! * there[b]!;
    }
  });
  const root = factorOf(normal);
  if (!root) return Infinity;
  const difference = solveDecomposed(root, right);
  const scatter = wholeRows(3);
  addLower(scatter, fit.covariance);
  for (const [taker, share] of shares) addLower(scatter, carried(root, share, fits[taker - 1]!.covariance));
  const scatterRoot = factorOf(scatter);
  return scatterRoot ? solveDecomposed(scatterRoot, difference).reduce((sum, value, a) => sum + value * difference[a]!, 0) : Infinity;
}

function addLower(matrix: RowsFromFirst, values: readonly number[]): void {
  for (let a = 0; a < 3; a++) for (let b = 0; b <= a; b++) addAt(matrix, a, b, values[3 * a + b]!);
}

/** M C Mᵀ with M the inverse of the normal matrix times a taker's share: what the scatter of its plane does to the one plane. */
function carried(root: RowsFromFirst, share: Float64Array, covariance: readonly number[]): number[] {
  const columns = [0, 1, 2].map((b) => solveDecomposed(root, [share[b]!, share[3 + b]!, share[6 + b]!]));
  const result: number[] = [];
  for (let a = 0; a < 3; a++) {
    for (let b = 0; b < 3; b++) {
      let sum = 0;
      for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) sum += columns[i]![a]! * covariance[3 * i + j]! * columns[j]![b]!;
      result.push(sum);
    }
  }
  return result;
}
