import { acos, cos } from './same-math.ts';
/** Where `fitMoments` leaves its answer: normal x, y, z (unit, z >= 0), smallest, middle and largest variance. [m²] */
export const MOMENT_FIT_SIZE = 6;

/**
 * Least-squares plane of a set of points from its ten moments: count, Σx, Σy, Σz, Σxx, Σxy, Σxz, Σyy, Σyz, Σzz.
 * The normal is the eigenvector of the smallest eigenvalue of their covariance (closed form by the trigonometric
 * solution of the characteristic cubic, Smith 1961, Comm. ACM 4(4):168; vector from the longest cross product of two
 * rows of C - λI).
 *
 * @param out  `MOMENT_FIT_SIZE` numbers are written. Points on one spot give a level plane without thickness.
 */
export function fitMoments(moments: Float64Array, out: Float64Array): void {
  const w = 1 / moments[0]!;
  const mx = moments[1]! * w;
  const my = moments[2]! * w;
  const mz = moments[3]! * w;
  const a00 = moments[4]! * w - mx * mx;
  const a01 = moments[5]! * w - mx * my;
  const a02 = moments[6]! * w - mx * mz;
  const a11 = moments[7]! * w - my * my;
  const a12 = moments[8]! * w - my * mz;
  const a22 = moments[9]! * w - mz * mz;
  const q = (a00 + a11 + a22) / 3;
  const b00 = a00 - q;
  const b11 = a11 - q;
  const b22 = a22 - q;
  const p = Math.sqrt((b00 * b00 + b11 * b11 + b22 * b22 + 2 * (a01 * a01 + a02 * a02 + a12 * a12)) / 6);
  if (!(p > 1e-14)) {
    out[0] = 0;
    out[1] = 0;
    out[2] = 1;
    out[3] = out[4] = out[5] = Math.max(0, q);
    return;
  }
  const determinant = b00 * (b11 * b22 - a12 * a12) - a01 * (a01 * b22 - a12 * a02) + a02 * (a01 * a12 - b11 * a02);
  const r = Math.min(1, Math.max(-1, determinant / (2 * p * p * p)));
  const angle = acos(r) / 3;
  const largest = q + 2 * p * cos(angle);
  const smallest = q + 2 * p * cos(angle + (2 * Math.PI) / 3);
  const m00 = a00 - smallest;
  const m11 = a11 - smallest;
  const m22 = a22 - smallest;
  let x = a01 * a12 - a02 * m11;
  let y = a02 * a01 - m00 * a12;
  let z = m00 * m11 - a01 * a01;
  let best = x * x + y * y + z * z;
  const x1 = a01 * m22 - a02 * a12;
  const y1 = a02 * a02 - m00 * m22;
  const z1 = m00 * a12 - a01 * a02;
  const s1 = x1 * x1 + y1 * y1 + z1 * z1;
  if (s1 > best) {
    best = s1;
    x = x1;
    y = y1;
    z = z1;
  }
  const x2 = m11 * m22 - a12 * a12;
  const y2 = a12 * a02 - a01 * m22;
  const z2 = a01 * a12 - m11 * a02;
  const s2 = x2 * x2 + y2 * y2 + z2 * z2;
  if (s2 > best) {
    best = s2;
    x = x2;
    y = y2;
    z = z2;
  }
  const scale = best > 0 ? (z < 0 ? -1 : 1) / Math.sqrt(best) : 0;
  out[0] = x * scale;
  out[1] = y * scale;
  out[2] = best > 0 ? z * scale : 1;
  out[3] = Math.max(0, smallest);
  out[4] = Math.max(0, 3 * q - smallest - largest);
  out[5] = Math.max(0, largest);
}
