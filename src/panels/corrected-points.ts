import { effect } from '@preact/signals';
import type { Cell, Cloud } from '../cloud/cloud.ts';
import { movedCell, movedCloud } from '../survey/correct/correct-cloud.ts';
import { movesOf } from '../survey/correct/move-model.ts';
import type { Store } from './store.ts';

/**
 * Keeps the drawn points in step with corrections of the whole model: a scale or a tilt that was applied moves them with the
 * record, undo brings back the measured ones. Works cell by cell, so that the page stays awake.
 */
export function keepPointsCorrected(store: Store): void {
  /** By moved cloud: the one it was made from, and what was done to it. */
  const made = new WeakMap<Cloud, { readonly measured: Cloud; readonly key: string }>();
  let run = 0;
  effect(() => {
    const [shown, record] = [store.points.value, store.record.value];
    const current = ++run;
    if (!shown) return;
    const moves = record ? movesOf(record.corrections ?? [], record.frame.gridToTrueDeg) : [];
    const key = JSON.stringify(moves);
    const { measured, key: has } = made.get(shown.cloud) ?? { measured: shown.cloud, key: '[]' };
    if (key === has) return;
    if (moves.length === 0) return void (store.points.value = { ...shown, cloud: measured });
    void (async () => {
      const cells: Cell[] = [];
      for (const cell of measured.cells) {
        if (current !== run) return;
        cells.push(movedCell(cell, moves));
        await new Promise((resume) => setTimeout(resume));
      }
      if (current !== run) return;
      const cloud = movedCloud(measured, cells, moves);
      made.set(cloud, { measured, key });
      store.points.value = { ...shown, cloud };
    })();
  });
}
