import { expect, test } from 'vitest';
import type { Cloud } from '../../../../src/cloud/cloud.ts';
import type { Refit } from '../../../../src/survey/correct/refit-building.ts';
import { shownLabels } from '../../../../src/survey/correct/shown-labels.ts';

/** Three cells in a row; the middle one holds points of two buildings. */
const cloud = { cells: [0, 1, 2].map((column) => ({ column, row: 0 })) } as unknown as Cloud;
const labels = [[1, 1, 0], [1, 2, 0], [2, 2, 2]].map((list) => Uint16Array.from(list));
const planeIds = [null, 'b1.p1', 'b2.p1'];
const refit = (changed: readonly (readonly number[])[], made: readonly (readonly [number, string])[]): Refit =>
  ({ labels: changed.map((list) => Uint16Array.from(list)), planes: new Float64Array(4 * 4), planeIds: made }) as unknown as Refit;

test('new labels of two buildings stay apart, also in a cell they share; untouched cells keep their arrays', () => {
  const shown = shownLabels({ cloud, labels }, planeIds, [
    { refit: refit([[3, 3, 0], [3, 2, 0]], [[3, 'b1.p2']]), cells: ['0,0', '1,0'], ownLabels: [1] },
    { refit: refit([[1, 3, 0], [2, 2, 2]], [[3, 'b2.p5'], [2, 'b2.p1']]), cells: ['1,0', '2,0'], ownLabels: [2] },
  ]);
  expect(shown.labels.map((list) => [...list])).toEqual([[3, 3, 0], [3, 4, 0], [2, 2, 2]]);
  expect(shown.planeIds).toEqual([null, null, 'b2.p1', 'b1.p2', 'b2.p5']);
  expect(shown.labels[2]).toBe(labels[2]);
  expect([...labels[1]!]).toEqual([1, 2, 0]);
});

test('without a correction it is what the survey gave', () => {
  expect(shownLabels({ cloud, labels }, planeIds, [])).toEqual({ labels, planeIds });
});
