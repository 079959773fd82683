import { expect, it } from 'vitest';
import { finishCell } from '../../../../src/cloud/finish-cell.ts';
import { labelCell, PLANE_NUMBERS } from '../../../../src/find/voxels/label-cell.ts';
import { sumVoxels } from '../../../../src/find/voxels/sum-voxels.ts';

const grid = { origin: [0, 0] as const, cellSize: 1, columns: 1, rows: 1 };
const voxels = { size: 0.5, perCell: 2 };
const fragment = {
  column: 0, row: 0, pointCount: 4, positions: Float32Array.of(0.1, 0.1, 2, 0.6, 0.1, 2.01, 0.2, 0.7, 2.3, 0.9, 0.9, 1.99),
  colours: null, intensity: null, classification: null,
};

/** One level plane at 2 m, label 7, tolerance 5 cm, offered to every voxel. */
function labelled(shared: boolean) {
  const cell = finishCell(grid, [fragment], shared);
  const { count, columns, levels } = sumVoxels({ cell, voxels });
  const planes = new Float64Array(PLANE_NUMBERS);
  planes.set([7, 0, 0, 1, 0.05, 0, 0, 2, 0]);
  const candidateFirst = Uint32Array.from({ length: count + 1 }, (_, k) => k);
  return { cell, labels: labelCell({ cell, voxels, columns, levels, candidateFirst, candidates: new Uint16Array(count), interior: new Uint8Array(count), planes }).labels };
}

it('labels points within the tolerance of a plane, wherever they stand in memory', () => {
  const { cell, labels } = labelled(false);
  expect(Array.from(labels, (label, i) => [Math.round(100 * cell.positions[3 * i + 2]!), label]).sort()).toEqual([[199, 7], [200, 7], [201, 7], [230, 0]]);
  expect(labels.buffer).toBeInstanceOf(ArrayBuffer);
});

it('leaves labels in shared memory where the positions are', () => {
  const { labels } = labelled(true);
  expect(labels.buffer).toBeInstanceOf(SharedArrayBuffer);
  expect([...labels]).toEqual([...labelled(false).labels]);
});
