import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { RoofRecord } from '../../src/roof/record.ts';
import { parseRecord } from '../../src/survey/validate-record.ts';
import { freshFolder, roofdatum, SAMPLE, SAMPLE_TRUTH } from './run-command.ts';

function survey(file: string, ...flags: string[]): { text: string; record: RoofRecord } {
  const out = freshFolder();
  const { status, errors } = roofdatum('survey', file, '--out', out, ...flags);
  expect(errors.split('\n').filter((line) => /fault|warning/i.test(line))).toEqual([]);
  expect(status).toBe(0);
  expect(readdirSync(out)).toEqual(['record.json']);
  const text = readFileSync(join(out, 'record.json'), 'utf8');
  return { text, record: parseRecord(text, 'record.json') };
}

/** The same points of a LAS file in another order; the header stays as it is. */
function shuffledLas(bytes: Buffer): Buffer {
  const start = bytes.readUInt32LE(96);
  const recordLength = bytes.readUInt16LE(105);
  const count = Math.floor((bytes.length - start) / recordLength);
  const shuffled = Buffer.from(bytes);
  // A step that shares no factor with the count visits every point once.
  let step = 7919;
  while (count % step === 0) step += 2;
  for (let i = 0; i < count; i++) {
    const from = start + ((i * step) % count) * recordLength;
    bytes.copy(shuffled, start + i * recordLength, from, from + recordLength);
  }
  return shuffled;
}

describe('survey', () => {
  it('writes a valid record of the sample, the same for every number of workers', () => {
    const here = survey(SAMPLE, '--workers', '0');
    expect(here.record.buildings.length).toBeGreaterThanOrEqual(3);
    expect(here.record.sources[0]!.pointCount).toBeGreaterThan(50_000);
    expect(survey(SAMPLE, '--workers', '1').text).toBe(here.text);
    expect(survey(SAMPLE, '--workers', '2').text).toBe(here.text);
  });

  it('gives the same record for points in another order', () => {
    const file = join(freshFolder(), 'harbour-works.las');
    writeFileSync(file, shuffledLas(readFileSync(SAMPLE)));
    const strip = (record: RoofRecord) => JSON.stringify({ ...record, sources: record.sources.map((source) => ({ ...source, sha256: '' })) });
    expect(strip(survey(file).record)).toBe(strip(survey(SAMPLE).record));
  });

  it('writes the record to standard output when asked', () => {
    const { status, output } = roofdatum('survey', SAMPLE, '--json');
    expect(status).toBe(0);
    expect(parseRecord(output, 'output').schema).toBe('roofdatum-record/1');
  });

  it('keeps the limit of the client and says whether the survey meets it', () => {
    const out = freshFolder();
    const { status, output } = roofdatum('survey', SAMPLE, '--out', out, '--gsd-cm', '4', '--client-gsd-cm', '3', '--client-why', 'drainage channels and water pipes matter');
    expect(status).toBe(0);
    expect(parseRecord(readFileSync(join(out, 'record.json'), 'utf8'), 'record.json').clientLimit).toEqual({ gsdM: 0.03, why: 'drainage channels and water pipes matter' });
    expect(output).toMatch(/The survey's 4\.0 cm per pixel does not meet the client's limit of 3\.0 cm\. \(drainage channels and water pipes matter\)/);
  });

  it('keeps only the region asked for', () => {
    const { record } = survey(SAMPLE);
    const [x0, y0] = record.frame.origin;
    const [first] = record.buildings[0]!.outline;
    const [x, y] = [x0 + first![0], y0 + first![1]];
    const corners = [[-5, -5], [5, -5], [5, 5], [-5, 5]].map(([dx, dy]) => `${x + dx!},${y + dy!}`).join(' ');
    const region = survey(SAMPLE, '--within', corners).record;
    expect(region.sources[0]!.pointCount).toBeLessThan(record.sources[0]!.pointCount / 4);
    expect(region.sources[0]!.pointCount).toBeGreaterThan(0);
  });
});

describe('a caller’s mistake gets one line and status 2', () => {
  const cases: [string, string[], RegExp][] = [
    ['no file', ['survey', '--out', 'x'], /no file is given/],
    ['no folder', ['survey', SAMPLE], /--out: is missing/],
    ['a folder that is a file', ['survey', SAMPLE, '--out', SAMPLE], /--out: .* is a file, expected a folder/],
    ['a file that is not there', ['survey', 'nowhere.las', '--out', 'x'], /nowhere\.las: cannot be opened \(ENOENT\)/],
    ['an unknown unit', ['survey', SAMPLE, '--unit', 'yard', '--out', 'x'], /--unit: "yard" is not known, expected m, ft, us-ft/],
    ['a reason without a limit', ['survey', SAMPLE, '--client-why', 'pipes', '--out', 'x'], /--client-why: says why, but --client-gsd-cm is missing/],
    ['an unknown flag', ['survey', SAMPLE, '--outt', 'x'], /outt/],
    ['an unknown verb', ['measure', SAMPLE], /"measure" is not a verb/],
    ['a region far away', ['survey', SAMPLE, '--within', '0,0 1,0 1,1', '--out', 'x'], /region/],
    ['a truth that is a record', ['score', SAMPLE_TRUTH, SAMPLE_TRUTH], /schema is/],
  ];
  it.each(cases)('%s', (_what, words, message) => {
    const { status, errors, output } = roofdatum(...words);
    expect({ status, output }).toEqual({ status: 2, output: '' });
    const lines = errors.trim().split('\n').filter((line) => !/^(opening|reading|sorting)/.test(line));
    expect(lines).toHaveLength(1);
    expect(lines[0]).toMatch(message);
  });

  it('a file that ends early, unless it is to be salvaged', () => {
    const folder = freshFolder();
    const file = join(folder, 'short.las');
    writeFileSync(file, readFileSync(SAMPLE).subarray(0, 1_000_000));
    const refused = roofdatum('survey', file, '--out', join(folder, 'out'));
    expect(refused.status).toBe(2);
    expect(refused.errors).toMatch(/short\.las: .*promises \d+ points.*holds \d+/);
    expect(existsSync(join(folder, 'out'))).toBe(false);
    const salvaged = roofdatum('survey', file, '--salvage', '--out', join(folder, 'out'));
    expect(salvaged.status).toBe(0);
    expect(salvaged.output).toMatch(/promises/);
  });

  it('leaves a good record alone when the next survey fails', () => {
    const out = freshFolder();
    roofdatum('survey', SAMPLE, '--out', out);
    const before = readFileSync(join(out, 'record.json'), 'utf8');
    expect(roofdatum('survey', 'nowhere.las', '--out', out).status).toBe(2);
    expect(readFileSync(join(out, 'record.json'), 'utf8')).toBe(before);
    expect(readdirSync(out)).toEqual(['record.json']);
  });
});

describe('help', () => {
  it.each(['survey', 'tape', 'fit', 'handover', 'score', 'flight'])('%s tells its flags', (verb) => {
    const { status, output } = roofdatum(verb, '--help');
    expect(status).toBe(0);
    expect(output).toContain(`roofdatum ${verb}`);
  });
});
