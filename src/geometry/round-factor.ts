import { log10, pow } from './same-math.ts';

/** The largest of 1, 2 or 5 times a power of ten that is not above a positive value. */
export function roundFactor(value: number): number {
  const power = pow(10, Math.floor(log10(value)));
  return [5, 2, 1].map((digit) => digit * power).find((round) => round <= value * (1 + 1e-12)) ?? power;
}

/** A round factor that draws the longest of some vectors at most `longest` long; 1 where all are zero. */
export function exaggeration(vectors: readonly (readonly (number | null)[])[], longest: number): number {
  const size = vectors.reduce((high, [x, y]) => Math.max(high, Math.hypot(x ?? 0, y ?? 0)), 0);
  return size > 0 ? roundFactor(longest / size) : 1;
}
