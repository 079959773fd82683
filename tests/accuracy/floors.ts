import type { HeadlineValue } from './headline.ts';
import type { CaseResult } from './run-case.ts';

/**
 * What the short run must not fall below: measured on its own roofs, less a margin for a machine that rounds differently.
 * A better method raises a floor; nothing lowers one without a reason written here.
 */
const FLOORS: Readonly<Record<string, number>> = {
  'planes of 2 m² and more: completeness': 98,
  'planes of 2 m² and more: correctness': 97,
  'pitch, planes of 10 m² and more: error at 95 %': 0.35,
  'slope area, planes of 10 m² and more: error at 95 %': 10,
  'outline sides of 3 m and more: bias': 0.1,
  'outline sides of 3 m and more: rms': 1.1,
  'corners: rms': 1,
  'edge kind right': 97,
  'obstructions 20 spacings wide and more: recall': 95,
  'false obstructions per roof': 1.5,
};

/** One line for each figure on the wrong side of its floor, and for each survey that failed. */
export function belowFloors(values: readonly HeadlineValue[], results: readonly CaseResult[]): string[] {
  const short = values.flatMap(({ headline: h, value }) => {
    const floor = FLOORS[h.name];
    if (floor === undefined) return [];
    if (value === null) return [`${h.name}: no value, floor ${floor} ${h.unit}`];
    const passes = h.better === 'more' ? value >= floor : value <= floor;
    return passes ? [] : [`${h.name}: ${value.toFixed(h.digits)} ${h.unit}, floor ${floor}`];
  });
  return [...short, ...results.flatMap((r) => (r.failure ? [`${r.name}: ${r.failure}`] : []))];
}
