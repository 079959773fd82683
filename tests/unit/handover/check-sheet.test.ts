import { afterAll, describe, expect, it } from 'vitest';
import { checkSheet } from '../../../src/handover/check-sheet/check-sheet.ts';
import { handover } from '../../../src/handover/handover.ts';
import type { Block } from '../../../src/handover/report/block.ts';
import type { Vector3 } from '../../../src/geometry/vector.ts';
import type { RoofRecord } from '../../../src/roof/record.ts';
import type { TapeReading } from '../../../src/site/tape-reading.ts';
import { applyCorrection } from '../../../src/survey/correct/apply-correction.ts';
import { checkTape } from '../../../src/survey/tape/check-tape.ts';
import { hasProgram, run, TemporaryFolder } from '../../fixtures/outside-tool.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

const folder = new TemporaryFolder();
afterAll(() => folder.remove());

const gable = gableRecord();
const at = (...[x, y, z]: Vector3): Vector3 => [x + gable.frame.origin[0], y + gable.frame.origin[1], z + gable.frame.origin[2]];
const READINGS: readonly TapeReading[] = [
  { id: 'T1', kind: 'distance', ends: [at(0, 0, 3), at(10, 0, 3)], value: 9.987, written: '9987 mm', sigma: 0.005, by: 'Æ. Ørsted', at: '2026-05-02T09:00:00Z', note: '', device: 'steel-tape-2', conditions: { temperatureC: 31, tensionN: 80, sectionMm2: 2.4 } },
  { id: 'T2', kind: 'distance', ends: [at(10, 0, 3), at(10, 5, 8)], value: 7.071, sigma: 0.005, by: 'Æ. Ørsted', at: '2026-05-02T09:10:00Z', note: '', device: 'laser' },
  { id: 'T3', kind: 'pitch', ends: [at(5, 2.5, 5.5)], value: 44.8, sigma: 0.2, by: '', at: '', note: '', device: 'inclinometer' },
  { id: 'T4', kind: 'distance', ends: [], value: 4, sigma: 0.005, by: '', at: '', note: '' },
  ...[[0, 0, 3], [10, 0, 3], [0, 5, 8]].map((place, i): TapeReading => ({ id: `C${i + 1}`, kind: 'checkpoint', ends: [at(place[0]! + 0.02, place[1]!, place[2]!)], value: null, sigma: 0.01, by: '', at: '', note: '', device: 'total-station' })),
];
const record: RoofRecord = { ...gable, tape: checkTape(gable, READINGS) };
const corrected = applyCorrection(record, { kind: 'scale', amount: 0.002, u95: 0.001, about: [5, 5, 5], readings: ['T1', 'T2'], by: 'A.K.', at: '2026-05-03T08:00:00Z', why: 'two tapes' });

const words = (blocks: readonly Block[]): string => JSON.stringify(blocks);
const tableOf = (blocks: readonly Block[], title: string) => blocks.find((block) => block.kind === 'table' && block.title === title) as Extract<Block, { kind: 'table' }> | undefined;
const cells = (rows: Extract<Block, { kind: 'table' }>['rows']): string[][] => rows.map((row) => row.map((cell) => cell.map(({ text }) => text).join('')));

