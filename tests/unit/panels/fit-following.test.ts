import { expect, it } from 'vitest';
import { staleBuildings } from '../../../src/panels/fit-following.ts';
import { recordHarbour } from '../../fixtures/record-harbour.ts';

const record = recordHarbour();
const [first, second] = record.buildings as readonly [(typeof record.buildings)[number], (typeof record.buildings)[number]];
const thing = record.buildings.flatMap((building) => building.obstructions.map(({ id }) => ({ id, building: building.id })))[0]!;
const made = (refused: readonly string[] = []) => ({ buildings: record.buildings, refused: new Set(refused), wishes: null, first: [] });

it('names the buildings that changed since modules were placed, and the one thing that went', () => {
  expect(staleBuildings(record, new Set(), made())).toEqual([]);
  expect(staleBuildings(record, new Set([thing.id]), made())).toEqual([{ id: thing.building, gone: thing.id }]);
  expect(staleBuildings(record, new Set(), made([thing.id]))).toEqual([{ id: thing.building, gone: null }]);
  expect(staleBuildings(record, new Set([second.roofPlanes[0]!.id]), made())).toEqual([{ id: second.id, gone: null }]);
  const changed = { ...record, buildings: [{ ...first }, ...record.buildings.slice(1)] };
  expect(staleBuildings(changed, new Set(), made())).toEqual([{ id: first.id, gone: null }]);
  expect(staleBuildings({ ...record, buildings: [...record.buildings] }, new Set(), made())).toEqual([]);
});
