import { dot, type Vector3 } from '../../geometry/vector.ts';
import type { RecordPick } from '../../roof/record.ts';
import { measured, type MeasuredValue, type UncertaintyPart } from '../../units/measured.ts';

/** Half width of a 95 % interval in sigmas. */
export const SIGMAS_IN_95 = 1.96;

/** One end's share in a number: sigma of its place along the direction in which the number depends on it. */
export function alongSigma(pick: RecordPick, gradient: Vector3): number {
  const [sx, sy, sz] = pick.sigmaM;
  return Math.hypot(gradient[0] * sx, gradient[1] * sy, gradient[2] * sz);
}

/**
 * A number made of picks: each pick gives one part, the size of the number's dependence on it times its sigma.
 * Picks are taken as independent; what the whole model may be off by in scale, level and north is added where a reading is made.
 */
export function fromPicks(value: number, picks: readonly RecordPick[], gradients: readonly Vector3[], more: readonly UncertaintyPart[] = []): MeasuredValue {
  const parts = picks.map((pick, i) => ({ name: partName(pick, i), u95: SIGMAS_IN_95 * alongSigma(pick, gradients[i]!) }));
  return measured(value, [...parts, ...more]);
}

const partName = (pick: RecordPick, index: number): string => `pick ${index + 1}, ${pick.landedOn === 'point' ? 'bare point' : pick.landedOn}`;

/** Unit vector of `v`, or a level one when the two ends coincide: any direction then carries the same doubt. */
export function directionOr(v: Vector3, otherwise: Vector3): Vector3 {
  const size = Math.sqrt(dot(v, v));
  return size > 1e-9 ? [v[0] / size, v[1] / size, v[2] / size] : otherwise;
}
