import { describe, expect, it } from 'vitest';
import type { Measured } from '../../../src/units/measured.ts';
import type { RoofRecord } from '../../../src/roof/record.ts';
import { surveyPoints } from '../../accuracy/survey-points.ts';
import { makeScene } from '../../../sample-data/generator/scene.ts';
import { NOISE_MODELS } from '../../../sample-data/generator/scene-options.ts';
import { optionsOfRecord, type SurveyOptions } from '../../../src/survey/survey-options.ts';

const recordWith = (options: Record<string, unknown>): RoofRecord => ({ madeBy: { version: '', options, seed: 1 } }) as unknown as RoofRecord;

describe('the options of a record', () => {
  it('make the survey again', () => {
    const options: SurveyOptions = { unit: 'ft', crs: 'EPSG:2056', up: 'z', gsdCm: 2.4, within: '0,0 1,0 1,1', salvage: true, meshSpacingM: 0.05, seed: 3, control: { tiltDeg: 0.1 } };
    expect(optionsOfRecord(recordWith({ ...options }))).toEqual(options);
    expect(optionsOfRecord(recordWith({}))).toEqual({});
  });

  it('leave out what is none', () => {
    expect(optionsOfRecord(recordWith({ unit: 'furlong', up: 3, gsdCm: -1, salvage: 'yes', control: { tiltDeg: 'x' }, other: 1 }))).toEqual({});
  });
});

describe('stated control', () => {
  it('replaces the default parts of every number, and nothing else', async () => {
    const scene = makeScene('gable', 5, { ...NOISE_MODELS.white, spacing: 0.08 });
    const [usual, worse] = await Promise.all([{}, { control: { tiltDeg: 0.5, scale: 0.01, northDeg: 2 } }].map((options) => surveyPoints(scene.positions, scene.colours, options)));
    const planeOf = (record: RoofRecord) => record.buildings[0]!.roofPlanes[0]!;
    const part = (number: Measured, name: string) => ('parts' in number ? number.parts?.find((p) => p.name === name)?.u95 : undefined);
    expect(planeOf(worse!).pitchDeg.value).toBe(planeOf(usual!).pitchDeg.value);
    expect(part(planeOf(usual!).pitchDeg, 'tilt')).toBeCloseTo(0.02, 6);
    expect(part(planeOf(worse!).pitchDeg, 'tilt')).toBeCloseTo(0.5, 6);
    expect(part(planeOf(worse!).azimuthDeg, 'north')).toBeCloseTo(2, 6);
    const edge = worse!.buildings[0]!.edges[0]!.slopeLengthM;
    expect(part(edge, 'scale')).toBeCloseTo(0.01 * edge.value!, 6);
    expect(worse!.madeBy.options['control']).toEqual({ tiltDeg: 0.5, scale: 0.01, northDeg: 2 });
  });
});
