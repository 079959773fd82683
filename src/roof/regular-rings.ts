import type { Vector3 } from '../geometry/vector.ts';
import type { Building, RoofPlane } from './record.ts';

export interface RegularRings {
  readonly outline: readonly Vector3[];
  readonly holes: readonly (readonly Vector3[])[];
}

/**
 * A plane's rings with its sides drawn to rules, but for those where a person left the rules out: their corners stay as
 * measured. Null where nothing is drawn to rules.
 */
export function regularRings(plane: RoofPlane, { edges }: Building): RegularRings | null {
  const { regular } = plane;
  if (!regular || regular.off) return null;
  const left = edges.filter((edge) => edge.regular?.off && edge.planes.includes(plane.id));
  if (left.length === 0) return regular;
  const held = new Set(left.flatMap(({ from, to }) => [placeOf(from), placeOf(to)]));
  const measured = [plane.outline, ...plane.holes];
  const drawn = [regular.outline, ...regular.holes];
  // Rings that lost a corner to a rule cannot be mixed corner by corner.
  if (drawn.length !== measured.length || drawn.some((ring, i) => ring.length !== measured[i]!.length)) return null;
  const [outline, ...holes] = drawn.map((ring, i) => ring.map((corner, j) => (held.has(placeOf(measured[i]![j]!)) ? measured[i]![j]! : corner)));
  return { outline: outline!, holes };
}

const placeOf = ([x, y]: Vector3): string => `${x} ${y}`;
