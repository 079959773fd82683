import { afterAll, describe, expect, it } from 'vitest';
import { cutBuilding } from '../../../src/handover/section.ts';
import { edgeInk } from '../../../src/handover/paper/edge-ink.ts';
import { LabelSpace } from '../../../src/handover/paper/label-space.ts';
import { text } from '../../../src/handover/paper/mark.ts';
import { sheetSvg } from '../../../src/handover/paper/svg.ts';
import { planSheets } from '../../../src/handover/plan-sheets.ts';
import { fittingScale } from '../../../src/handover/drawing-scale.ts';
import { EDGE_LETTER } from '../../../src/roof/part-names.ts';
import type { EdgeKind } from '../../../src/roof/record.ts';
import { hasProgram, run, TemporaryFolder } from '../../fixtures/outside-tool.ts';
import { recordHarbour, recordOfManyPlanes } from '../../fixtures/record-harbour.ts';

const folder = new TemporaryFolder();
afterAll(() => folder.remove());

const record = recordHarbour();
const sheets = planSheets(record);

/** Corners of the path that stands for a thing, in page millimetres, first ring only. */
function drawn(svg: string, id: string): [number, number][] {
  const path = new RegExp(`<path d="([^"]+)"[^>]*data-of="${id.replaceAll('.', '\\.')}"`).exec(svg)!;
  const ring = path[1]!.slice(1).split('Z')[0]!;
  return ring.split('L').map((pair) => pair.split(' ').map(Number) as [number, number]);
}

describe('plan sheets', () => {
  it('one per building, and one of the site when there are several', () => {
    expect(sheets.map((sheet) => sheet.of)).toEqual(['site', 'b1', 'b2', 'b3']);
    expect(planSheets({ ...record, buildings: [record.buildings[2]!] }).map((sheet) => sheet.of)).toEqual(['b3']);
  });

  it('the page is true to size and the scale exact: every side, over the stated scale, is its length', () => {
    for (const building of record.buildings) {
      const sheet = sheets.find((one) => one.of === building.id)!;
      const svg = sheetSvg(sheet);
      // One user unit is one millimetre.
      expect(svg).toContain('width="420mm" height="297mm" viewBox="0 0 420 297"');
      for (const plane of building.roofPlanes) {
        const corners = drawn(svg, plane.id);
        expect(corners).toHaveLength(plane.outline.length);
        corners.forEach(([x, y], i) => {
          const next = (i + 1) % corners.length;
          const onPaper = Math.hypot(corners[next]![0] - x, corners[next]![1] - y);
          const [a, b] = [plane.outline[i]!, plane.outline[next]!];
          const inWorld = Math.hypot(b[0] - a[0], b[1] - a[1]);
          // Positions are written to 0.0001 mm, so a side is within 0.00015 mm on paper.
          expect(Math.abs((onPaper * sheet.scale) / 1000 - inWorld)).toBeLessThan((0.00015 * sheet.scale) / 1000);
        });
      }
    }
  });

  it('true north is up: a line bearing 0 from true north runs up the page', () => {
    const turned = recordHarbour({ gridToTrueDeg: 30 });
    const sheet = planSheets(turned).find((one) => one.of === 'b2')!;
    const corners = drawn(sheetSvg(sheet), 'b2.p1');
    const [a, b] = turned.buildings[1]!.roofPlanes[0]!.outline;
    const gridBearing = (Math.atan2(b![0] - a![0], b![1] - a![1]) * 180) / Math.PI;
    const onPaper = (Math.atan2(corners[1]![0] - corners[0]![0], -(corners[1]![1] - corners[0]![1])) * 180) / Math.PI;
    expect((((onPaper - gridBearing) % 360) + 360) % 360).toBeCloseTo(30, 3);
  });

  it('draws ponds and level lines, and lists their depth and area with the ± of both', () => {
    const svg = sheetSvg(sheets.find((sheet) => sheet.of === 'b1')!);
    const { pond } = record.buildings[0]!.lowPoints[0]!;
    expect(drawn(svg, 'b1.d1')).toHaveLength(pond!.outline.length);
    for (const shown of ['Low points, and what could be under water', 'a level line', 'cannot tell', 'likely']) expect(svg).toContain(shown);
    expect(svg.replace(/<[^>]*>/g, '')).toMatch(/0\.022 m ± 0\.012.*4\.3 m² ± 1\.7/s);
  });

  it('shows names, numbers and the edge letters of the record', () => {
    const svg = sheetSvg(sheets.find((sheet) => sheet.of === 'b1')!);
    for (const shown of ['Bäckerei Ðórshöfn, Łódź-Kai', 'EPSG:2193', 'Þóra Ó., 2026-05-13', '1 : 200', 'parapet 3', 'O1', '7c1e09af52d8']) expect(svg).toContain(shown);
    // Firm digits heavy, soft digits light: 1.42 m ± 0.05.
    expect(svg).toContain('font-weight="700">1.4</tspan><tspan class="f" font-weight="300">20</tspan>');
  });

  it('keeps every mark on the page', () => {
    for (const sheet of [...sheets, ...planSheets(recordOfManyPlanes(15, 10))]) {
      for (const mark of sheet.marks) {
        const points = mark.kind === 'path' ? mark.parts.flatMap((part) => part.points) : mark.kind === 'circle' ? [mark.centre] : [mark.at];
        for (const [x, y] of points) {
          expect(Number.isFinite(x) && Number.isFinite(y)).toBe(true);
          expect(x >= 0 && x <= 420 && y >= 0 && y <= 297, `${sheet.of} ${JSON.stringify(mark).slice(0, 200)}`).toBe(true);
        }
      }
    }
  });

  it('claims true north only where a projection gave it', () => {
    const nowhere = recordHarbour({ crs: null, gridToTrueDeg: 0 });
    const svg = sheetSvg(planSheets(nowhere).find((sheet) => sheet.of === 'b2')!);
    for (const shown of ['grid north up', 'grid; true unknown', 'azimuth, grid']) expect(svg).toContain(shown);
    expect(svg).not.toMatch(/true north|azimuth, true/);
    expect(sheetSvg(sheets.find((sheet) => sheet.of === 'b2')!)).toContain('true; grid + 0.42°');
  });

  it('A4 sheets keep the page, the scale and the content', () => {
    for (const sheet of planSheets(record, { paper: 'a4' })) {
      const svg = sheetSvg(sheet);
      expect(svg).toContain('width="297mm" height="210mm"');
      expect(sheet.paper).toBe('A4');
      for (const mark of sheet.marks) {
        const points = mark.kind === 'path' ? mark.parts.flatMap((part) => part.points) : mark.kind === 'circle' ? [mark.centre] : [mark.at];
        for (const [x, y] of points) expect(x >= 0 && x <= 297 && y >= 0 && y <= 210, JSON.stringify(mark).slice(0, 200)).toBe(true);
      }
    }
    const sheet = planSheets(record, { paper: 'a4' }).find((one) => one.of === 'b2')!;
    const [a, b] = drawn(sheetSvg(sheet), 'b2.p1');
    // The long eave of the office is 12 m.
    expect((Math.hypot(b![0] - a![0], b![1] - a![1]) * sheet.scale) / 1000).toBeCloseTo(12, 3);
  });

  it('is the same for the same record', () => {
    expect(planSheets(recordHarbour()).map(sheetSvg)).toEqual(sheets.map(sheetSvg));
  });

  /** Referee: xmllint of libxml2. */
  it.skipIf(!hasProgram('xmllint'))('is well-formed XML', () => {
    const paths = sheets.map((sheet) => folder.write(`${sheet.of}.svg`, sheetSvg(sheet)));
    expect(run('xmllint', ['--noout', ...paths])).toBe('');
  });
});

