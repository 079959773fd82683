import { effect } from '@preact/signals';
import type { Cell } from '../cloud/cloud.ts';
import { stretchCell, stretchedCloud, stretchesOf } from '../survey/correct/correct-cloud.ts';
import type { Store, SurveyPoints } from './store.ts';

/**
 * Keeps the drawn points in step with corrections of the whole model: a scale that was applied moves them with the
 * record, undo brings back the measured ones. Works cell by cell, so that the page stays awake.
 */
export function keepPointsCorrected(store: Store): void {
  const measuredOf = new WeakMap<SurveyPoints, SurveyPoints>();
  let run = 0;
  effect(() => {
    const [shown, corrections] = [store.points.value, store.record.value?.corrections ?? []];
    const current = ++run;
    if (!shown) return;
    const measured = measuredOf.get(shown) ?? shown;
    const stretches = stretchesOf(corrections);
    const key = JSON.stringify(stretches);
    if (key === (keys.get(shown) ?? '[]')) return;
    if (stretches.length === 0) return void (store.points.value = measured);
    void (async () => {
      const cells: Cell[] = [];
      for (const cell of measured.cloud.cells) {
        if (current !== run) return;
        cells.push(stretchCell(cell, stretches));
        await new Promise((resume) => setTimeout(resume));
      }
      if (current !== run) return;
      const stretched = { ...measured, cloud: stretchedCloud(measured.cloud, cells, stretches) };
      measuredOf.set(stretched, measured);
      keys.set(stretched, key);
      store.points.value = stretched;
    })();
  });
}

/** Which stretches a set of points has. */
const keys = new WeakMap<SurveyPoints, string>();
