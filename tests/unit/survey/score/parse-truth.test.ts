import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { InputError } from '../../../../src/units/input-error.ts';
import { parseTruth } from '../../../../src/survey/score/truth.ts';
import { gableTruth } from '../../../fixtures/gable-truth.ts';

const spoiled = (change: (truth: any) => void): string => {
  const copy = structuredClone(gableTruth);
  change(copy);
  return JSON.stringify(copy);
};

describe('parseTruth', () => {
  test('reads what was written', () => {
    expect(parseTruth(JSON.stringify(gableTruth), 'a.json')).toEqual(gableTruth);
  });
  test('reads the truth beside the sample', () => {
    const truth = parseTruth(readFileSync(new URL('../../../../sample-data/harbour-works.truth.json', import.meta.url), 'utf8'), 'sample');
    expect(truth.planes.length).toBe(26);
  });
  test.each<[string, (truth: any) => void, string]>([
    ['another schema', (t) => { t.schema = 'x/2'; }, 'schema: expected "roofdatum-truth/1", got "x/2"'],
    ['a missing list', (t) => { delete t.edges; }, 'edges: expected a list'],
    ['a short ring', (t) => { t.planes[1].ring.length = 2; }, 'planes[1].ring: expected ring'],
    ['a normal that is not unit', (t) => { t.planes[0].normal = [0, 0, 2]; }, 'planes[0].normal: expected unit vector'],
    ['a height in words', (t) => { t.obstructions[0].heightAboveRoofM = 'high'; }, 'obstructions[0].heightAboveRoofM: expected number, got "high"'],
    ['no spacing', (t) => { t.sampling.spacingM = 0; }, 'sampling.spacingM'],
  ])('names the field: %s', (_, change, message) => {
    expect(() => parseTruth(spoiled(change), 'a.json')).toThrow(InputError);
    expect(() => parseTruth(spoiled(change), 'a.json')).toThrow(`a.json: ${message}`);
  });
  test('refuses what is not JSON', () => {
    expect(() => parseTruth('{', 'a.json')).toThrow(InputError);
  });
});
