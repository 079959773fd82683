import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { handover } from '../../../src/handover/handover.ts';
import type { Block } from '../../../src/handover/report/block.ts';
import { writeHtmlReport } from '../../../src/handover/report/html-report.ts';
import { writePdfReport } from '../../../src/handover/report/pdf-report.ts';
import { CAUTIONS } from '../../../src/handover/report/ground-parts.ts';
import { reportContent } from '../../../src/handover/report/report-content.ts';
import type { RoofRecord } from '../../../src/roof/record.ts';
import { plainReading } from '../../../src/units/written-reading.ts';
import { hasProgram, run, TemporaryFolder } from '../../fixtures/outside-tool.ts';
import { SMALL_JPEG } from '../../fixtures/small-jpeg.ts';
import { recordHarbour, recordOfManyPlanes } from '../../fixtures/record-harbour.ts';

const folder = new TemporaryFolder();
afterAll(() => folder.remove());

const record = recordHarbour();
const bare: RoofRecord = { ...record, readings: [], tape: null, smallFeatures: [], keepClear: null, usable: null, layout: null, decisions: [] };

/** Every number a reader must find, as it is printed. */
function printedNumbers(of: RoofRecord): string[] {
  const numbers: string[] = [];
  for (const building of of.buildings) {
    for (const plane of building.roofPlanes) {
      numbers.push(plainReading(plane.pitchDeg, 'pitch'), plainReading(plane.azimuthDeg, 'bearing'), plainReading(plane.slopeAreaM2, 'area'), plainReading(plane.planAreaM2, 'area'));
    }
    for (const edge of building.edges) numbers.push(plainReading(edge.slopeLengthM, 'length'));
    for (const thing of building.obstructions) numbers.push(plainReading(thing.heightAboveRoofM, 'length'), plainReading(thing.planAreaM2, 'area'));
    for (const parapet of building.parapets) numbers.push(plainReading(parapet.heightAboveRoofM, 'length'), plainReading(parapet.thicknessM, 'length'));
    for (const low of building.lowPoints) numbers.push(plainReading(low.depthM, 'length'), plainReading(low.drainedPlanAreaM2, 'area'), ...(low.pond ? [plainReading(low.pond.planAreaM2, 'area')] : []));
  }
  for (const thing of of.smallFeatures) numbers.push(plainReading(thing.widthM, 'length'), plainReading(thing.heightM, 'length'));
  for (const reading of of.tape?.readings ?? []) numbers.push(plainReading(reading.oursM, 'length'), plainReading(reading.tapeM, 'length'), plainReading(reading.residualM, 'length'));
  for (const plane of of.usable?.planes ?? []) numbers.push(plainReading(plane.usableSlopeAreaM2, 'area'));
  if (of.usable !== null) numbers.push(plainReading(of.usable.totalM2, 'area'));
  return numbers;
}

/** Text of a PDF with every white space as one blank, since lines break where they may. */
const flat = (text: string): string => text.replace(/[\s\u00a0]+/g, ' ');

const textOf = (block: Block): string => JSON.stringify(block);

describe('what each ± consists of', () => {
  /** Rows of a table whose title begins so, as texts. */
  const rowsOf = (title: string): string[][] =>
    reportContent(record).blocks.flatMap((block) => (block.kind === 'table' && block.title.startsWith(title) ? block.rows.map((row) => row.map((cell) => cell.map(({ text }) => text).join(''))) : []));

  it('stands there for every plane, the planes of a building together, things and parapets, and adds up', () => {
    const rows = [...rowsOf('What each ± consists of'), ...rowsOf('What the ± of things and parapets')];
    expect(rows.length).toBeGreaterThan(20);
    expect(rows.some(([name, what]) => name === 'all' && what === 'slope area')).toBe(true);
    for (const [name, what, whole, parts] of rows) {
      const sizes = [...parts!.matchAll(/ ([\d.e-]+)(?:°| m)/g)].map(([, size]) => Number(size));
      expect(sizes.length, `${name} ${what}`).toBeGreaterThan(0);
      expect(Math.min(...sizes), `${name} ${what}: ${parts}`).toBeGreaterThan(0);
      // Each is written with two digits.
      expect(Math.hypot(...sizes) / Number.parseFloat(whole!), `${name} ${what}`).toBeCloseTo(1, 1);
    }
  });
});

