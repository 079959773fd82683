import type { Building } from '../roof/record.ts';
import { isKnown, measured, missing, type Measured, type UncertaintyPart } from '../units/measured.ts';

/** Parts of an uncertainty that are the same for every part of one model, or stem from one stated offset, and so add up instead of averaging out. */
const COMMON_PART = /scale|tilt|rim|edge conversion|edge offset/;
/** A total belongs to planes whose areas add up to it. */
const SAME_SUM = 1e-9;

/**
 * Sum of measured numbers. Unknown ones make the sum unknown. Shares that stem from the whole model (scale, tilt, how its rims were seen, by how much its edges were moved) add
 * straight, all others as independent.
 */
export function sumOf(numbers: readonly Measured[]): Measured {
  let value = 0;
  let independent = 0;
  const common = new Map<string, number>();
  for (const number of numbers) {
    if (!isKnown(number)) return missing(`one of ${numbers.length} is not known: ${number.why}`);
    value += number.value;
    const parts: readonly UncertaintyPart[] = number.parts ?? [{ name: 'each', u95: number.u95 }];
    for (const { name, u95 } of parts) {
      if (COMMON_PART.test(name)) common.set(name, (common.get(name) ?? 0) + u95);
      else independent += u95 * u95;
    }
  }
  if (numbers.length === 0) return missing('nothing to add');
  return measured(value, [{ name: 'each on its own', u95: Math.sqrt(independent) }, ...[...common].map(([name, u95]) => ({ name, u95 }))]);
}

const NONE: ReadonlySet<string> = new Set();

/**
 * Slope area of a building's planes together: together where they are all there, else the sum of planes
 * that are each on their own.
 *
 * @param refused  Planes that do not count.
 */
export function slopeAreaOf(building: Building, refused: ReadonlySet<string> = NONE): Measured {
  const planes = building.roofPlanes.filter(({ id }) => !refused.has(id));
  const sum = sumOf(planes.map(({ slopeAreaM2 }) => slopeAreaM2));
  const together = building.roofArea?.slopeAreaM2;
  const fits = together !== undefined && isKnown(together) && isKnown(sum) && Math.abs(together.value - sum.value) <= SAME_SUM * sum.value;
  return fits ? together : sum;
}
