import { describe, expect, it } from 'vitest';
import type { Vector3 } from '../../../../src/geometry/vector.ts';
import type { RoofRecord } from '../../../../src/roof/record.ts';
import type { TapeReading } from '../../../../src/site/tape-reading.ts';
import { checkTape } from '../../../../src/survey/tape/check-tape.ts';
import { validateRecord } from '../../../../src/survey/validate-record.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';

const ORIGIN = gableRecord().frame.origin;
const at = (...[x, y, z]: Vector3): Vector3 => [x + ORIGIN[0], y + ORIGIN[1], z + ORIGIN[2]];

let counted = 0;
const reading = (kind: TapeReading['kind'], ends: readonly Vector3[], value: number | null, more: Partial<TapeReading> = {}): TapeReading =>
  ({ id: `T${++counted}`, kind, ends: ends.map((end) => at(...end)), value, sigma: 0.005, by: 'A.K.', at: '2026-05-02', note: '', ...more });

/** The gable as if its model were stretched or moved: its readings stay true. */
const checked = (readings: readonly TapeReading[], record: RoofRecord = gableRecord()) => {
  const tape = checkTape(record, readings);
  validateRecord({ ...record, tape }, 'record with a tape check');
  return tape;
};

describe('a reading on the gable of 10 by 10 m at 45°', () => {
  const SLOPE = Math.hypot(5, 5);

  it('along the rake agrees with the slope length, held level with the distance in plan', () => {
    const tape = checked([reading('distance', [[10, 0, 3], [10, 5, 8]], SLOPE), reading('distance', [[10, 0, 3], [10, 5, 8]], 5, { conditions: { held: 'level' } })]);
    expect(tape.readings.map(({ verdict, residualM }) => [verdict, residualM.value])).toEqual([['agrees', expect.closeTo(0, 9)], ['agrees', expect.closeTo(0, 9)]]);
    expect(tape.readings[1]!.note).toBe('corner of p1 to corner of p1, p2, level');
  });

  it('along the slope with its rise is reduced to level, and shows what was read and each correction', () => {
    const [row] = checked([reading('distance', [[10, 0, 3], [10, 5, 8]], SLOPE, { device: 'steel-tape-2', conditions: { riseM: 5, temperatureC: 35 } })]).readings;
    expect(row!.readM).toBe(SLOPE);
    expect(row!.corrections!.map(({ name, amountM }) => [name, amountM])).toEqual([['temperature', expect.closeTo(11.6e-6 * SLOPE * 15, 9)], ['slope', expect.closeTo(5 - SLOPE, 2)]]);
    expect(row!.tapeM.value).toBeCloseTo(Math.sqrt((SLOPE * (1 + 11.6e-6 * 15)) ** 2 - 25), 9);
    expect(row!.oursM.value).toBeCloseTo(5, 9);
    expect(row).toMatchObject({ device: 'steel tape, class II', toleranceStated: '± 2.1 mm at 7.07 m (Directive 2014/32/EU, annex X (MI-008), chapter I, table 1)' });
    expect(row!.tapeM).toMatchObject({ parts: [{ name: 'instrument' }, { name: 'temperature of the tape' }, { name: 'slope of the tape' }] });
  });

  it('without a place is kept and said to have none', () => {
    const tape = checked([reading('distance', [], 5)]);
    expect(tape.readings[0]).toMatchObject({ verdict: 'not-compared' });
    expect(tape.notes).toContain('1 reading has no place yet.');
    expect(tape.taken).toHaveLength(1);
  });

  it('from end to end of an edge is not asked for again', () => {
    expect(checked([reading('distance', [[0, 0, 3], [10, 0, 3]], 10)]).next.map(({ edge }) => edge)).not.toContain('b1.e1');
    expect(checked([reading('distance', [[0, 5, 8], [10, 5, 8]], 10)]).next.map(({ edge }) => edge)).toContain('b1.e1');
  });

  it('says what a set of equal lengths cannot show', () => {
    const notes = checked([reading('distance', [[0, 0, 3], [10, 0, 3]], 10), reading('distance', [[0, 5, 8], [10, 5, 8]], 10), reading('distance', [[0, 10, 3], [10, 10, 3]], 10)]).notes!.join(' ');
    expect(notes).toMatch(/cannot show a shift or a turn/);
    expect(notes).toMatch(/a scale error and another idea of the edge look the same/);
    expect(notes).toMatch(/a wrong height scale cannot show/);
  });

  it('names the blunder', () => {
    const tape = checked([
      reading('distance', [[0, 0, 3], [10, 0, 3]], 10), reading('distance', [[0, 5, 8], [10, 5, 8]], 10), reading('distance', [[0, 10, 3], [10, 10, 3]], 10),
      reading('distance', [[10, 0, 3], [10, 5, 8]], SLOPE, { id: 'wrong', value: SLOPE + 0.3 }), reading('distance', [[0, 0, 3], [0, 5, 8]], SLOPE), reading('distance', [[0, 10, 3], [0, 5, 8]], SLOPE),
    ]);
    expect(tape.explanation).toMatchObject({ kind: 'blunder', why: expect.stringMatching(/It is wrong\.$/) });
  });
});