describe('the check sheet', () => {
  const { blocks } = checkSheet(record);

  it('has all a checker signs for', () => {
    expect(cells(tableOf(blocks, 'Ours beside the tape, ± at 95 %')!.rows).map(([id]) => id)).toEqual(['T1', 'T2', 'T3', 'T4']);
    const text = words(blocks);
    for (const part of ['Verdict: agrees.', ', read 9987 mm', 'steel tape, class II', 'Directive 2014/32/EU', 'ISO 16331-1:2017', 'c L (T − T0)', '(P − P0) L / (A E)', 'chi-square', 'Grubbs', 'Schwarz 1978', 'NSSDA', 'Edition 2 (2023) asks for 30', 'Æ. Ørsted', 'Roof access and falls', '1 reading has no place yet.']) {
      expect(text, part).toContain(part);
    }
    expect(blocks.at(-1)).toEqual({ kind: 'signatures', roles: ['taped by', 'checked by', 'accepted by'] });
  });

  it('shows each correction with what was read and what came of it', () => {
    const rows = cells(tableOf(blocks, 'What was read, and what was added')!.rows);
    expect(rows.map(([, read, name]) => [read, name])).toEqual([['9.9870 m', 'temperature'], ['', 'pull']]);
    expect(rows[1]!.at(-1)).toBe(`${(9.987 + 11.6e-6 * 9.987 * 11 + (30 * 9.987) / (2.4e-6 * 200e9)).toFixed(4)} m`);
  });

  it('says where to tape next in words of the roof, with rows to write in', () => {
    const next = tableOf(blocks, 'Tape next')!;
    const rows = cells(next.rows);
    expect(rows[0]![0]).toBe('N1');
    expect(rows.some(([, where]) => where === 'unknown U1, north side of p2')).toBe(true);
    expect(rows.filter((row) => row.every((cell) => cell.trim() === ''))).toHaveLength(8);
    expect(next.leastLines).toBe(2);
  });

  it('has a plan with the number of every reading that has a place, and the marks of the next', () => {
    const sheet = blocks.find((block) => block.kind === 'sheet')!;
    const lettered = (sheet as Extract<Block, { kind: 'sheet' }>).sheet.marks.flatMap((mark) => (mark.kind === 'text' ? mark.runs.map(({ text }) => text) : []));
    for (const name of ['T1', 'T2', 'T3', 'C1', 'C2', 'C3', 'N1']) expect(lettered, name).toContain(name);
    expect(lettered).not.toContain('T4');
    expect(lettered.filter((text) => text === 'C1')).toHaveLength(1);
  });

  it('lists corrections that were applied', () => {
    const [row] = cells(tableOf(checkSheet(corrected).blocks, 'Applied when a person said so')!.rows);
    expect(row).toEqual(['scale', '0.20 ± 0.10 %', 'T1, T2', 'A.K., 2026-05-03', 'two tapes']);
  });

  it('of a record without readings is the list to take to the roof', () => {
    const { blocks: open } = checkSheet(gable);
    expect(words(open)).toContain('Verdict: open.');
    expect(tableOf(open, 'Ours beside the tape, ± at 95 %')).toBeUndefined();
    expect(cells(tableOf(open, 'Tape next')!.rows)[0]![0]).toBe('N1');
  });
});

/** Referee: poppler-utils 22.12 (Debian 12). */
describe.skipIf(!hasProgram('pdftotext'))('the check sheet as poppler reads it', () => {
  it('is tagged, says the same as its page, and lacks no letter', async () => {
    const [pdf, page] = await handover(corrected, ['check-sheet', 'check-sheet-html'], { name: 'gable' });
    expect([pdf!.name, page!.name]).toEqual(['gable-check-sheet.pdf', 'gable-check-sheet.html']);
    const path = folder.write('sheet.pdf', pdf!.bytes);
    const text = run('pdftotext', ['-layout', path, '-']);
    const html = new TextDecoder().decode(page!.bytes);
    for (const word of ['Tape check sheet', 'Instruments', 'Surveyed checkpoints', 'To the roof: tape next', 'Signatures', 'accepted by', 'Page 1 of']) expect(text, word).toContain(word);
    for (const word of ['Tape check sheet', 'Instruments', 'Surveyed checkpoints', 'To the roof: tape next', 'Signatures', 'accepted by']) expect(html, word).toContain(word);
    expect(text).not.toMatch(/\[U\+[0-9A-F]{4}\]/);
    expect(run('pdfinfo', [path])).toMatch(/Tagged:\s+yes/);
  });
});
