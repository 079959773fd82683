import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { parseRecord } from '../../src/survey/validate-record.ts';
import { recordText } from '../../src/survey/write-record.ts';
import { gableRecord } from '../fixtures/gable-record.ts';
import { freshFolder, roofdatum } from './run-command.ts';

function setOut(): { readonly record: string; readonly out: string } {
  const folder = freshFolder();
  const paths = { record: join(folder, 'record.json'), out: join(folder, 'out') };
  writeFileSync(paths.record, recordText(gableRecord()));
  return paths;
}

describe('roofdatum edges', () => {
  it('says how many edges were measured as what, and writes nothing', () => {
    const { record } = setOut();
    const { status, output } = roofdatum('edges', record);
    expect(status).toBe(0);
    expect(output).toMatch(/^kind +measured as +edges +length\n/);
    expect(output).toMatch(/^eave /m);
  });

  it('brings eaves to the gutter lip by a stated offset and leaves the record it read alone', () => {
    const { record, out } = setOut();
    const before = readFileSync(record, 'utf8');
    const { status, output } = roofdatum('edges', record, '--to', 'gutter-lip', '--outwards-m', '0.12', '--u95-m', '0.02', '--by', 'A.K.', '--why', 'gutters of this street', '--out', out);
    expect(status).toBe(0);
    expect(output).toMatch(/^eave +gutter-lip, from .+ by 0\.120 ± 0\.020 m/m);
    expect(readFileSync(record, 'utf8')).toBe(before);
    const written = parseRecord(readFileSync(join(out, 'record.json'), 'utf8'), 'record.json');
    expect(written.corrections).toMatchObject([{ kind: 'edge-definition', amount: 0.12, u95: 0.02, definition: { to: 'gutter-lip', kinds: ['eave'] }, by: 'A.K.', why: 'gutters of this street' }]);
    expect(written.decisions.at(-1)).toMatchObject({ what: 'correct', about: 'q2', by: 'A.K.' });
  });

  it.each([
    [['--to', 'fascia'], '--to'],
    [['--to', 'gutter-lip', '--outwards-m', '0.12', '--by', 'A.K.'], '--u95-m'],
    [['--to', 'gutter-lip', '--outwards-m', '0.12', '--u95-m', '0.02'], '--by'],
    [['--to', 'gutter-lip', '--outwards-m', '9', '--u95-m', '0.02', '--by', 'A.K.'], '--outwards-m'],
    [['--to', 'gutter-lip', '--outwards-m', '0.12', '--u95-m', '0.02', '--kinds', 'hip', '--by', 'A.K.'], '--kinds'],
  ])('%j is refused in one line that names %s, and nothing is written', (words, named) => {
    const { record, out } = setOut();
    const { status, errors } = roofdatum('edges', record, ...words, '--out', out);
    expect(status).toBe(2);
    expect(errors.trim().split('\n')).toHaveLength(1);
    expect(errors).toContain(named);
    expect(existsSync(out)).toBe(false);
  });
});
