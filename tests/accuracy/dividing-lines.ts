import { solveLinear } from '../../src/geometry/solve-linear.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';
import { distanceToRings, type PublishedFace } from './compare-faces.ts';
import { heightAbove, planeThrough, type FittedPlane } from './face-points.ts';

/** Correlation of the residuals of two points: share × exp(-distance / length). [-], [m] */
export interface SharedNoise {
  readonly share: number;
  readonly length: number;
}

/** Lags the correlation is measured at: nearer points mostly belong to two flights, farther ones to the plane's own fit. [m] */
const LAG = 0.25;
const FIRST_LAG = 1;
const LAGS = 6;

/** Points nearer a line than this may be of either side, and so many on each side tell where it lies. [m] */
const MARGIN = 0.3;
const BESIDE_LINE = 15;
/** Fewer points on a side show no plane. */
export const FEWEST_POINTS = 12;

/** What tells two planes from one, the line between them being known. */
export interface LineTest {
  /** Of the three numbers two planes differ by, over their covariance under noise that neighbours share. 3 degrees of freedom. */
  readonly chiSquared: number;
  /** How far the second stands above the first at the middle of the line, and one sigma of it. [m] */
  readonly step: number;
  readonly stepSd: number;
  /** [deg] */
  readonly angle: number;
}

/**
 * Measured on the residuals of all faces about their own planes; an exponential through the lags by least squares of logarithms.
 * Every plane has taken up part of what its points share, so this is rather too little, and tests tell planes apart too readily.
 */
export function measureSharedNoise(planes: readonly FittedPlane[]): SharedNoise {
  const products = new Float64Array(LAGS);
  const pairs = new Float64Array(LAGS);
  for (const plane of planes) {
    const residuals = plane.points.map((p) => heightAbove(plane, p) / plane.rms);
    plane.points.forEach((p, i) => {
      for (let j = 0; j < i; j++) {
        const q = plane.points[j]!;
        const lag = Math.floor(Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]) / LAG);
        if (lag >= LAGS) continue;
        products[lag]! += residuals[i]! * residuals[j]!;
        pairs[lag]!++;
      }
    });
  }
  const at: [number, number][] = [];
  for (let lag = FIRST_LAG; lag < LAGS; lag++) {
    const value = products[lag]! / pairs[lag]!;
    if (value > 0) at.push([(lag + 0.5) * LAG, Math.log(value)]);
  }
  if (at.length < 2) return { share: 0, length: 1 };
  const [mx, my] = [0, 1].map((k) => at.reduce((sum, one) => sum + one[k]!, 0) / at.length) as [number, number];
  const slope = at.reduce((sum, [x, y]) => sum + (x - mx) * (y - my), 0) / at.reduce((sum, [x]) => sum + (x - mx) ** 2, 0);
  return slope < 0 ? { share: Math.min(1, Math.exp(my - slope * mx)), length: -1 / slope } : { share: 0, length: 1 };
}

/** The two faces of a known line: their points away from it, each within its own plane. */
export function testLine(a: PublishedFace, b: PublishedFace, planeA: FittedPlane, planeB: FittedPlane, noise: SharedNoise): LineTest | null {
  const [nearA, nearB] = [byDistance(planeA.points, b), byDistance(planeB.points, a)];
  const at = middleOf([...nearA.slice(0, BESIDE_LINE), ...nearB.slice(0, BESIDE_LINE)].map(({ point }) => point));
  const [first, second] = [nearA, nearB].map((near) => near.filter(({ distance }) => distance > MARGIN).map(({ point }) => point)) as [Vector3[], Vector3[]];
  return twoAgainstOne(first, second, at, noise);
}

function byDistance(points: readonly Vector3[], { rings }: PublishedFace): { point: Vector3; distance: number }[] {
  return points.map((point) => ({ point, distance: distanceToRings(rings, point) })).sort((p, q) => p.distance - q.distance);
}

/**
 * A face cut through its middle down the slope, as a party wall would: what one roof differs by from itself.
 */
export function testHalves({ points, normal }: FittedPlane, noise: SharedNoise): LineTest | null {
  const level = Math.hypot(normal[0], normal[1]);
  const [east, north] = level > 1e-6 ? [-normal[1] / level, normal[0] / level] : [1, 0];
  const across = points.map((point) => ({ point, across: east * point[0] + north * point[1] })).sort((p, q) => p.across - q.across);
  const cut = across[across.length >> 1]?.across ?? 0;
  const [before, behind] = [across.filter((p) => p.across < cut), across.filter((p) => p.across > cut)];
  const at = middleOf([...before.slice(-BESIDE_LINE), ...behind.slice(0, BESIDE_LINE)].map(({ point }) => point));
  return twoAgainstOne(before.filter((p) => p.across < cut - MARGIN).map(({ point }) => point), behind.filter((p) => p.across > cut + MARGIN).map(({ point }) => point), at, noise);
}

