/** Seeded numbers; the same seed gives the same numbers everywhere. */
export interface Random {
  /** 0 <= value < 1. */
  next(): number;
  between(low: number, high: number): number;
  /** A whole number, low <= value <= high. */
  whole(low: number, high: number): number;
  pick<T>(list: readonly T[]): T;
  /** Mean 0, sigma 1. */
  normal(): number;
  /** A new independent stream. */
  fork(): Random;
}

const NORMAL_TABLE_SIZE = 1 << 16;
let normalTable: Float32Array | null = null;

/** Quantiles of the normal distribution at the middle of 65 536 equal shares: a draw costs one look-up. */
function normalQuantiles(): Float32Array {
  if (normalTable) return normalTable;
  const table = new Float32Array(NORMAL_TABLE_SIZE);
  for (let i = 0; i < NORMAL_TABLE_SIZE; i++) table[i] = normalQuantile((i + 0.5) / NORMAL_TABLE_SIZE);
  normalTable = table;
  return table;
}

/** Inverse of the normal distribution, by Newton steps on a numerical integral of it (Abramowitz & Stegun 1964, 26.2.17). */
function normalQuantile(share: number): number {
  const p = share < 0.5 ? share : 1 - share;
  const t = Math.sqrt(-2 * Math.log(p));
  // Start: Abramowitz & Stegun 26.2.23, error below 4.5e-4.
  let x = t - (2.515517 + 0.802853 * t + 0.010328 * t * t) / (1 + 1.432788 * t + 0.189269 * t * t + 0.001308 * t ** 3);
  for (let step = 0; step < 2; step++) x += (upperTail(x) - p) / (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI));
  return share < 0.5 ? -x : x;
}

/** Share of the normal distribution above x >= 0. */
export function upperTail(x: number): number {
  const k = 1 / (1 + 0.2316419 * x);
  const series = k * (0.31938153 + k * (-0.356563782 + k * (1.781477937 + k * (-1.821255978 + k * 1.330274429))));
  return (Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)) * series;
}

/** @param seed  Any whole number. */
export function makeRandom(seed: number): Random {
  let state = (Math.imul(seed | 0, 0x9e3779b1) ^ 0x6a09e667) | 0;
  const table = normalQuantiles();
  // 32-bit state with a strong final mix (the "mulberry" construction): ample for some ten million draws.
  const bits = (): number => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return (t ^ (t >>> 14)) >>> 0;
  };
  const next = (): number => bits() / 4294967296;
  for (let i = 0; i < 8; i++) bits();
  return {
    next,
    between: (low, high) => low + (high - low) * next(),
    whole: (low, high) => low + Math.floor(next() * (high - low + 1)),
    pick: (list) => list[Math.floor(next() * list.length)]!,
    normal: () => table[bits() >>> 16]!,
    fork: () => makeRandom(bits()),
  };
}