describe('surveyed checkpoints', () => {
  const CORNERS: readonly Vector3[] = [[0, 0, 3], [10, 0, 3], [10, 10, 3], [0, 10, 3], [0, 5, 8], [10, 5, 8]];
  const SHIFT: Vector3 = [0.06, -0.04, 0.03];
  /** Survey places when ours lies shifted, and 0.2 % too large about the middle of the corners. */
  const surveyed = (k: number): TapeReading[] =>
    CORNERS.map((corner, i) => {
      const middle: Vector3 = [5, 5, 14 / 3];
      const place = corner.map((v, axis) => middle[axis]! + (v - SHIFT[axis]! - middle[axis]!) / (1 + k)) as unknown as Vector3;
      return { ...reading('checkpoint', [place], null), id: `C${i + 1}`, sigma: 0.004 };
    });

  it('show shift and scale with their ±, and no tilt where there is none', () => {
    const { site } = checked(surveyed(0.002));
    expect([site!.eastM, site!.northM, site!.upM].map(({ value }) => value)).toEqual(SHIFT.map((v) => expect.closeTo(v, 3)));
    expect(site!.scale.value).toBeCloseTo(0.002, 4);
    for (const number of [site!.tiltNorthDeg, site!.tiltEastDeg, site!.turnDeg]) expect(Math.abs(number.value!)).toBeLessThan(0.001);
    expect(site!.degreesOfFreedom).toBe(11);
    expect(Math.max(...site!.vectors.flatMap(({ afterM }) => afterM.map((v) => Math.abs(v!))))).toBeLessThan(0.001);
    expect(site!.vectors[0]!.beforeM[0]).toBeCloseTo(0.06, 1);
  });

  it('compute the figures of the standards, and claim no conformity from six points', () => {
    const { accuracy } = checked(surveyed(0));
    expect(accuracy!.rmseM).toEqual(SHIFT.map((v) => expect.closeTo(Math.abs(v), 9)));
    expect(accuracy!.nssdaVertical95M).toBeCloseTo(1.96 * 0.03, 9);
    expect(accuracy!.statement).toMatch(/6 checkpoints: NSSDA \(1998\) asks for 20, ASPRS Edition 2 \(2023\) asks for 30; computed, but no conformity may be claimed/);
  });

  it('two of them tell shift and scale, and say why not the tilt', () => {
    const { site } = checked(surveyed(0).slice(0, 2));
    expect(site!.scale.value).not.toBeNull();
    expect(site!.tiltNorthDeg).toEqual({ value: null, why: 'two checkpoints do not tell it, three corners do' });
  });

  it('on a plane tell its height alone; on an edge nothing along it', () => {
    const tape = checked([{ ...reading('checkpoint', [[5, 2.5, 5.56]], null), id: 'P' }, { ...reading('checkpoint', [[5, -0.04, 3.02]], null), id: 'E' }]);
    expect(tape.readings.map(({ id }) => id)).toEqual(['P-square', 'E-y', 'E-z']);
    // 6 cm above a plane of 45°, measured square to it.
    expect(tape.readings[0]!.residualM.value).toBeCloseTo(-0.06 * Math.SQRT1_2, 9);
    expect(tape.readings[1]!.residualM.value).toBeCloseTo(0.04, 9);
    expect(tape.site!.vectors.find(({ id }) => id === 'E')!.beforeM[0]).toBeNull();
  });

  it('farther off than they are looked for can be told where they lie', () => {
    const far = { ...reading('checkpoint', [[-0.8, 0, 3]], null), id: 'C1' };
    expect(checked([far]).readings[0]).toMatchObject({ id: 'C1', verdict: 'not-compared', note: expect.stringMatching(/^nothing was found within 0\.3 m/) });
    const told = { ...far, ends: [...far.ends, at(0, 0, 3)] };
    expect(checked([told]).site!.eastM.value).toBeCloseTo(0.8, 9);
  });
});
