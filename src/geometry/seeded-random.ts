import { cos, log } from './same-math.ts';
/**
 * Repeatable random numbers (mulberry32, T. Ettinger 2017, public domain): equal seeds give equal draws on every platform.
 */
export interface SeededRandom {
  /** 0 <= value < 1. */
  uniform(): number;
  /** Mean 0, standard deviation 1. */
  normal(): number;
}

export function seededRandom(seed: number): SeededRandom {
  let state = seed >>> 0;
  const uniform = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
  // Box & Muller 1958; 1 - uniform keeps the logarithm away from zero.
  const normal = (): number => Math.sqrt(-2 * log(1 - uniform())) * cos(2 * Math.PI * uniform());
  return { uniform, normal };
}
