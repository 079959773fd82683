import { describe, expect, it } from 'vitest';
import { deviceSigma, aboutDevice } from '../../../src/site/tape-device.ts';
import { correctReading, pullCorrection, sagCorrection, slopeCorrectionByAngle, slopeCorrectionByRise, temperatureCorrection } from '../../../src/reading/tape-corrections.ts';
import type { TapeConditions, TapeReading } from '../../../src/site/tape-reading.ts';

const FOOT = 0.3048;
const POUND_FORCE = 4.4482216152605;

describe('corrections against worked examples', () => {
  // Course "Engineering Surveying" CON3321, tutorial 2 with suggested answers, question 2 (after the example of Schofield
  // and Breach, Engineering Surveying): a 30 m tape of 0.90 kg tested hanging at 20 °C and 100 N, used on a level bed at
  // 18 °C and 155 N, read 24.984 m; expansion 11e-6, section 2 mm², modulus 210e3 N/mm², g 9.807. Answer 24.995 m.
  it('a standard base on a level bed', () => {
    const sagAtTest = sagCorrection(30, 30, (0.9 * 9.807) / 30, 100);
    expect(sagAtTest).toBeCloseTo(-0.0097, 4);
    // Tested hanging, the tape is too long on the flat by its sag.
    const standardisation = (-sagAtTest * 24.984) / 30;
    expect(standardisation).toBeCloseTo(0.0081, 4);
    const true_ = 24.984 + standardisation + temperatureCorrection(24.984, 18, 20, 11e-6) + pullCorrection(24.984, 155, 100, 2e-6, 210e9);
    expect(true_).toBeCloseTo(24.995, 3);
  });

  // Lecture "Taping corrections" (slideplayer.com/slide/13085605), worked in feet and pounds.
  it('temperature: 368.50 ft at 22 °F with a tape true at 68 °F and 6.5e-6 per °F is 368.39 ft', () => {
    const celsius = (fahrenheit: number): number => ((fahrenheit - 32) * 5) / 9;
    const correction = temperatureCorrection(368.5 * FOOT, celsius(22), celsius(68), 6.5e-6 * 1.8) / FOOT;
    expect(correction).toBeCloseTo(-0.11, 2);
    expect(368.5 + correction).toBeCloseTo(368.39, 2);
  });
  it('sag: three pulls of 100 ft and one of 48.75 ft of a 2.8 lb tape, −0.71 ft at 12 lb and −0.31 ft at 18 lb', () => {
    const weight = (0.028 * POUND_FORCE) / FOOT;
    const sag = (pounds: number): number => sagCorrection(348.75 * FOOT, 100 * FOOT, weight, pounds * POUND_FORCE) / FOOT;
    expect(sag(12)).toBeCloseTo(-0.71, 2);
    expect(sag(18)).toBeCloseTo(-0.31, 2);
    // Six pulls of 50 ft and one of 48.75 ft at 12 lb.
    expect(sagCorrection(348.75 * FOOT, 50 * FOOT, weight, 12 * POUND_FORCE) / FOOT).toBeCloseTo(-0.2, 2);
  });
  it('pull: 18 lb for 12 lb on 100 ft of 0.015 square inches, 0.0014 ft', () => {
    const squareInch = 0.0254 ** 2;
    expect(pullCorrection(100 * FOOT, 18 * POUND_FORCE, 12 * POUND_FORCE, 0.015 * squareInch, (29e6 * POUND_FORCE) / squareInch) / FOOT).toBeCloseTo(0.0014, 4);
  });
  it('slope: 300.00 ft at 5°, which rises 26.15 ft, is 298.86 ft in plan', () => {
    expect(300 + slopeCorrectionByAngle(300, 5)).toBeCloseTo(298.86, 2);
    expect(300 + slopeCorrectionByRise(300, 26.15)).toBeCloseTo(298.86, 2);
  });
  // National Programme on Technology Enhanced Learning (India), Surveying, module 3, example 9-6: 119.946 m.
  it('slope: 120 m on a slope of 3 percent', () => expect(120 + slopeCorrectionByRise(120, 0.03 * 120)).toBeCloseTo(119.946, 3));
});

describe('maximum permissible errors', () => {
  // Directive 2014/32/EU, annex X (MI-008), chapter I, table 1: a 0.1 / 0.3 / 0.6, b 0.1 / 0.2 / 0.4, c 0.1 / 0.2 / 0.3 mm;
  // L rounded up to the next whole metre. Text as on legislation.gov.uk/uksi/2016/1153/schedule/1I.
  it.each([['steel-tape-1', 1, 0.3], ['steel-tape-1', 9.2, 1.2], ['steel-tape-2', 9.2, 2.5], ['steel-tape-2', 10, 2.5], ['steel-tape-3', 9.2, 4.9], ['steel-tape-3', 29.99, 12.9]] as const)('%s at %d m: ± %d mm', (device, length, millimetres) => {
    expect(1000 * aboutDevice(device).tolerance(length)).toBeCloseTo(millimetres, 9);
  });
  it('a limit counts as a uniform spread (GUM 4.3.7)', () => {
    expect(deviceSigma('steel-tape-3', 29.99)).toBeCloseTo(Math.hypot(0.0129 / Math.sqrt(3), 0.005), 9);
  });
});

describe('a reading with all its corrections', () => {
  const read = (conditions: TapeConditions, more: Partial<TapeReading> = {}): TapeReading => ({ id: 'T1', kind: 'distance', ends: [], value: 20, sigma: 0.005, by: '', at: '', note: '', conditions, ...more });

  it('lists each with its formula, and keeps what was read', () => {
    const corrected = correctReading(read({ temperatureC: 35, tensionN: 80, sectionMm2: 2.5, spanM: 10, massKgPerM: 0.02 }))!;
    expect(corrected.corrections.map(({ name }) => name)).toEqual(['temperature', 'pull', 'sag']);
    expect(corrected.corrections.every(({ formula, source }) => /[=×]/.test(formula) && source !== '')).toBe(true);
    const weight = 0.02 * 9.80665;
    expect(corrected.value).toBeCloseTo(20 + 11.6e-6 * 20 * 15 + (30 * 20) / (2.5e-6 * 200e9) - (2 * weight ** 2 * 1000) / (24 * 6400), 9);
    expect(corrected.isLevel).toBe(false);
  });
  it('is reduced to level by its rise, after the steel', () => {
    const corrected = correctReading(read({ temperatureC: 30, riseM: 8 }))!;
    expect(corrected.value).toBeCloseTo(Math.sqrt((20 + 11.6e-6 * 200) ** 2 - 64), 9);
    expect(corrected.isLevel).toBe(true);
  });
  it('is level already when it was held level', () => expect(correctReading(read({ held: 'level' }))).toMatchObject({ value: 20, isLevel: true, corrections: [] }));
  it('of a laser is not corrected for steel', () => expect(correctReading(read({ temperatureC: 40 }, { device: 'laser' }))!.corrections).toEqual([]));
  it('of a pitch is left alone', () => expect(correctReading(read({ temperatureC: 40 }, { kind: 'pitch', value: 31 }))).toMatchObject({ value: 31, corrections: [] }));
});
