/** Share q of the values lies at or below the result, linear between neighbours; null for none. */
export function quantile(values: readonly number[], q: number): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const at = q * (sorted.length - 1);
  const low = Math.floor(at);
  const high = Math.min(low + 1, sorted.length - 1);
  return sorted[low]! + (sorted[high]! - sorted[low]!) * (at - low);
}

export const meanOf = (values: readonly number[]): number | null =>
  values.length === 0 ? null : values.reduce((sum, v) => sum + v, 0) / values.length;

export const rmsOf = (values: readonly number[]): number | null =>
  values.length === 0 ? null : Math.sqrt(values.reduce((sum, v) => sum + v * v, 0) / values.length);

/** Sample standard deviation, n - 1; null below two values. */
export function sdOf(values: readonly number[]): number | null {
  if (values.length < 2) return null;
  const mean = meanOf(values)!;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1));
}

/** A share with its 95 % binomial interval (Wilson 1927, score interval). */
export interface Share {
  readonly hits: number;
  readonly of: number;
  /** null when there was nothing to count. */
  readonly share: number | null;
  readonly low: number;
  readonly high: number;
}

export function shareOf(hits: number, of: number): Share {
  if (of === 0) return { hits, of, share: null, low: 0, high: 1 };
  const z = 1.959964;
  const p = hits / of;
  const middle = (p + (z * z) / (2 * of)) / (1 + (z * z) / of);
  const half = (z / (1 + (z * z) / of)) * Math.sqrt((p * (1 - p)) / of + (z * z) / (4 * of * of));
  return { hits, of, share: p, low: Math.max(0, middle - half), high: Math.min(1, middle + half) };
}
