/**
 * Elementary functions that give the same bits on every engine.
 *
 * ECMAScript leaves the last digits of `Math.sin` and its like to the engine, and browsers and Node round them otherwise; a
 * record must not depend on where it was made. Only additions, multiplications, divisions and square roots are used here, which
 * IEEE 754 rounds in one way. `Math.hypot`, `Math.sqrt` and squares may be used directly: they agree between engines.
 *
 * Methods and coefficients: fdlibm 5.3 (Sun Microsystems 1993, "permission to use, copy, modify, and distribute this software is
 * freely granted"); errors below 2 units in the last place (tested).
 */

/** pi/2 in three parts of 33 bits, and what is left of it. */
const HALF_PI_1 = 1.5707963267341256;
const HALF_PI_2 = 6.077100506303966e-11;
const HALF_PI_3 = 2.0222662487111665e-21;
const HALF_PI_REST = 8.4784276603689e-32;
const QUARTERS = 0.6366197723675814;
/** Beyond it the reduction loses digits. [rad] */
const LARGEST_ANGLE = 1e5;

/** @param angle  At most 1e5 in size. [rad] */
export function sin(angle: number): number {
  const { quarter, high, low } = reduce(angle);
  const value = quarter & 1 ? cosineNear0(high, low) : sineNear0(high, low);
  return quarter & 2 ? -value : value;
}

/** @param angle  At most 1e5 in size. [rad] */
export function cos(angle: number): number {
  const { quarter, high, low } = reduce(angle);
  const value = quarter & 1 ? sineNear0(high, low) : cosineNear0(high, low);
  return (quarter + 1) & 2 ? -value : value;
}

/** @param angle  At most 1e5 in size. [rad] */
export const tan = (angle: number): number => sin(angle) / cos(angle);

/** @returns -pi/2 to pi/2; NaN beyond ±1. [rad] */
export const asin = (x: number): number => atan2(x, Math.sqrt((1 - x) * (1 + x)));

/** @returns 0 to pi; NaN beyond ±1. [rad] */
export const acos = (x: number): number => atan2(Math.sqrt((1 - x) * (1 + x)), x);

/** Where a tangent belongs: below 7/16 as it is, else as its distance from 1/2, 1, 3/2 or infinity. */
const ARCS: readonly { readonly from: number; readonly of: (t: number) => number; readonly high: number; readonly low: number }[] = [
  { from: 2.4375, of: (t) => -1 / t, high: 1.5707963267948966, low: 6.123233995736766e-17 },
  { from: 1.1875, of: (t) => (t - 1.5) / (1 + 1.5 * t), high: 0.982793723247329, low: 1.3903311031230998e-17 },
  { from: 0.6875, of: (t) => (t - 1) / (t + 1), high: 0.7853981633974483, low: 3.061616997868383e-17 },
  { from: 0.4375, of: (t) => (2 * t - 1) / (2 + t), high: 0.4636476090008061, low: 2.2698777452961687e-17 },
  { from: 0, of: (t) => t, high: 0, low: 0 },
];
const ARC_SERIES = [
  0.3333333333333293, -0.19999999999876483, 0.14285714272503466, -0.11111110405462356,
  0.09090887133436507, -0.0769187620504483, 0.06661073137387531, -0.058335701337905735,
  0.049768779946159324, -0.036531572744216916, 0.016285820115365782,
] as const;

/** @returns -pi/2 to pi/2. [rad] */
export function atan(tangent: number): number {
  const size = Math.abs(tangent);
  if (!(size < 2 ** 66)) return Number.isNaN(tangent) ? NaN : Math.sign(tangent) * (Math.PI / 2);
  const arc = ARCS.find(({ from }) => size >= from)!;
  const t = arc.of(size);
  const square = t * t;
  const value = arc.high - (t * square * series(ARC_SERIES, square) - arc.low - t);
  return tangent < 0 || Object.is(tangent, -0) ? -value : value;
}

/** Direction of (x, y) from the x axis, signs of zeros as in ECMAScript. @returns -pi to pi. [rad] */
export function atan2(y: number, x: number): number {
  if (Number.isNaN(x) || Number.isNaN(y)) return NaN;
  const negative = y < 0 || Object.is(y, -0);
  if (!Number.isFinite(x) && !Number.isFinite(y)) return (negative ? -1 : 1) * (x > 0 ? Math.PI / 4 : (3 * Math.PI) / 4);
  const backwards = x < 0 || Object.is(x, -0);
  const angle = y === 0 ? 0 : x === 0 ? Math.PI / 2 : atan(Math.abs(y / x));
  const upper = backwards ? Math.PI - (angle - 1.2246467991473532e-16) : angle;
  return negative ? -upper : upper;
}

const LN2_HIGH = 0.6931471803691238;
const LN2_LOW = 1.9082149292705877e-10;
const EXP_SERIES = [
  0.16666666666666602, -0.0027777777777015593, 6.613756321437934e-05, -1.6533902205465252e-06, 4.1381367970572385e-08,
] as const;

