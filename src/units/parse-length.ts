import { metres, type Metres } from './quantity.ts';

/** Exact by definition since 1959: 1 inch = 25.4 mm. [m] */
export const METRES_PER_INCH = 0.0254;
export const METRES_PER_FOOT = 0.3048;

const METRIC: Readonly<Record<string, number>> = { m: 1, mm: 0.001, cm: 0.01 };
const NUMBER = String.raw`\d+(?:\.\d+)?`;
const INCHES = String.raw`(?:(\d+)\s+(\d+)\/(\d+)|(\d+)\/(\d+)|(${NUMBER}))`;
const METRIC_LENGTH = new RegExp(String.raw`^(${NUMBER}(?:e-?\d+)?)\s*(mm|cm|m)$`);
const FEET_AND_INCHES = new RegExp(String.raw`^(?:(${NUMBER})\s*(?:'|′|ft|feet|foot))?\s*-?\s*(?:${INCHES}\s*(?:"|″|''|in|inch|inches))?$`);

/**
 * Reads a written length: `7.42 m`, `312 mm`, `12' 6 1/2"`, `12 ft 6 in`, `3/4"`. Feet are international feet.
 *
 * @throws RangeError that says what was expected.
 */
export function parseLength(text: string): Metres {
  const trimmed = text.trim().replace(/[’]/g, "'").replace(/[”]/g, '"');
  const negative = /^[-−]/.test(trimmed);
  const written = negative ? trimmed.slice(1).trim() : trimmed;
  const size = metricLength(written) ?? feetAndInches(written);
  if (size === null) throw new RangeError(`"${text}" is not a length, expected for example 7.42 m, 312 mm or 12' 6 1/2"`);
  return metres(negative ? -size : size);
}

function metricLength(text: string): number | null {
  const match = METRIC_LENGTH.exec(text);
  return match ? Number(match[1]) * METRIC[match[2]!]! : null;
}

function feetAndInches(text: string): number | null {
  const match = FEET_AND_INCHES.exec(text);
  if (!match) return null;
  const [, feet, whole, over, under, over2, under2, plain] = match;
  const hasInches = [whole, over2, plain].some((part) => part !== undefined);
  if (feet === undefined && !hasInches) return null;
  if (Number(under ?? 1) === 0 || Number(under2 ?? 1) === 0) return null;
  const fraction = over !== undefined ? Number(over) / Number(under) : over2 !== undefined ? Number(over2) / Number(under2) : 0;
  const inches = Number(whole ?? plain ?? 0) + fraction;
  return Number(feet ?? 0) * METRES_PER_FOOT + inches * METRES_PER_INCH;
}