/** Referee: poppler-utils 22.12 (Debian 12). */
describe.skipIf(!hasProgram('pdftotext'))('the PDF as poppler reads it', () => {
  let path: string;
  beforeAll(async () => {
    path = folder.write('report.pdf', await writePdfReport(reportContent(record)));
  });

  it('holds every number of the record, tagged, with its title and language', () => {
    const text = flat(run('pdftotext', ['-layout', path, '-']) + run('pdftotext', [path, '-']));
    const numbers = printedNumbers(record);
    expect(numbers.length).toBeGreaterThan(100);
    expect(numbers.filter((number) => !text.includes(flat(number)) && !wrapped(text, number))).toEqual([]);
    for (const word of ['Bäckerei Ðórshöfn, Łódź-Kai', '7c1e09af52d8b3a4417f0cce2fd0a1e0', 'Þóra Ó.', 'Dachrinne, prüfen', 'EPSG:2193', 'Verdict: doubtful.', 'setbackM', 'level plane', 'Section A–A', 'A loaded deck bends further', 'a level line', 'boards meet in a point', 'longest edge no tape has touched']) {
      expect(text, word).toContain(word);
    }
    const info = run('pdfinfo', [path]);
    expect(info).toMatch(/Tagged:\s+yes/);
    expect(info).toMatch(/Title:\s+Bäckerei Ðórshöfn, Łódź-Kai: Roof measurement report/);
    const structure = run('pdfinfo', ['-struct', path]);
    for (const tag of ['H1', 'H2', 'Table', 'TH', 'TD', 'Figure', 'LBody']) expect(structure).toMatch(new RegExp(`^\\s*${tag}\\b`, 'm'));
    // Four plans and a picture of a feature.
    expect(structure.match(/Figure/g)).toHaveLength(5);
    expect(structure).toMatch(/^\s*Caption\b/m);
    // Own fonts only, all embedded.
    for (const line of run('pdffonts', [path]).trim().split('\n').slice(2)) expect(line).toMatch(/(Atkinson|NationalPark).*yes yes yes/);
  });

  it('prints the picture of a feature as it was taken, with its words', () => {
    const [, , image] = run('pdfimages', ['-list', path]).trim().split('\n');
    expect(image).toMatch(/^\s*\d+\s+0 image\s+24\s+16\s+rgb\s+3\s+8\s+jpeg/);
    expect(flat(run('pdftotext', ['-layout', path, '-']))).toMatch(/gutter: Dachrinne, prüfen; width .*picture Rinne Süd\.jpg/);
    expect(run('pdfinfo', ['-struct-text', path])).toContain('Caption');
  });

  it('leaves the words where a picture cannot be read', async () => {
    const photos = [{ ...record.photos![0]!, picture: 'data:image/jpeg;base64,AAAA' }];
    const spoilt = folder.write('spoilt.pdf', await writePdfReport(reportContent({ ...record, photos })));
    expect(flat(run('pdftotext', ['-layout', spoilt, '-']))).toContain('picture Rinne Süd.jpg; the picture cannot be read');
  });

  it('has its plans on A3 and its text on A4', () => {
    const sizes = run('pdfinfo', ['-l', '99', path]).match(/Page +\d+ size: +[\d.]+ x [\d.]+/g)!.map((line) => line.replace(/.*size: +/, ''));
    expect(sizes.filter((size) => size === '1190.55 x 841.89')).toHaveLength(4);
    expect(new Set(sizes)).toEqual(new Set(['1190.55 x 841.89', '595.276 x 841.89']));
  });

  it('writes the code of letters its fonts lack, rather than leave them out', async () => {
    const small = { ...bare, buildings: [record.buildings[1]!] };
    const letters = folder.write('letters.pdf', await writePdfReport(reportContent(small, { site: '屋 on Žilina ≥ 3′' })));
    expect(flat(run('pdftotext', [letters, '-']))).toContain("[U+5C4B] on Žilina at least 3'");
  });
});