export function exp(x: number): number {
  if (Number.isNaN(x)) return NaN;
  if (x > 709.782712893384) return Infinity;
  if (x < -745.1332191019411) return 0;
  const k = Math.round(x / Math.LN2);
  const high = x - k * LN2_HIGH;
  const low = k * LN2_LOW;
  const r = high - low;
  const square = r * r;
  const c = r - square * series(EXP_SERIES, square);
  return timesPowerOf2(1 - (low - (r * c) / (2 - c) - high), k);
}

const LOG_SERIES = [
  0.6666666666666735, 0.3999999999940942, 0.2857142874366239, 0.22222198432149784, 0.1818357216161805,
  0.15313837699209373, 0.14798198605116586,
] as const;

/** Natural logarithm. */
export function log(x: number): number {
  if (!(x > 0)) return x === 0 ? -Infinity : NaN;
  if (x === Infinity) return Infinity;
  const { mantissa, exponent } = split(x);
  const f = mantissa - 1;
  const s = f / (2 + f);
  const square = s * s;
  const half = 0.5 * f * f;
  const rest = s * (half + square * series(LOG_SERIES, square));
  return exponent * LN2_HIGH - (half - (rest + exponent * LN2_LOW) - f);
}

/** Logarithm to base 10: a power of ten gives its exponent exactly. */
export function log10(x: number): number {
  const value = log(x) / Math.LN10;
  const whole = Math.round(value);
  return Math.abs(value - whole) < 1e-14 * Math.max(1, Math.abs(whole)) ? whole : value;
}

/** Power of a positive base, to about 1e-15 times the size of its logarithm. */
export function pow(base: number, exponent: number): number {
  if (Number.isInteger(exponent) && Math.abs(exponent) <= 64) return exponent < 0 ? 1 / wholePower(base, -exponent) : wholePower(base, exponent);
  return exp(exponent * log(base));
}

function wholePower(base: number, exponent: number): number {
  let power = 1;
  for (let square = base, left = exponent; left > 0; left >>= 1, square *= square) if (left & 1) power *= square;
  return power;
}

/** Sum of coefficient i times x to the i. */
function series(coefficients: readonly number[], x: number): number {
  let sum = 0;
  for (let i = coefficients.length - 1; i >= 0; i--) sum = sum * x + coefficients[i]!;
  return sum;
}

/** The angle less whole quarter turns, as a sum of two numbers (Cody & Waite in three steps). */
function reduce(angle: number): { quarter: number; high: number; low: number } {
  if (Math.abs(angle) > LARGEST_ANGLE) throw new RangeError(`Expected an angle within ±${LARGEST_ANGLE} rad, got ${angle}.`);
  const quarter = Math.round(angle * QUARTERS);
  const first = angle - quarter * HALF_PI_1;
  const second = first - quarter * HALF_PI_2;
  const lost = quarter * HALF_PI_2 - (first - second);
  const rest = quarter * HALF_PI_3 + quarter * HALF_PI_REST + lost;
  const high = second - rest;
  return { quarter: quarter & 3, high, low: second - high - rest };
}

const SINE_SERIES = [
  0.00833333333332249, -0.0001984126982985795, 2.7557313707070068e-06, -2.5050760253406863e-08, 1.58969099521155e-10,
] as const;
const SINE_FIRST = -0.16666666666666632;

function sineNear0(x: number, low: number): number {
  const square = x * x;
  const cube = square * x;
  return x - (square * (0.5 * low - cube * series(SINE_SERIES, square)) - low - cube * SINE_FIRST);
}

const COSINE_SERIES = [
  0.0416666666666666, -0.001388888888887411, 2.480158728947673e-05, -2.7557314351390663e-07, 2.087572321298175e-09,
  -1.1359647557788195e-11,
] as const;

function cosineNear0(x: number, low: number): number {
  const square = x * x;
  const half = 0.5 * square;
  const whole = 1 - half;
  return whole + (1 - whole - half + (square * square * series(COSINE_SERIES, square) - x * low));
}

const view = new DataView(new ArrayBuffer(8));

/** x = mantissa × 2^exponent with the mantissa between sqrt(1/2) and sqrt(2). */
function split(x: number): { mantissa: number; exponent: number } {
  const scaled = x < 2.2250738585072014e-308 ? x * 2 ** 54 : x;
  view.setFloat64(0, scaled);
  const bits = view.getUint32(0);
  view.setUint32(0, (bits & 0xfffff) | 0x3ff00000);
  const mantissa = view.getFloat64(0);
  const exponent = (bits >>> 20) - 1023 - (scaled === x ? 0 : 54);
  return mantissa > Math.SQRT2 ? { mantissa: mantissa / 2, exponent: exponent + 1 } : { mantissa, exponent };
}

function timesPowerOf2(x: number, exponent: number): number {
  const half = Math.trunc(exponent / 2);
  return x * powerOf2(half) * powerOf2(exponent - half);
}

/** @param exponent  -1022 to 1023. */
const powerOf2 = (exponent: number): number => POWERS_OF_2[exponent + 1023]!;

const POWERS_OF_2 = Float64Array.from({ length: 2047 }, (_, i) => {
  view.setUint32(0, i << 20);
  view.setUint32(4, 0);
  return view.getFloat64(0);
});
