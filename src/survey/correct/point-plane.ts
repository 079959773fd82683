import { fitMoments, MOMENT_FIT_SIZE } from '../../geometry/fit-moments.ts';
import type { Plane } from '../../geometry/plane.ts';
import { seededRandom } from '../../geometry/seeded-random.ts';
import { cross, dot, length, scale, subtract, type Vector3 } from '../../geometry/vector.ts';
import { InputError } from '../../units/input-error.ts';
import { residualAt, type LabelPatch } from './label-patch.ts';

/** Fewer points are no surface. */
export const FEWEST_POINTS = 20;
/** Points farther off are not on a plane: 3.5 sigma keep 99.95 % of the noise, as in finding. */
export const LABEL_SIGMAS = 3.5;
/** Rounds of fitting and cutting off what lies away. */
const ROUNDS = 4;
/** Planes tried among the points of a lasso, and points each is tried on. */
const TRIALS = 300;
const TRIED_ON = 3000;
/** Steeper is a wall, whose outline cannot be seen from above: 84°. */
const LEAST_UPRIGHT = 0.1;
/** Share of the points inside a lasso that one flat surface must hold. */
const FAIR_SHARE = 0.3;

/**
 * Least-squares plane of points, with what lies away cut off in rounds: a first reference, which measuring refines.
 *
 * @param members  Which points of the patch.
 * @throws InputError when there are too few.
 */
export function fitPointPlane(patch: LabelPatch, members: Uint32Array): Plane {
  if (members.length < FEWEST_POINTS) throw new InputError('points', `${members.length} are too few for a plane, ${FEWEST_POINTS} are needed.`);
  let plane = leastSquares(patch, members, null, Infinity);
  for (let round = 0; round < ROUNDS; round++) {
    const sizes = Float64Array.from(members, (i) => Math.abs(residualAt(patch, plane, i))).sort();
    // Never below the noise: of two flat halves of one warped surface one would else be lost.
    const reach = LABEL_SIGMAS * Math.max(patch.noise, 1.4826 * sizes[sizes.length >> 1]!);
    plane = leastSquares(patch, members, plane, reach);
  }
  return plane;
}

/**
 * The flat surface most of some points lie on (consensus of random triples with the MSAC score, Torr and Zisserman 2000,
 * CVIU 78:138), then fitted to all of them.
 *
 * @throws InputError when no surface holds a fair share of them.
 */
export function planeAmong(patch: LabelPatch, inside: Uint32Array): { plane: Plane; members: Uint32Array } {
  if (inside.length < FEWEST_POINTS) throw new InputError('lasso', `${inside.length} points lie inside, ${FEWEST_POINTS} are needed.`);
  const random = seededRandom(inside.length);
  const stride = Math.max(1, Math.floor(inside.length / TRIED_ON));
  const tried = inside.filter((_, k) => k % stride === 0);
  const reach = LABEL_SIGMAS * patch.noise;
  let best: Plane | null = null;
  let least = Infinity;
  for (let trial = 0; trial < TRIALS; trial++) {
    const any = (): Vector3 => pointAt(patch, tried[Math.floor(random.uniform() * tried.length)]!);
    const plane = throughThree(any(), any(), any());
    if (!plane) continue;
    let cost = 0;
    for (const i of tried) cost += Math.min(1, (residualAt(patch, plane, i) / reach) ** 2);
    if (cost < least) [best, least] = [plane, cost];
  }
  const near = (plane: Plane): Uint32Array => inside.filter((i) => Math.abs(residualAt(patch, plane, i)) <= reach);
  const first = best ? near(best) : new Uint32Array(0);
  if (first.length < FEWEST_POINTS || first.length < FAIR_SHARE * inside.length) {
    throw new InputError('lasso', `no one flat surface holds a fair share of the ${inside.length} points inside; the best holds ${first.length}.`);
  }
  const plane = fitPointPlane(patch, first);
  return { plane, members: near(plane) };
}

const pointAt = ({ x, y, z }: LabelPatch, i: number): Vector3 => [x[i]!, y[i]!, z[i]!];

function throughThree(a: Vector3, b: Vector3, c: Vector3): Plane | null {
  const turn = cross(subtract(b, a), subtract(c, a));
  const size = length(turn);
  if (size < 1e-9) return null;
  const normal = scale(turn, (turn[2] < 0 ? -1 : 1) / size);
  return normal[2] < LEAST_UPRIGHT ? null : { normal, offset: -dot(normal, a) };
}

/** Over the members within reach of a plane; over all of them without one. */
function leastSquares(patch: LabelPatch, members: Uint32Array, near: Plane | null, reach: number): Plane {
  const [x0, y0, z0] = pointAt(patch, members[0]!);
  const m = new Float64Array(10);
  for (const i of members) {
    if (near && Math.abs(residualAt(patch, near, i)) > reach) continue;
    const [x, y, z] = [patch.x[i]! - x0, patch.y[i]! - y0, patch.z[i]! - z0];
    m[0]!++;
    m[1]! += x;
    m[2]! += y;
    m[3]! += z;
    m[4]! += x * x;
    m[5]! += x * y;
    m[6]! += x * z;
    m[7]! += y * y;
    m[8]! += y * z;
    m[9]! += z * z;
  }
  const fit = new Float64Array(MOMENT_FIT_SIZE);
  fitMoments(m, fit);
  const normal: Vector3 = [fit[0]!, fit[1]!, fit[2]!];
  return { normal, offset: -dot(normal, [x0 + m[1]! / m[0]!, y0 + m[2]! / m[0]!, z0 + m[3]! / m[0]!]) };
}
