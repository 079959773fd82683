import { copyFileSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parseRecord } from '../../src/survey/validate-record.ts';
import { freshFolder, roofdatum, SAMPLE } from './run-command.ts';

/** Where the sample stands, for the sun. */
const PLACE = ['--latitude', '52', '--longitude', '4'];
const folder = mkdtempSync(join(tmpdir(), 'roofdatum-fit-'));
let record = '';

afterAll(() => rmSync(folder, { recursive: true, force: true }));
beforeAll(() => {
  expect(roofdatum('survey', SAMPLE, '--out', folder).status).toBe(0);
  record = join(folder, 'record.json');
});

function fit(from: string, ...flags: string[]) {
  const out = freshFolder();
  const { status, output, errors } = roofdatum('fit', from, '--out', out, ...PLACE, ...flags);
  expect(errors.split('\n').filter((line) => /fault/i.test(line))).toEqual([]);
  expect(status).toBe(0);
  return { out, output, text: readFileSync(join(out, 'record.json'), 'utf8') };
}

describe('fit', () => {
  it('takes shade from the cloud the record was made from: named, or beside the record; the same for every number of workers', () => {
    const named = fit(record, '--files', SAMPLE, '--workers', '0');
    expect(named.output).toContain('Shade: from the record and the measured cloud, 1 file.');
    expect(fit(record, '--files', SAMPLE, '--workers', '2').text).toBe(named.text);
    const beside = freshFolder();
    copyFileSync(record, join(beside, 'record.json'));
    copyFileSync(SAMPLE, join(beside, 'harbour-works.las'));
    expect(fit(join(beside, 'record.json')).text).toBe(named.text);
  }, 120_000);

  it('says that only the record throws shade when its files are not at hand', () => {
    const { output, text } = fit(record);
    expect(output).toContain('only what the record itself holds throws shade');
    expect(output).toContain('harbour-works.las');
    const { layout } = parseRecord(text, 'record.json');
    expect(layout!.assumptions!.some((sentence) => sentence.includes('from the record alone'))).toBe(true);
  });

  it('writes a table of all buildings and a plan beside the record', () => {
    const { out, output, text } = fit(record, '--files', SAMPLE, '--need-kwh', '20000');
    expect(readdirSync(out).toSorted()).toEqual(['fit-buildings.csv', 'fit-plan.svg', 'record.json']);
    const { layout, buildings } = parseRecord(text, 'record.json');
    const rows = readFileSync(join(out, 'fit-buildings.csv'), 'utf8').trim().split('\r\n').map((row) => row.split(','));
    expect(rows.length).toBe(1 + buildings.length);
    expect(rows.slice(1).reduce((sum, row) => sum + Number(row[rows[0]!.indexOf('modules')]), 0)).toBe(layout!.count);
    expect(readFileSync(join(out, 'fit-plan.svg'), 'utf8').match(/class="module"/g)?.length).toBe(layout!.count);
    expect(output).toContain('licensed person decide');
    // 20 000 kWh over what one module yields a year, by hand.
    const needed = (20000 * layout!.count) / layout!.yearlyEnergyKwh.value!;
    expect(output).toContain(`all of it would take ${needed.toFixed(1)} ±`);
  });

  it('says in one line what is wrong with rules, and leaves nothing behind', () => {
    const own = freshFolder();
    const path = join(own, 'own.json');
    const rules = { schema: 'roofdatum-rules/1', name: 'own', source: { title: 'none', edition: 'none', date: 'none', where: 'none' }, caution: 'test', rules: [{ kind: 'edge-setback', edges: ['eave', 'roof'], distanceM: 0.3, along: 'plan', reason: 'edge', because: 'test' }] };
    writeFileSync(path, JSON.stringify(rules));
    const out = freshFolder();
    const refused = (named: string) => roofdatum('fit', record, '--out', out, ...PLACE, '--rules', named);
    const bad = refused(path);
    expect(bad.status).toBe(2);
    expect(bad.errors.trim().split('\n')).toEqual([expect.stringMatching(/own\.json: rules\.0\.edges is \["eave","roof"\], expected a list of some of eave/)]);
    const unknown = refused('residential');
    expect(unknown.status).toBe(2);
    expect(unknown.errors).toContain('"residential" is neither a file nor a shipped set (residential-fire-access');
    expect(readdirSync(out)).toEqual([]);
    writeFileSync(path, JSON.stringify({ ...rules, rules: [{ ...rules.rules[0], edges: ['eave'] }] }));
    expect(fit(record, '--rules', path).text).toContain('"name": "own"');
  });

  it('leaves steep planes that face north empty, as facing away in the table and as said; with 0 they come back', () => {
    const counts = (...flags: string[]) => {
      const { out, output, text } = fit(record, ...flags);
      const { layout, buildings } = parseRecord(text, 'record.json');
      const north = new Set(buildings.flatMap(({ roofPlanes }) => roofPlanes).filter(({ pitchDeg, azimuthDeg }) => pitchDeg.value! > 30 && Math.cos((azimuthDeg.value! * Math.PI) / 180) > 0.9).map(({ id }) => id));
      const [head, ...rows] = readFileSync(join(out, 'fit-buildings.csv'), 'utf8').trim().split('\r\n').map((row) => row.split(','));
      const away = rows.reduce((sum, row) => sum + Number(row[head!.indexOf('lost_facing_away_m2')]), 0);
      const northM2 = buildings.flatMap(({ roofPlanes }) => roofPlanes).reduce((sum, { id, slopeAreaM2 }) => sum + (north.has(id) ? slopeAreaM2.value! : 0), 0);
      return { planes: north.size, onNorth: layout!.modules.filter(({ plane }) => north.has(plane)).length, count: layout!.count, away, northM2, output };
    };
    const usual = counts('--costs');
    // The four cottages.
    expect(usual).toMatchObject({ planes: 4, onNorth: 0, output: expect.stringContaining("less than 0.6 of the level's light in a year") });
    expect(usual.away).toBeCloseTo(usual.northM2, 2);
    expect(usual.count).toBeGreaterThan(0);
    const all = counts('--least-plane-yield', '0');
    expect(all.away).toBe(0);
    expect(all.onNorth).toBeGreaterThan(10);
    expect(all.count - all.onNorth).toBe(usual.count);
    const { status, errors } = roofdatum('fit', record, '--out', freshFolder(), '--least-plane-yield', '60');
    expect(status).toBe(2);
    expect(errors).toContain('least-plane-yield: is 60, expected 0 to 1');
  });

  it('losses by every reason and the usable area add up to each building in the table', () => {
    const { out } = fit(record, '--rules', 'wind-edge-zones', '--workers', '0');
    const [head, ...rows] = readFileSync(join(out, 'fit-buildings.csv'), 'utf8').trim().split('\r\n').map((row) => row.split(','));
    const lost = head!.flatMap((name, i) => (name.startsWith('lost_') ? [i] : []));
    expect(lost.map((i) => head![i])).toEqual(['edge', 'obstruction', 'access', 'shade', 'too_small', 'too_steep', 'facing_away', 'beneath', 'height_unknown'].map((reason) => `lost_${reason}_m2`));
    for (const row of rows) expect(lost.reduce((sum, i) => sum + Number(row[i]), Number(row[head!.indexOf('usable_m2')]))).toBeCloseTo(Number(row[head!.indexOf('roof_slope_m2')]), 2);
  });

  it('refuses files the record was not made from', () => {
    const { status, errors } = roofdatum('fit', record, '--out', freshFolder(), ...PLACE, '--files', record);
    expect(status).toBe(2);
    expect(errors).toContain('is a file the record was made from');
  });
});
