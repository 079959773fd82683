import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { RoofRecord, TapeCheck } from '../../src/roof/record.ts';
import { parseRecord } from '../../src/survey/validate-record.ts';
import { recordText } from '../../src/survey/write-record.ts';
import { gableRecord } from '../fixtures/gable-record.ts';
import { freshFolder, roofdatum } from './run-command.ts';

const HEADER = 'id,kind,x1,y1,z1,x2,y2,z2,value,unit,sigma_m,by,at,note';
/** Lines of the gable with what a tape reads of them when ours is too long by a share. */
const LINES = [[0, 0, 3, 10, 0, 3], [0, 5, 8, 10, 5, 8], [10, 0, 3, 10, 5, 8], [0, 0, 3, 0, 5, 8], [0, 0, 3, 10, 5, 8], [0, 0, 3, 10, 10, 3]] as const;

function listOf(share: number, more: readonly string[] = []): string {
  const [x0, y0] = gableRecord().frame.origin;
  const rows = LINES.map(([x1, y1, z1, x2, y2, z2], i) => {
    const size = Math.hypot(x2 - x1, y2 - y1, z2 - z1) / (1 + share);
    return `T${i + 1},distance,${x1 + x0},${y1 + y0},${z1},${x2 + x0},${y2 + y0},${z2},${size.toFixed(4)},m,0.003,A.K.,2026-05-02,`;
  });
  return [HEADER, ...rows, ...more].join('\n');
}

function setOut(list: string): { readonly record: string; readonly list: string; readonly out: string } {
  const folder = freshFolder();
  const paths = { record: join(folder, 'record.json'), list: join(folder, 'tape.csv'), out: join(folder, 'out') };
  writeFileSync(paths.record, recordText(gableRecord()));
  writeFileSync(paths.list, list);
  return paths;
}

const read = (folder: string): RoofRecord => parseRecord(readFileSync(join(folder, 'record.json'), 'utf8'), 'record.json');

