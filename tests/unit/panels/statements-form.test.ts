import { describe, expect, it } from 'vitest';
import { formOf, optionsOf, type StatementsForm } from '../../../src/panels/statements-form.ts';
import type { SurveyOptions } from '../../../src/survey/survey-options.ts';

const empty: StatementsForm = formOf({});

describe('what the files do not say', () => {
  it('states nothing when nothing is written', () => {
    expect(optionsOf(empty, {})).toEqual({});
  });

  it('gives back the options it was filled from, with the region and the seed', () => {
    const options: SurveyOptions = { unit: 'us-ft', crs: 'EPSG:2056', up: 'y', gsdCm: 2.4, meshSpacingM: 0.05, salvage: true, control: { tiltDeg: 0.1, scale: 0.0003, northDeg: 0.2 }, within: '0,0 1,0 1,1', seed: 4 };
    expect(optionsOf(formOf(options), options)).toEqual(options);
  });

  it('reads a bare code and a decimal comma', () => {
    expect(optionsOf({ ...empty, crs: ' 25832 ', gsdCm: '1,8' }, {})).toEqual({ crs: 'EPSG:25832', gsdCm: 1.8 });
  });

  it.each([
    [{ crs: 'somewhere' }, 'projection: "somewhere" is no EPSG code'],
    [{ gsdCm: 'two' }, 'ground sample distance: "two" was given, expected a number from 0.01 to 1000'],
    [{ tiltDeg: '-1' }, 'level to: "-1" was given'],
    [{ scaleMmPerM: '2000' }, 'lengths true to: "2000" was given, expected a number from 0.001 to 100'],
  ])('refuses %o with the field named', (fields, message) => {
    expect(() => optionsOf({ ...empty, ...fields }, {})).toThrow(message);
  });
});