/** True when a number stands in the text broken over lines by its table cell: all of its words, in order, near each other. */
function wrapped(text: string, number: string): boolean {
  const words = flat(number).split(' ').map((word) => word.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
  return words.length > 2 && new RegExp(words.join('.{1,80}?')).test(text);
}

describe('the report', () => {
  it('is the same bytes for the same record, in both forms', async () => {
    const [first, second] = await Promise.all([recordHarbour(), recordHarbour()].map((one) => handover(one, ['report', 'report-html'])));
    expect(first!.map((file) => file.name)).toEqual(['roof-report.pdf', 'roof-report.html']);
    for (const [i, file] of first!.entries()) expect(Buffer.compare(file.bytes, second![i]!.bytes)).toBe(0);
  });

  it('carries the date of the last decision, and none when nobody decided', () => {
    expect(reportContent(record).date?.toISOString()).toBe('2026-05-13T16:02:30.000Z');
    expect(reportContent(bare).date).toBeNull();
  });

  it('says what an absent part waits for, instead of leaving it out', () => {
    const text = reportContent(bare).blocks.map(textOf).join('\n');
    for (const waits of ['waits for question 4', 'waits for readings from site', 'waits for question 6 (rules and setbacks)', 'waits for question 6 (module size and style)', 'Nobody has accepted, corrected or signed', 'No tape reading was compared']) {
      expect(text, waits).toContain(waits);
    }
    expect(text).not.toMatch(/undefined|NaN|\[object/);
  });

  it('lists every number without a value, with its reason and place', () => {
    const text = reportContent(record).blocks.map(textOf).join('\n');
    for (const [reason, place] of [['azimuth: level plane', 'b1.p1, b1.p2'], ['height above roof: too few points on top', 'b1.o5'], ['ground elevation: no ground seen', 'b3'], ['depth: less than the noise', 'b1.d2']]) {
      expect(text).toContain(reason);
      expect(text).toContain(place);
    }
  });

  it('warns before anyone climbs, and leaves the decision to local code and licensed persons', () => {
    const joined = CAUTIONS.join(' ');
    for (const danger of ['falls', 'Live parts', 'Structural load', 'Fire access', 'licensed', 'local code']) expect(joined).toContain(danger);
    const cautions = reportContent(bare).blocks.filter((block) => block.kind === 'caution');
    // On the cover and in a part of its own.
    expect(cautions).toHaveLength(2);
  });

  it('HTML twin: every number, nothing fetched, headings in order', async () => {
    const html = await writeHtmlReport(reportContent(record));
    const text = flat(html.replace(/<style>[\s\S]*?<\/style>/g, '').replace(/<[^>]+>/g, ''));
    expect(printedNumbers(record).filter((number) => !text.includes(flat(number)))).toEqual([]);
    expect(html).not.toMatch(/(src|href)="(?!data:)/);
    expect(html).not.toMatch(/url\((?!data:)/);
    expect(html).toContain('lang="en"');
    expect(html.match(/<svg /g)).toHaveLength(4);
    expect(html).toContain(`<img src="${SMALL_JPEG}" width="24" height="16" alt="Picture of`);
    expect(text).toContain('Dachrinne, prüfen; width');
  });

  it('names stay text, whatever they hold', async () => {
    const sly = recordHarbour();
    const html = await writeHtmlReport(reportContent(sly, { site: '<script>alert(1)</script> & "roof"' }));
    expect(html).not.toContain('<script>');
    expect(html).toContain('&lt;script&gt;');
  });

  it('sets a site of 300 planes', async () => {
    const bytes = await writePdfReport(reportContent(recordOfManyPlanes(15, 10)));
    expect(new TextDecoder('latin1').decode(bytes.subarray(0, 8))).toBe('%PDF-1.7');
  });
});