describe('roofdatum tape', () => {
  it('agrees with status 0, keeps the readings, and leaves the record it read alone', () => {
    const { record, list, out } = setOut(listOf(0));
    const before = readFileSync(record, 'utf8');
    const { status, output, errors } = roofdatum('tape', record, list, '--out', out);
    expect([status, errors]).toEqual([0, '']);
    expect(output).toMatch(/^verdict: agrees \(tolerance 30\.0 mm, 6 lengths compared\)/);
    expect(output).toMatch(/cannot show a shift or a turn of the whole model/);
    expect(readFileSync(record, 'utf8')).toBe(before);
    expect(read(out).tape!.taken).toHaveLength(6);
    // What the record keeps is checked again without a list.
    const again = roofdatum('tape', join(out, 'record.json'), '--json');
    const verdicts = ({ verdict, readings }: TapeCheck) => [verdict, ...readings.map((row) => [row.id, row.verdict, row.residualM.value?.toFixed(6)])];
    expect(verdicts(JSON.parse(again.output) as TapeCheck)).toEqual(verdicts(read(out).tape!));
  });

  it('says once that a reading has no place yet', () => {
    const { record, list, out } = setOut(listOf(0, ['T9,distance,,,,,,,7.42,m,,B.C.,2026-05-02,where was it?']));
    const { output } = roofdatum('tape', record, list, '--out', out);
    expect(output).toMatch(/^ {2}T9 +not-compared its ends are to be placed in the page$/m);
    expect(output).not.toMatch(/-0\.000/);
  });

  it('ends with status 3 when the tolerance fails', () => {
    const { record, list, out } = setOut(listOf(0.03));
    const { status, output } = roofdatum('tape', record, list, '--out', out);
    expect(status).toBe(3);
    expect(output).toMatch(/^verdict: disagrees/);
  });

  it('lists bad rows by row and column, and keeps the good ones', () => {
    const { record, list } = setOut(listOf(0, ['X1,distance,,,,,,,4,foot,,,,', 'X2,distance,,,,,,,4,m,-1,,,']));
    const { status, output, errors } = roofdatum('tape', record, list, '--json');
    expect(status).toBe(0);
    expect((JSON.parse(output) as TapeCheck).readings).toHaveLength(6);
    expect(errors.trim().split('\n')).toEqual([
      'tape.csv: row 8, column unit: "foot" is not known, expected m, mm, ft, ft-in or deg. The row was left out.',
      'tape.csv: row 9, column sigma_m: -1 is not above 0. The row was left out.',
    ]);
  });

  it('applies a scale when asked, with who and why, and checks again', () => {
    const { record, list, out } = setOut(listOf(0.03));
    const { status, errors } = roofdatum('tape', record, list, '--out', out, '--apply', 'scale', '--by', 'A.K.', '--why', 'six tapes');
    expect(status).toBe(0);
    expect(errors).toMatch(/Lengths are 3\.00 ± .* % too long/);
    const corrected = read(out);
    expect(corrected.corrections).toMatchObject([{ kind: 'scale', by: 'A.K.', why: 'six tapes', readings: ['T1', 'T2', 'T3', 'T4', 'T5', 'T6'] }]);
    expect(corrected.decisions).toMatchObject([{ what: 'correct', about: 'q5', by: 'A.K.', why: 'six tapes', before: { verdict: 'disagrees' } }]);
    expect(corrected.buildings[0]!.edges[0]!.slopeLengthM.value).toBeCloseTo(10 / 1.03, 3);
    expect(corrected.tape!.verdict).toBe('agrees');
  });

  it('levels and moves the model by checkpoints when asked, and the points agree afterwards', () => {
    const [x0, y0] = gableRecord().frame.origin;
    // The model rises by 0.5 degrees too much to the east, and lies 4 cm too high.
    const rows = [[0, 0, 3], [10, 0, 3], [10, 10, 3], [0, 10, 3], [0, 5, 8], [10, 5, 8]].map(([x, y, z], i) => {
      const a = (-0.5 * Math.PI) / 180;
      const truth = [x0 + 5 + (x! - 5) * Math.cos(a) - (z! - 4) * Math.sin(a), y0 + y!, 4 + (z! - 4) * Math.cos(a) + (x! - 5) * Math.sin(a) - 0.04];
      return `C${i},checkpoint,${truth.join(',')},${x! + x0},${y! + y0},${z},,,0.004,A.K.,2026-05-02,`;
    });
    const { record, list, out } = setOut([HEADER, ...rows].join('\n'));
    writeFileSync(record, recordText({ ...gableRecord(), sampling: { ...gableRecord().sampling, noiseM: 0.002, pointSpacingM: 0.01 } }));
    expect(roofdatum('tape', record, list, '--out', out).status).toBe(3);
    const { status, errors } = roofdatum('tape', record, list, '--out', out, '--apply', 'tilt,shift', '--by', 'A.K.');
    expect(errors).toMatch(/rises too much by .* and 0\.5\d\d ± /);
    expect(errors).toMatch(/4\d ± \d+ mm up of the survey/);
    expect(status).toBe(0);
    const corrected = read(out);
    expect(corrected.corrections).toMatchObject([{ kind: 'tilt', by: 'A.K.' }, { kind: 'shift', by: 'A.K.' }]);
    expect(corrected.decisions).toHaveLength(2);
    expect(corrected.tape!.accuracy!.rmse3dM).toBeLessThan(0.001);
    expect(Math.abs(corrected.tape!.site!.tiltEastDeg.value!)).toBeLessThan(0.001);
  });

  it.each<[string, string[], RegExp]>([
    ['nobody wants the correction', ['--apply', 'scale'], /--by: is missing: a correction is a person’s decision/],
    ['the readings do not show it', ['--apply', 'vertical-scale', '--by', 'A.K.'], /--apply: "vertical-scale" is not what the readings show \(scale: .*They give reason for: scale\./],
    ['there is no such correction', ['--apply', 'twist', '--by', 'A.K.'], /--apply: "twist" is not known, expected scale, edge, scale-and-edge, vertical-scale, shift, tilt, turn/],
  ])('refuses with status 2 and writes nothing when %s', (_what, flags, message) => {
    const { record, list, out } = setOut(listOf(0.03));
    const { status, errors } = roofdatum('tape', record, list, '--out', out, ...flags);
    expect(status).toBe(2);
    expect(errors.trim()).toMatch(message);
    expect(existsSync(out)).toBe(false);
  });

  it('judges the small features it finds in the record by the limit of the client, and takes it away again', () => {
    const { record, list, out } = setOut(listOf(0));
    const made = gableRecord();
    const pinned = { id: 'f1', kind: 'vent' as const, onPlane: null, at: [[1, 1, 4] as const], widthM: { value: 0.6, u95: 0.01 }, heightM: { value: 0.5, u95: 0.01 }, resolvability: 'resolved' as const, why: 'Wide and high.', verifyOnSite: false, proposedBy: 'found' as const };
    const before = { ...made, sampling: { ...made.sampling, groundSampleDistanceM: 0.04 }, smallFeatures: [pinned] };
    writeFileSync(record, recordText(before));
    const { status, errors } = roofdatum('tape', record, list, '--out', out, '--client-gsd-cm', '3', '--client-why', 'water pipes matter');
    expect([status, errors.trim()]).toEqual([0, "The survey's 4.0 cm per pixel does not meet the client's limit of 3.0 cm. (water pipes matter) 1 of 1 small features are to be verified on site."]);
    expect(read(out)).toMatchObject({ clientLimit: { gsdM: 0.03, why: 'water pipes matter' }, smallFeatures: [{ resolvability: 'resolved', verifyOnSite: true, why: expect.stringContaining('does not meet') }] });
    expect(roofdatum('tape', join(out, 'record.json'), '--out', out, '--client-gsd-cm', '0').status).toBe(0);
    expect(read(out)).toMatchObject({ smallFeatures: [pinned] });
    expect(read(out).clientLimit).toBeUndefined();
  });

  it('says that a record keeps no readings when no list is given', () => {
    const { record } = setOut(listOf(0));
    const { status, errors } = roofdatum('tape', record, '--json');
    expect([status, errors.trim()]).toEqual([2, expect.stringMatching(/record\.json: keeps no readings, and no list is given/)]);
  });
});