const middleOf = (points: readonly Vector3[]): Vector3 => [0, 1, 2].map((k) => points.reduce((sum, p) => sum + p[k]!, 0) / points.length) as unknown as Vector3;

/**
 * Least squares of a plane to each of two sets of points; the covariance of their difference counts the correlation of every
 * pair of points, within the sets and between them.
 */
export function twoAgainstOne(first: readonly Vector3[], second: readonly Vector3[], at: Vector3, { share, length }: SharedNoise): LineTest | null {
  if (first.length < FEWEST_POINTS || second.length < FEWEST_POINTS) return null;
  const points = [...first, ...second];
  const common = planeThrough(points)!;
  const [u, w] = axesIn(common.normal);
  const place = (p: Vector3): Vector3 => [dot(u, p, at), dot(w, p, at), heightAbove(common, p)];
  const placed = points.map(place);
  const sides = [placed.slice(0, first.length), placed.slice(first.length)].map(fitHeights);
  if (!sides[0] || !sides[1]) return null;
  const influence = placed.map(([x, y], i) => {
    const [inverse, sign] = i < first.length ? [sides[0]!.inverse, -1] : [sides[1]!.inverse, 1];
    return [0, 1, 2].map((k) => sign * (inverse[3 * k]! + inverse[3 * k + 1]! * x + inverse[3 * k + 2]! * y));
  });
  const covariance = new Float64Array(9);
  let squares = 0;
  placed.forEach(([x, y, h], i) => {
    const [c, a, b] = (i < first.length ? sides[0]! : sides[1]!).plane as unknown as readonly [number, number, number];
    squares += (h - c - a * x - b * y) ** 2;
    for (let j = 0; j <= i; j++) {
      const rho = i === j ? 1 : share * Math.exp(-Math.hypot(x - placed[j]![0], y - placed[j]![1]) / length);
      for (let k = 0; k < 3; k++) {
        for (let m = 0; m < 3; m++) covariance[3 * k + m]! += rho * (influence[i]![k]! * influence[j]![m]! + (i === j ? 0 : influence[j]![k]! * influence[i]![m]!));
      }
    }
  });
  const variance = squares / (points.length - 6);
  const difference = Float64Array.from([0, 1, 2], (k) => sides[1]!.plane[k]! - sides[0]!.plane[k]!);
  const solved = solveLinear(covariance, difference);
  if (!solved) return null;
  return {
    chiSquared: difference.reduce((sum, d, k) => sum + d * solved[k]!, 0) / variance,
    step: difference[0]!,
    stepSd: Math.sqrt(variance * covariance[0]!),
    angle: (Math.atan(Math.hypot(difference[1]!, difference[2]!)) * 180) / Math.PI,
  };
}

const dot = (axis: Vector3, p: Vector3, from: Vector3): number => axis[0] * (p[0] - from[0]) + axis[1] * (p[1] - from[1]) + axis[2] * (p[2] - from[2]);

function axesIn([a, b, c]: Vector3): [Vector3, Vector3] {
  const level = Math.hypot(a, b);
  const u: Vector3 = level > 1e-6 ? [-b / level, a / level, 0] : [1, 0, 0];
  return [u, [b * u[2] - c * u[1], c * u[0] - a * u[2], a * u[1] - b * u[0]]];
}

/** h = c + a x + b y, and the inverse of its normal matrix. */
function fitHeights(points: readonly Vector3[]): { plane: Float64Array; inverse: Float64Array } | null {
  const matrix = new Float64Array(9);
  const right = new Float64Array(3);
  for (const [x, y, h] of points) {
    const row = [1, x, y];
    for (let k = 0; k < 3; k++) {
      right[k]! += row[k]! * h;
      for (let m = 0; m < 3; m++) matrix[3 * k + m]! += row[k]! * row[m]!;
    }
  }
  const plane = solveLinear(matrix, right);
  const rows = [0, 1, 2].map((k) => solveLinear(matrix, Float64Array.from([0, 1, 2], (m) => (m === k ? 1 : 0))));
  return plane && rows.every((row) => row !== null) ? { plane, inverse: Float64Array.from(rows.flatMap((row) => [...row!])) } : null;
}
