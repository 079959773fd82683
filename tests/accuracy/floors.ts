import type { HeadlineValue } from './headline.ts';
import type { CaseResult } from './run-case.ts';

/**
 * What the short run must not fall below: measured on its own roofs, less a margin for a machine that rounds differently. A
 * better method raises a floor; nothing lowers one without a reason written here. Intervals that hold too often are too wide:
 * their width has a floor of its own.
 */
const FLOORS: Readonly<Record<string, number>> = {
  'planes of 2 m² and more: completeness': 99,
  'planes of 2 m² and more: correctness': 99,
  'pitch, planes of 10 m² and more: error at 95 %': 0.2,
  'slope area, planes of 10 m² and more: error at 95 %': 1,
  'outline sides of 3 m and more: bias': 0.06,
  'outline sides of 3 m and more: rms': 0.3,
  'those but where planes meet below 3°: rms': 0.16,
  'corners: rms': 0.9,
  'corners of no such side: rms': 0.5,
  'edge kind right': 98,
  'obstructions 20 spacings wide and more: recall': 95,
  'false obstructions per roof': 0.3,
  '95 % intervals that hold the truth, all quantities': 94,
  'the quantity whose 95 % intervals hold least': 90,
  'the quantity whose 95 % intervals hold most: lower binomial bound': 99,
  'median width of pitch intervals over the oracle': 1.4,
};

/** One line for each figure on the wrong side of its floor (of a range, below its lower end), and for each survey that failed. */
export function belowFloors(values: readonly HeadlineValue[], results: readonly CaseResult[]): string[] {
  const short = values.flatMap(({ headline: h, value }) => {
    const floor = FLOORS[h.name];
    if (floor === undefined) return [];
    if (value === null) return [`${h.name}: no value, floor ${floor} ${h.unit}`];
    const passes = h.better === 'less' ? value <= floor : value >= floor;
    return passes ? [] : [`${h.name}: ${value.toFixed(h.digits)} ${h.unit}, floor ${floor}`];
  });
  return [...short, ...results.flatMap((r) => (r.failure ? [`${r.name}: ${r.failure}`] : []))];
}
