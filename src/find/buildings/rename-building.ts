/**
 * Gives a building, or any part of one, another id: every id and every reference to it that begins with the old one.
 *
 * @param value  Plain data. @param from  `b7`, for ids `b7`, `b7.p1`, `b7.e12` …
 * @returns A copy; the same value when both ids are equal.
 */
export function renameBuilding<Value>(value: Value, from: string, to: string): Value {
  return from === to ? value : (renamed(value, from, to) as Value);
}

function renamed(value: unknown, from: string, to: string): unknown {
  if (typeof value === 'string') return value === from || value.startsWith(`${from}.`) ? to + value.slice(from.length) : value;
  if (Array.isArray(value)) return value.map((element) => renamed(element, from, to));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([key, field]) => [key, renamed(field, from, to)]));
}
