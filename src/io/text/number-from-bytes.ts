/** 10^0 to 10^22, all exact in a double. */
const POWERS = Float64Array.from({ length: 23 }, (_, exponent) => Number(`1e${exponent}`));
const EXACT_DIGITS = 15;

/**
 * Reads a decimal number from text bytes, correctly rounded (a whole number below 10^15 and a power of ten up to 10^22 are
 * exact, so that one division rounds once; W. Clinger 1990, "How to read floating point numbers accurately"; anything longer goes to
 * the language's own reading).
 *
 * @param start  First byte. @param end  One past the last.
 * @param decimalComma  True when a comma stands where others write a point.
 * @returns NaN for anything that is not a plain decimal number: words, hexadecimals, "nan", "inf", an empty text.
 */
export function numberFromBytes(bytes: Uint8Array, start: number, end: number, decimalComma = false): number {
  const point = decimalComma ? 44 : 46;
  let at = start;
  const negative = bytes[at] === 45;
  if (negative || bytes[at] === 43) at++;
  let mantissa = 0;
  let digits = 0;
  let seen = 0;
  let decimals = 0;
  for (let afterPoint = false; at < end; at++) {
    const byte = bytes[at]!;
    if (byte >= 48 && byte <= 57) {
      mantissa = mantissa * 10 + (byte - 48);
      if (mantissa !== 0) digits++;
      if (afterPoint) decimals++;
      seen++;
    } else if (byte === point && !afterPoint) {
      afterPoint = true;
    } else {
      break;
    }
  }
  if (seen === 0) return NaN;
  if (at === end && digits <= EXACT_DIGITS && decimals < POWERS.length) {
    const value = mantissa / POWERS[decimals]!;
    return negative ? -value : value;
  }
  const isExponent = at === end || bytes[at] === 69 || bytes[at] === 101;
  return isExponent ? slowly(bytes, start, end, decimalComma) : NaN;
}

function slowly(bytes: Uint8Array, start: number, end: number, decimalComma: boolean): number {
  let text = '';
  for (let at = start; at < end; at++) text += String.fromCharCode(bytes[at]!);
  const value = Number(decimalComma ? text.replace(',', '.') : text);
  return Number.isFinite(value) ? value : NaN;
}