describe('parts of a sheet', () => {
  it('every edge kind has an ink of its own', () => {
    const kinds = Object.keys(EDGE_LETTER) as EdgeKind[];
    const inks = kinds.map((kind) => JSON.stringify(edgeInk(kind, [0, 0], [40, 0], [0, -1])));
    expect(new Set(inks).size).toBe(kinds.length);
  });

  it('no lettering over other lettering', () => {
    const space = new LabelSpace({ left: 0, top: 0, width: 100, height: 100 });
    expect(space.take(text([10, 10], 'ridge'))).toBe(true);
    expect(space.take(text([12, 10.5], 'hip'))).toBe(false);
    expect(space.take(text([12, 20], 'hip'))).toBe(true);
    expect(space.take(text([98, 50], 'off the sheet'))).toBe(false);
  });

  it('takes the largest usual scale that fits (ISO 5455 steps)', () => {
    expect(fittingScale(10, 5, 200, 100)).toBe(50);
    expect(fittingScale(10.1, 5, 200, 100)).toBe(100);
    expect(fittingScale(4, 2, 200, 100)).toBe(20);
    expect(fittingScale(30_000, 5, 200, 100)).toBe(150_000);
  });

  it('a section meets its planes: ridge height over the cut, ends on the eaves', () => {
    const office = record.buildings[1]!;
    const section = cutBuilding(office)!;
    const heights = section.pieces.flatMap((piece) => [piece.from[1], piece.to[1]]);
    // Eaves at 5.6 m, ridge 3.2 m higher; the cut is square to the ridge.
    expect(Math.max(...heights)).toBeCloseTo(8.8, 9);
    expect(Math.min(...heights)).toBeCloseTo(5.6, 9);
    expect(section.pieces).toHaveLength(2);
    const [left, right] = [section.pieces[0]!.from[0], section.pieces[1]!.to[0]];
    expect(Math.abs(right - left)).toBeCloseTo(9, 9);
    // Above the ground, which was seen at 1.6 m.
    expect(section.levels[0]!.heightAboveGround.value).toBeCloseTo(7.2, 9);
  });

  it('a flat roof is cut through its highest thing, past its parapet', () => {
    const section = cutBuilding(record.buildings[0]!)!;
    expect(section.things.map((thing) => thing.id)).toContain('b1.o1');
    expect(section.parapets.map((one) => one.topElevation - one.at[1])).toEqual([expect.closeTo(0.62, 9)]);
  });

  it('without seen ground no height above it is claimed', () => {
    const section = cutBuilding(record.buildings[2]!)!;
    expect(section.levels.every((level) => level.heightAboveGround.value === null)).toBe(true);
  });
});
