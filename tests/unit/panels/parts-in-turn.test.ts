import { expect, test } from 'vitest';
import { partInTurn } from '../../../src/panels/parts-in-turn.ts';
import { partNames } from '../../../src/roof/part-names.ts';
import type { RoofRecord } from '../../../src/roof/record.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const [gable] = gableRecord().buildings;
const twin = JSON.parse(JSON.stringify(gable).replaceAll('"b1', '"b2')) as typeof gable;
const record: RoofRecord = { ...gableRecord(), buildings: [gable!, twin!] };
const names = partNames(record);

/** All parts one after the other until the first comes round. */
function round(building: string | null, by: 1 | -1): string[] {
  const ids: string[] = [];
  for (let id: string | null = null; ; ) {
    const next: { readonly id: string } = partInTurn(record, names, building, id, by)!;
    if (next.id === ids[0]) return ids;
    ids.push((id = next.id));
  }
}

test('every part of a building has its turn: planes, then edges, then things, and round again', () => {
  const { roofPlanes, edges, obstructions, parapets, lowPoints } = gable!;
  const all = [roofPlanes, edges, obstructions, parapets, lowPoints].flatMap((list) => list.map(({ id }) => id));
  expect(all.length).toBeGreaterThan(3);
  expect(round('b1', 1)).toEqual(all);
  expect(round('b1', -1)).toEqual(all.toReversed());
});

test('of a whole site all buildings have theirs; with nothing there is nothing', () => {
  expect(round(null, 1)).toHaveLength(2 * round('b1', 1).length);
  expect(partInTurn(record, names, null, gable!.edges.at(0)!.id, 1)).toMatchObject({ building: 'b1', kind: 'edge' });
  expect(partInTurn({ ...record, buildings: [] }, names, null, null, 1)).toBeNull();
});
