import { effect } from '@preact/signals';
import type { Cell, Cloud } from '../cloud/cloud.ts';
import { stretchCell, stretchedCloud, stretchesOf } from '../survey/correct/correct-cloud.ts';
import type { Store } from './store.ts';

/**
 * Keeps the drawn points in step with corrections of the whole model: a scale that was applied moves them with the
 * record, undo brings back the measured ones. Works cell by cell, so that the page stays awake.
 */
export function keepPointsCorrected(store: Store): void {
  /** By stretched cloud: the one it was made from, and what was done to it. */
  const made = new WeakMap<Cloud, { readonly measured: Cloud; readonly key: string }>();
  let run = 0;
  effect(() => {
    const [shown, corrections] = [store.points.value, store.record.value?.corrections ?? []];
    const current = ++run;
    if (!shown) return;
    const stretches = stretchesOf(corrections);
    const key = JSON.stringify(stretches);
    const { measured, key: has } = made.get(shown.cloud) ?? { measured: shown.cloud, key: '[]' };
    if (key === has) return;
    if (stretches.length === 0) return void (store.points.value = { ...shown, cloud: measured });
    void (async () => {
      const cells: Cell[] = [];
      for (const cell of measured.cells) {
        if (current !== run) return;
        cells.push(stretchCell(cell, stretches));
        await new Promise((resume) => setTimeout(resume));
      }
      if (current !== run) return;
      const cloud = stretchedCloud(measured, cells, stretches);
      made.set(cloud, { measured, key });
      store.points.value = { ...shown, cloud };
    })();
  });
}
