import { describe, expect, it } from 'vitest';
import { selectAt } from '../../../src/geometry/order-statistic.ts';
import { seededRandom } from '../../../src/geometry/seeded-random.ts';

describe('element at a place of sorted values', () => {
  const random = seededRandom(7);
  const lists = {
    'random': Float64Array.from({ length: 501 }, () => random.normal()),
    'few different values': Float64Array.from({ length: 300 }, () => Math.floor(4 * random.uniform())),
    'sorted already': Float64Array.from({ length: 64 }, (_, i) => i),
    'the other way round': Float64Array.from({ length: 65 }, (_, i) => -i),
    'all equal': new Float64Array(40).fill(2),
    'one': Float64Array.of(3),
  };
  it.each(Object.entries(lists))('is the one that sorting puts there: %s', (_, values) => {
    const sorted = values.slice().sort();
    for (let place = 0; place < values.length; place++) expect(selectAt(values.slice(), place)).toBe(sorted[place]);
  });

  it('leaves nothing larger before it and nothing smaller behind', () => {
    const values = lists.random.slice();
    const middle = selectAt(values, 250);
    expect(values.subarray(0, 250).every((value) => value <= middle)).toBe(true);
    expect(values.subarray(251).every((value) => value >= middle)).toBe(true);
    expect(selectAt(values, 125, 0, 250)).toBe(lists.random.slice().sort()[125]);
  });
});
