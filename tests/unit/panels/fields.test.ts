import { describe, expect, test } from 'vitest';
import { evidenceOf, sharesOf } from '../../../src/panels/evidence.ts';
import { tapeables, tapeReadingsOf, typedReading } from '../../../src/panels/fields.ts';
import { partNames } from '../../../src/roof/part-names.ts';
import { doStep, startHistory, undo } from '../../../src/survey/history.ts';
import { InputError } from '../../../src/units/input-error.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const record = gableRecord();
const [eave] = tapeables(record, partNames(record));
const typed = (text: string) => typedReading(eave!, text, 1, 'A.K.', '2026-05-01', record.frame.origin);

describe('what stands behind the sum of a roof', () => {
  test('are the planes of a building together, in parts, with what is taken for granted and where that comes from', () => {
    const own = record.buildings[0]!;
    const parts = [{ name: 'rim', u95: 0.3 }, { name: 'scale', u95: 0.14 }];
    const slopeAreaM2 = { value: 100 * Math.SQRT2, u95: Math.hypot(0.3, 0.14), parts };
    const together = { ...record, buildings: [{ ...own, roofArea: { slopeAreaM2, planAreaM2: own.roofArea!.planAreaM2 } }] };
    const { number, method, notes, assumed, better } = evidenceOf(together, 'b1:roof')!;
    expect(number).toBe(slopeAreaM2);
    expect(method).toContain('All 2 roof planes together, within one outline');
    expect(notes.join(' ')).toContain('Seen from above they cover 100');
    expect(assumed).toContain('lengths true to 0.5 mm per metre (not stated, so the usual)');
    expect(assumed).not.toContain('level to');
    expect(better).toBe('A tape along one eave would settle the edges and the scale.');
    // One building is the site.
    expect(evidenceOf(together, 'site:roof')!.number).toBe(slopeAreaM2);
    const stated = { ...together, madeBy: { ...together.madeBy, options: { control: { scale: 0.0001 } } } };
    expect(evidenceOf(stated, 'b1:roof')!.assumed).toContain('lengths true to 0.1 mm per metre (as stated)');
    const refused = { ...together, decisions: [{ at: '', by: 'A.K.', what: 'refuse', about: 'b1.p2' } as const] };
    expect(evidenceOf(refused, 'b1:roof')).toMatchObject({ number: { value: 50 * Math.SQRT2 }, method: 'One roof plane alone.' });
    expect(evidenceOf(together, 'b9:roof')).toBeNull();
  });

  test('a part of nothing is not told', () => {
    expect(sharesOf([{ name: 'roof', u95: 0 }, { name: 'top', u95: 0.02 }]).map(({ name, share }) => [name, share])).toEqual([['top', 1]]);
  });
});

