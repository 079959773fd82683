import { describe, expect, it } from 'vitest';
import { handover, HANDOVER_KINDS, reasonAgainst, type HandoverKind } from '../../../src/handover/handover.ts';
import { parseRecord } from '../../../src/survey/validate-record.ts';
import { recordText } from '../../../src/survey/write-record.ts';
import { recordHarbour } from '../../fixtures/record-harbour.ts';

const record = recordHarbour();
const textOf = (bytes: Uint8Array): string => new TextDecoder().decode(bytes);
/** The report has tests of its own, and takes longest. */
const QUICK = HANDOVER_KINDS.map((one) => one.kind).filter((kind) => !kind.startsWith('report'));

describe('handover', () => {
  it('writes every kind, each file named once, and the same bytes again', async () => {
    const files = await handover(record, QUICK, { name: 'harbour' });
    expect(new Set(files.map((file) => file.name)).size).toBe(files.length);
    for (const file of files) {
      expect(file.bytes.length, file.name).toBeGreaterThan(50);
      expect(file.about.length, file.name).toBeGreaterThan(10);
      expect(file.name).toMatch(/^(harbour|roofdatum-record-1)[\w.-]*\.[a-z]+$/);
    }
    const again = await handover(recordHarbour(), QUICK, { name: 'harbour' });
    for (const [i, file] of files.entries()) expect(Buffer.compare(file.bytes, again[i]!.bytes), file.name).toBe(0);
  });

  it('names what it does not know, and lists what it does', async () => {
    await expect(handover(record, ['dwf' as HandoverKind])).rejects.toThrow(/"dwf" is not known.*report, report-html, check-sheet, check-sheet-html, svg, dxf/);
  });

  it('refuses a record without buildings, with the reason', async () => {
    const empty = { ...record, buildings: [] };
    expect(reasonAgainst(empty, 'dxf')).toBe('the record holds no building');
    await expect(handover(empty, ['csv'])).rejects.toThrow('handover as csv: the record holds no building.');
  });

  it('states the place of the drawing in the file beside it', async () => {
    const companion = async (options: Parameters<typeof handover>[2]) => textOf((await handover(record, ['dxf'], options)).find((file) => file.name.endsWith('.txt'))!.bytes);
    expect(await companion({})).toContain('Add 1748735.5 east, 5427916.25 north, 12 up (m) for full coordinates in EPSG:2193.');
    expect(await companion({ origin: 'grid', unit: 'ft' })).toContain('Unit: feet (0.3048 m).');
    expect(await companion({ origin: 'grid' })).toContain('Coordinates: full grid coordinates, EPSG:2193.');
    expect(await companion({})).toContain('KEEP-CLEAR');
  });

  it('hands over the record itself, which opens again, with its schema', async () => {
    const [saved, schema] = await handover(record, ['record']);
    const opened = parseRecord(textOf(saved!.bytes), saved!.name);
    expect(recordText(opened)).toBe(textOf(saved!.bytes));
    expect(opened.buildings[0]!.obstructions[0]!.note).toBe('Ofenlüftung, Bäckerei');
    expect(JSON.parse(textOf(schema!.bytes))).toMatchObject({ $schema: expect.stringContaining('json-schema.org') });
  });

  it('a record spoilt by hand is refused with the field named', async () => {
    const spoilt = { ...record, sampling: { ...record.sampling, noiseM: 'small' as unknown as number } };
    await expect(handover(spoilt, ['record'])).rejects.toThrow(/sampling\.noiseM/);
  });
});

describe('tables', () => {
  async function tables(): Promise<Map<string, string[][]>> {
    const files = await handover(record, ['csv'], { name: 't' });
    return new Map(files.map((file) => [file.name.slice(2, -4), textOf(file.bytes).trimEnd().split('\r\n').map((line) => line.match(/("([^"]|"")*"|[^,]*)(,|$)/g)!.slice(0, line.split(/,(?=(?:[^"]*"[^"]*")*[^"]*$)/).length).map((cell) => cell.replace(/,$/, '').replace(/^"|"$/g, '').replaceAll('""', '"')))]));
  }

  it('one per kind of thing, a row per thing, as many cells in every row', async () => {
    const all = await tables();
    expect([...all.keys()]).toEqual(['buildings', 'roof-planes', 'edges', 'parapets', 'obstructions', 'small-features', 'low-points', 'ponds', 'level-lines', 'keep-clear', 'usable-area', 'modules', 'readings', 'tape', 'decisions']);
    const rowsOf = (name: string) => all.get(name)!.length - 1;
    expect([rowsOf('roof-planes'), rowsOf('obstructions'), rowsOf('modules'), rowsOf('tape')]).toEqual([10, 7, 11, 3]);
    for (const [name, rows] of all) for (const row of rows) expect(row.length, name).toBe(rows[0]!.length);
  });

  it('units stand in the headers; unknown numbers are empty with a reason beside', async () => {
    const [head, ...rows] = (await tables()).get('obstructions')!;
    const cell = (id: string, name: string): string => rows.find((row) => row[0] === id)![head!.indexOf(name)]!;
    expect(cell('b1.o1', 'height_above_roof_m')).toBe('1.42');
    expect(cell('b1.o1', 'height_above_roof_u95_m')).toBe('0.05');
    expect([cell('b1.o5', 'height_above_roof_m'), cell('b1.o5', 'height_above_roof_missing')]).toEqual(['', 'too few points on top']);
    // A comma in a note stays in its cell.
    expect(cell('b1.o1', 'note')).toBe('Ofenlüftung, Bäckerei');
    // Centre of the footprint in source coordinates: the fan stands at (-6, -1), turned by 12° about (-14, 6).
    const angle = (12 * Math.PI) / 180;
    const x = 1748735.5 - 14 + Math.cos(angle) * -6 - Math.sin(angle) * -1;
    expect(Number(cell('b1.o1', 'centre_easting_m'))).toBeCloseTo(x, 4);
  });

  it('numbers of physical size carry their unit in the name', async () => {
    for (const [name, [head, ...rows]] of await tables()) {
      for (const [i, column] of head!.entries()) {
        const numeric = rows.some((row) => /^-?\d+\.\d+$/.test(row[i]!));
        if (numeric) expect(column, name).toMatch(/_(m|m2|deg|access)$/);
      }
    }
  });
});
