import type { OpenSurvey } from './refit-order.ts';
import type { Refit } from './refit-building.ts';

/** Labels of all points as they stand after corrections, and the plane of each label. */
export interface ShownLabels {
  readonly labels: readonly Uint16Array[];
  readonly planeIds: readonly (string | null)[];
}

/** One building's last refit, with the cells it was made from, as `column,row`. */
export interface StandingRefit {
  readonly refit: Refit;
  readonly cells: readonly string[];
  readonly ownLabels: readonly number[];
}

/**
 * The survey's labels with those of corrected buildings in their place. New labels of each building follow those of the
 * one before, since every refit counts on from the survey's own.
 */
export function shownLabels({ cloud, labels }: Pick<OpenSurvey, 'cloud' | 'labels'>, planeIds: readonly (string | null)[], refits: readonly StandingRefit[]): ShownLabels {
  const shown = labels.slice();
  const ids = planeIds.slice();
  const place = new Map(cloud.cells.map(({ column, row }, i) => [`${column},${row}`, i]));
  const surveyed = planeIds.length;
  for (const { refit, cells, ownLabels } of refits) {
    const shift = ids.length - surveyed;
    const count = refit.planes.length / 4 - surveyed;
    for (let label = 0; label < count; label++) ids.push(null);
    for (const label of ownLabels) ids[label] = null;
    const own = new Map(refit.planeIds.map(([label, plane]) => [label >= surveyed ? label + shift : label, plane]));
    for (const [label, plane] of own) ids[label] = plane;
    cells.forEach((key, c) => {
      const i = place.get(key);
      if (i === undefined) return;
      const [before, after] = [labels[i]!, refit.labels[c]!];
      // An array that stays is one the drawing need not take up again.
      if (after.every((label, k) => label === before[k])) return;
      const changed = shown[i] === before ? before.slice() : shown[i]!;
      // Only what this building's edits changed: another building may share the cell.
      for (let k = 0; k < after.length; k++) if (after[k] !== before[k]) changed[k] = after[k]! >= surveyed ? after[k]! + shift : after[k]!;
      shown[i] = changed;
    });
  }
  return { labels: shown, planeIds: ids };
}