describe('what the tape said', () => {
  test('ends are source coordinates, the name says what was taped', () => {
    expect(typed('9.98')).toEqual({ id: 'T1', kind: 'distance', ends: [[500_000, 6_000_000, 3], [500_010, 6_000_000, 3]], value: 9.98, sigma: 0.005, by: 'A.K.', at: '2026-05-01', note: 'eave E1' });
  });

  test('a bare number is metres, a comma is a point, units may stand', () => {
    expect(['9,98', '9.98 m', '9980 mm'].map((text) => typed(text).value)).toEqual([9.98, 9.98, 9.98]);
    // 32 ft 9 in = 393 in of 25.4 mm.
    expect(typed("32' 9\"").value).toBeCloseTo(9.9822, 9);
    // What was not written in metres is kept beside them.
    expect(['9,98', '9.98 m', '9980 mm', "32' 9\""].map((text) => typed(text).written)).toEqual([undefined, undefined, '9980 mm', "32' 9\""]);
    expect(typedReading(eave!, '32,5', 1, '', '', record.frame.origin, undefined, { word: 'ft', metres: 0.3048 })).toMatchObject({ value: 9.906, written: '32,5 ft' });
  });

  test('what is no length is refused in words', () => {
    expect(() => typed('about ten')).toThrow(InputError);
  });

  test('instrument and conditions go with it, under the rules of a list', () => {
    const noted = { temperatureC: '31', tensionN: '80', sectionMm2: '2,4', spanM: '', massKgPerM: '' };
    const use = { device: 'steel-tape-2', held: 'slope', noted } as const;
    expect(typedReading(eave!, '9.98', 1, '', '', record.frame.origin, use)).toMatchObject({ device: 'steel-tape-2', conditions: { temperatureC: 31, tensionN: 80, sectionMm2: 2.4 } });
    const typedWith = (more: object) => () => typedReading(eave!, '9.98', 1, '', '', record.frame.origin, { ...use, noted: { ...noted, ...more } });
    expect(typedWith({ spanM: '5' })).toThrow('reading: span_m: sag needs tension_n and mass_kg_m as well');
    expect(typedWith({ temperatureC: '200' })).toThrow('reading: temperature_c: 200 is not from -40 to 80');
    expect(typedWith({ riseM: '12' })).toThrow('reading: rise_m: 12 is not less than the length');
    expect(typedWith({ tensionN: 'much' })).toThrow('tension: "much" is not a number');
    // A bare rise is in the unit in use, as the length itself is: 10 ft and 30 ft.
    expect(typedReading(eave!, '30', 1, '', '', record.frame.origin, { ...use, noted: { riseM: '10' } }, { word: 'ft', metres: 0.3048 })).toMatchObject({ value: 9.144, conditions: { riseM: 3.048 } });
  });

  test('a pitch is read in degrees, and what has no place yet has no ends', () => {
    const choices = tapeables(record, partNames(record));
    const pitch = choices.find(({ name }) => name === 'pitch of p1')!;
    expect(typedReading(pitch, '44.5°', 2, '', '', record.frame.origin)).toMatchObject({ kind: 'pitch', value: 44.5, sigma: 0.2 });
    expect(pitch.ends[0]![2]).toBeGreaterThan(3);
    expect(typedReading(choices.at(-1)!, '1.2', 3, '', '', record.frame.origin).ends).toEqual([]);
  });

  test('readings are those of the last check that stands', () => {
    const check = (...texts: string[]) => ({ title: 'tape', at: '', command: { kind: 'check-tape', readings: texts.map(typed), toleranceM: 0.03 } }) as const;
    const history = doStep(doStep(startHistory(record), check('9.98')), check('9.98', '9.99'));
    expect(tapeReadingsOf(history)).toHaveLength(2);
    expect(tapeReadingsOf(undo(history))).toHaveLength(1);
    expect(tapeReadingsOf(undo(undo(history)))).toEqual([]);
  });
});

describe('evidence', () => {
  test('every number of every part is found by its key', () => {
    for (const key of ['b1.p1:pitchDeg', 'b1.p1:slopeAreaM2', 'b1.e1:slopeLengthM', 'b1.o1:heightAboveRoofM', 'b1.o1:planAreaM2']) {
      expect(evidenceOf(record, key)?.number.value, key).not.toBeNull();
    }
    expect(evidenceOf(record, 'b9.p9:pitchDeg')).toBeNull();
    expect(evidenceOf(record, 'b1.p1:nothing')).toBeNull();
  });

  test('sentences of a plane follow the unit in use: 0.3048 m is a foot', () => {
    const said = (length: 'm' | 'mm' | 'ft-in'): string => {
      const of = gableRecord();
      const [building] = of.buildings;
      const [plane, ...others] = building!.roofPlanes;
      const evidence = { method: 'fitted to its points', noiseM: 0.01, covariance: [], centroid: [0, 0, 0] as const, correlationLengthM: 0.3048, effectivePointCount: 10, notes: ['A hole of 12 mm stays.'] };
      return (({ method, notes }) => `${method} ${notes.join(' ')}`)(evidenceOf({ ...of, buildings: [{ ...building!, roofPlanes: [{ ...plane!, evidence }, ...others] }] }, `${plane!.id}:pitchDeg`, { length, pitch: 'deg' })!);
    };
    expect(said('ft-in')).toContain('over 1 ft: 5000 points count as 10. A hole of 0.47 in stays.');
    expect(said('mm')).toContain('over 300 mm: 5000 points count as 10. A hole of 12 mm stays.');
    expect(said('m')).toBe(said('mm'));
  });

  test('shares are shares of variance: 3 and 4 of 5 are 36 and 64 of 100', () => {
    expect(sharesOf([{ name: 'a', u95: 3 }, { name: 'b', u95: 4 }])).toEqual([{ name: 'b', u95: 4, share: 0.64 }, { name: 'a', u95: 3, share: 0.36 }]);
  });
});
