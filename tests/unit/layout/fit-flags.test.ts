import { describe, expect, it } from 'vitest';
import { FIT_FLAGS, fitOptionsFromFlags } from '../../../src/layout/fit-flags.ts';
import { USUAL_FIT_OPTIONS } from '../../../src/layout/fit-options.ts';
import { parseMonthly } from '../../../src/layout/parse-monthly.ts';
import { recordPlace } from '../../../src/layout/record-place.ts';
import { recordHarbour } from '../../fixtures/record-harbour.ts';

const from = (flags: Record<string, string>, files = {}) =>
  fitOptionsFromFlags({ text: (name) => flags[name], has: (name) => name in flags }, { rules: null, monthly: null, ...files }, null);

describe('fit options from flags', () => {
  it('none given: the usual ones', () => expect(from({})).toEqual(USUAL_FIT_OPTIONS));

  it('each is read', () => {
    const got = from({ module: '1.0x2.0', style: 'most', tilt: '12', rack: 'east-west', households: '3', 'use-kwh': '2700', 'least-plane-yield': '0.45', latitude: '-41.3', longitude: '174.8', rules: 'wind-edge-zones', linke: '2.5', 'no-shade': '', draws: '20', costs: '' });
    expect(got).toMatchObject({
      module: { widthM: 1, heightM: 2, ratedPowerW: 446 }, style: 'most', rack: { kind: 'east-west', tiltDeg: 12, rowGapM: null }, needKwh: 8100,
      latitudeDeg: -41.3, leastPlaneYield: 0.45, shade: false, draws: 20, costs: true, rules: { name: 'Edge zones of the wind standard' },
    });
    expect(got.linkeTurbidity).toEqual(Array.from({ length: 12 }, () => 2.5));
  });

  it.each([
    [{ module: '1.7' }, '--module: "1.7" is not a size'],
    [{ style: 'dense' }, '--style: "dense" is not known, expected aligned, rows, most'],
    [{ households: '2' }, '--use-kwh: is missing'],
    [{ 'use-kwh': '2' }, '--households: is missing'],
    [{ households: '2.5', 'use-kwh': '10' }, 'households: is 2.5'],
    [{ 'need-kwh': '5', households: '1', 'use-kwh': '1' }, '--need-kwh: is a whole need'],
    [{ facing: '90' }, '--facing: is only understood with --tilt'],
    [{ rules: 'nowhere' }, '--rules: "nowhere" is neither a file nor a shipped set'],
    [{ latitude: 'north' }, '--latitude: "north" is not a number'],
  ] as [Record<string, string>, string][])('refuses %o', (flags, message) => expect(() => from(flags)).toThrow(message));

  it('explains every flag in words', () => {
    expect(new Set(FIT_FLAGS.map((flag) => flag.name)).size).toBe(FIT_FLAGS.length);
    for (const { about } of FIT_FLAGS) expect(about.length).toBeGreaterThan(10);
  });
});

describe('monthly irradiation', () => {
  const text = (rows: string) => `# made up\nmonth,kwh_m2\n${rows}`;
  const year = Array.from({ length: 12 }, (_, i) => `${12 - i},${(12 - i) * 10}`).join('\r\n');

  it('twelve rows in any order', () => expect(parseMonthly(text(year), 'a.csv')).toEqual([10, 20, 30, 40, 50, 60, 70, 80, 90, 100, 110, 120]));

  it.each([
    ['month;x\n', 'line 1 is "month;x", expected the header month,kwh_m2'],
    [text('13,5'), 'line 3, month is "13"'],
    [text('1,'), 'line 3, kwh_m2 is ""'],
    [text('1,-4'), 'line 3, kwh_m2 is "-4"'],
    [text('1,4\n1,5'), 'line 4, month 1 stands twice'],
    [text('1,4'), 'month 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 missing'],
  ])('refuses %j', (bad, message) => expect(() => parseMonthly(bad, 'a.csv')).toThrow(`a.csv: ${message}`));
});

it('finds the place of a record from its projection, and says when it cannot', async () => {
  // Map coordinates of the fixture lie near Wellington harbour: 41 south, 175 east.
  const place = await recordPlace(recordHarbour());
  expect(place!.latitudeDeg).toBeCloseTo(-41.3, 0);
  expect(place!.longitudeDeg).toBeCloseTo(174.8, 0);
  expect(await recordPlace(recordHarbour({ crs: null }))).toBeNull();
  expect(await recordPlace(recordHarbour({ crs: 'EPSG:2154' }))).toBeNull();
});
