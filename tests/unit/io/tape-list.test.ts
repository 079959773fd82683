import { describe, expect, it } from 'vitest';
import { readTapeList, TAPE_LIST_HEADER, writeTapeList } from '../../../src/io/tape-list.ts';
import { deviceSigma } from '../../../src/site/tape-device.ts';

const OLD_HEADER = 'id,kind,x1,y1,z1,x2,y2,z2,value,unit,sigma_m,by,at,note';

/** A list of one good row and one row with the given cells. */
function faultOf(cells: Readonly<Record<string, string>>): string {
  const columns = TAPE_LIST_HEADER.split(',');
  const row = (values: Readonly<Record<string, string>>): string => columns.map((column) => values[column] ?? '').join(',');
  const { readings, faults } = readTapeList([TAPE_LIST_HEADER, row({ id: 'good', kind: 'distance', value: '3', unit: 'm' }), row({ id: 'T2', kind: 'distance', value: '8', unit: 'm', ...cells })].join('\n'), 'list.csv');
  expect(readings.map(({ id }) => id)).toEqual(['good']);
  expect(faults).toHaveLength(1);
  return faults[0]!;
}

describe('a list of readings', () => {
  it('is read with the plain header, in every unit', () => {
    const { readings, faults } = readTapeList([OLD_HEADER, `T1,distance,1,2,3,4,5,6,"12' 6 1/2""",ft-in,,AK,2026-05-02,eave`, 'T2,distance,,,,,,,7420,mm,0.003,,,', 'T3,pitch,1,2,3,,,,31.5,deg,,,,', 'T4,height-difference,1,2,3,4,5,6,10,ft,,,,'].join('\r\n'), 'list.csv');
    expect(faults).toEqual([]);
    expect(readings.map(({ value }) => value)).toEqual([12.5 * 0.3048 + 0.5 * 0.0254, 7.42, 31.5, 10 * 0.3048].map((value) => expect.closeTo(value, 12)));
    expect(readings.map(({ sigma }) => sigma)).toEqual([0.005, 0.003, 0.2, 0.005]);
    expect(readings[1]!.ends).toEqual([]);
  });

  it('keeps what was written down where metres are not what was read, and refuses two lengths for one', () => {
    const { readings } = readTapeList([OLD_HEADER, `T1,distance,,,,,,,"12' 4 1/2""",ft-in,,,,`, 'T2,distance,,,,,,,7420,mm,,,,', 'T3,distance,,,,,,,7.420,m,,,,', 'T4,distance,,,,,,,7.42,m,,,,', 'T5,pitch,1,2,3,,,,31.5,deg,,,,'].join('\n'), 'list.csv');
    expect(readings.map(({ written }) => written)).toEqual([`12' 4 1/2"`, '7420 mm', undefined, undefined, undefined]);
    // 12 feet of 0.3048 m and 4.5 inches of 25.4 mm, exact by definition (NIST SP 811, 2008, appendix B).
    expect(readings[0]!.value).toBeCloseTo(3.7719, 12);
    expect(readTapeList(writeTapeList(readings), 'again.csv')).toEqual({ readings, faults: [] });
    expect(faultOf({ value: '3.77', written: 'a dozen feet' })).toContain('row 3, column written: "a dozen feet" is not a length');
    expect(faultOf({ value: '3.77', written: '12 ft 5 in' })).toBe(`row 3, column written: "12 ft 5 in" is 3.7846 m, the value says 3.7700 m`);
  });

  it('takes the sigma of the instrument where none is given', () => {
    const { readings } = readTapeList([`${OLD_HEADER},device,temperature_c`, 'T1,distance,,,,,,,20,m,,,,,steel-tape-2,35', 'T2,distance,,,,,,,20,m,0.01,,,,laser,'].join('\n'), 'list.csv');
    expect(readings[0]).toMatchObject({ device: 'steel-tape-2', sigma: deviceSigma('steel-tape-2', 20), conditions: { temperatureC: 35 } });
    expect(readings[1]).toMatchObject({ device: 'laser', sigma: 0.01 });
    expect(readings[1]!.conditions).toBeUndefined();
  });

  it.each<[Record<string, string>, string]>([
    [{ device: 'yardstick' }, 'row 3, column device: "yardstick" is not known, expected steel-tape-1, steel-tape-2, steel-tape-3, laser, level, inclinometer, total-station, receiver'],
    [{ device: 'inclinometer' }, 'row 3, column device: "inclinometer" does not read a distance'],
    [{ temperature_c: 'hot' }, 'row 3, column temperature_c: "hot" is not a number'],
    [{ temperature_c: '250' }, 'row 3, column temperature_c: 250 is not from -40 to 80'],
    [{ span_m: '4' }, 'row 3, column span_m: sag needs tension_n and mass_kg_m as well'],
    [{ rise_m: '8' }, 'row 3, column rise_m: 8 is not less than the length'],
    [{ rise_m: '1', angle_deg: '4' }, 'row 3, column angle_deg: a rise is given already, one of the two is enough'],
    [{ held: 'flat' }, 'row 3, column held: "flat" is not known, expected slope or level'],
    [{ held: 'level', rise_m: '1' }, 'row 3, column held: a tape held level needs no rise and no angle'],
    [{ kind: 'height-difference', held: 'level' }, 'row 3, column held: does not fit a height-difference, only a distance'],
    [{ unit: 'foot' }, 'row 3, column unit: "foot" is not known, expected m, mm, ft, ft-in or deg'],
    [{ x1: '5', y1: '', z1: '3' }, 'row 3, column y1: "" is not a number'],
    [{ value: '-2' }, 'row 3, column value: -2 is not a length above 0'],
    [{ sigma_m: '0' }, 'row 3, column sigma_m: 0 is not above 0'],
    [{ kind: 'checkpoint', value: '', unit: '' }, 'row 3, column x1: is empty, a checkpoint needs x1, y1, z1'],
    [{ id: 'good' }, 'row 3, column id: "good" stands twice'],
  ])('names row and column of %j', (cells, fault) => expect(faultOf(cells)).toBe(fault));

  it('says which column it does not know, and reads the rest', () => {
    const { readings, faults } = readTapeList([`${OLD_HEADER},temprature_c`, 'T1,distance,,,,,,,20,m,,,,,35'].join('\n'), 'list.csv');
    expect(readings).toHaveLength(1);
    expect(faults).toEqual(['row 1, column temprature_c: is not known and was not read']);
  });

  it('reads semicolons and a byte order mark, as spreadsheets write', () => {
    expect(readTapeList(`\uFEFF${OLD_HEADER.replaceAll(',', ';')}\r\nT1;distance;;;;;;;7.4;m;;;;`, 'list.csv').readings).toHaveLength(1);
  });

  it('takes a comma for a decimal point where semicolons part the cells, and only there', () => {
    const semicolons = readTapeList(`${OLD_HEADER.replaceAll(',', ';')}\nT1;distance;571203,45;6020421;12,5;;;;7,425;m;0,004;A, K;;x,y`, 'list.csv').readings[0];
    expect(semicolons).toMatchObject({ ends: [[571203.45, 6020421, 12.5]], value: 7.425, sigma: 0.004, by: 'A, K', note: 'x,y' });
    expect(readTapeList(`${OLD_HEADER}\nT0,distance,,,,,,,5,m,,,,\nT1,distance,,,,,,,"1,234",m,,,,`, 'list.csv').faults).toEqual(['row 3, column value: "1,234" is not a number']);
  });

  it('comes back from its written form to the last digit', () => {
    const rows = ['T1,distance,512345.1234567,5612345.1,12.3,512350.2,5612340.9,12.4,7.123456789,m,,"A, K",2026-05-02T10:00:00Z,"north ""eave""",steel-tape-1,,1.25,,31,60,5,0.018,2.4,,,', 'T2,pitch,1,2,3,,,,31.5,deg,,,,,inclinometer,,,,,,,,,,,', 'C1,checkpoint,1,2,3,1.1,2.1,3.1,,,0.01,,,,receiver,,,,,,,,,,,'];
    const { readings, faults } = readTapeList([TAPE_LIST_HEADER, ...rows].join('\n'), 'list.csv');
    expect(faults).toEqual([]);
    expect(readTapeList(writeTapeList(readings), 'again.csv')).toEqual({ readings, faults: [] });
  });
});
