import { slopeAreaOf } from '../../reading/roof-area.ts';
import { partNames } from '../../roof/part-names.ts';
import type { Building, EdgeKind, LowPoint, RoofRecord } from '../../roof/record.ts';
import { crsOf, type HandoverOptions } from '../handover-kind.ts';
import { northOf, northText } from '../north.ts';
import { cutBuilding } from '../section.ts';
import { Column } from './column.ts';
import { boxMark, frameMarks, legendMarks, northMarks, scaleBarMarks, STRIP, titleBlockMarks, type TitleCell } from './furniture.ts';
import { INK, INK_2, polyline, text, type Mark, type TextRun } from './mark.ts';
import { numberRuns } from './number-runs.ts';
import { cutLineMarks, planMarks } from './plan.ts';
import { planView, type PaperBox } from './plan-view.ts';
import { sectionMarks } from './section-drawing.ts';
import type { Sheet } from './svg.ts';

/** Where things stand on a sheet. [mm] */
interface SheetLayout {
  readonly name: 'A3' | 'A4';
  readonly page: { readonly width: number; readonly height: number };
  /** Inside the frame. */
  readonly sheet: PaperBox;
  /** The frame less the notes column. */
  readonly drawing: PaperBox;
  /** Strip under the plan for section, legend and scale bar. */
  readonly lower: number;
  readonly sectionWidth: number;
  readonly legendPerRow: number;
}

/** ISO 216 sizes, landscape; margins as ISO 5457:1999 draws them, 20 mm at the binding edge and 10 mm else. */
const LAYOUTS: Readonly<Record<'a3' | 'a4', SheetLayout>> = {
  a3: sheetLayout('A3', 420, 297, 128, 66, 138, 3),
  a4: sheetLayout('A4', 297, 210, 96, 50, 96, 2),
};

function sheetLayout(name: SheetLayout['name'], width: number, height: number, column: number, lower: number, sectionWidth: number, legendPerRow: number): SheetLayout {
  const sheet: PaperBox = { left: 20, top: 10, width: width - 30, height: height - 20 };
  return { name, page: { width, height }, sheet, drawing: { ...sheet, width: sheet.width - column }, lower, sectionWidth, legendPerRow };
}

const layoutOf = (options: HandoverOptions): SheetLayout => LAYOUTS[options.paper ?? 'a3'];

/** Kept free at the foot of the column for how to read the numbers and the caution. [mm] */
const NOTES_HEIGHT = 30;

/** What a sheet needs to know besides the record. */
export interface SheetContext {
  readonly record: RoofRecord;
  readonly options: HandoverOptions;
  readonly number: number;
  readonly count: number;
}

/** Plan of one building to scale with its section, legend and numbers. */
export function buildingSheet(context: SheetContext, building: Building): Sheet & { readonly scale: number; readonly paper: string } {
  const { record } = context;
  const layout = layoutOf(context.options);
  const { drawing, lower } = layout;
  const section = cutBuilding(building);
  const planBox: PaperBox = { left: drawing.left + STRIP, top: drawing.top + STRIP + 12, width: drawing.width - STRIP, height: drawing.height - STRIP - 12 - lower };
  const corners = [...building.outline, ...building.roofPlanes.flatMap((plane) => plane.outline)];
  const view = planView(corners, planBox, record.frame.gridToTrueDeg, 14);
  const foot = planBox.top + planBox.height;
  const legendLeft = drawing.left + STRIP + layout.sectionWidth + 10;

  const marks: Mark[] = [...planMarks(record, [building], view, 'building')];
  let scales = `1 : ${view.scale}`;
  if (section !== null) {
    marks.push(...cutLineMarks(view, section.from, section.to, 'A'));
    const drawn = sectionMarks(section, { left: drawing.left + STRIP + 4, top: foot + 2, width: layout.sectionWidth, height: lower - 6 }, 'A');
    marks.push(...drawn.marks);
    if (drawn.scale !== view.scale) scales += `; section 1 : ${drawn.scale}`;
  }
  marks.push(...legendMarks([legendLeft, foot + 6], edgeCounts(building), layout.legendPerRow));
  marks.push(...scaleBarMarks([legendLeft, foot + lower - 9], view.scale, drawing.left + drawing.width - legendLeft - 16));
  marks.push(...northMarks([drawing.left + drawing.width - 14, drawing.top + STRIP + 15], northOf(record)));
  marks.push(...headMarks(layout, `Plan of ${building.id}`, view.scale, northOf(record)));
  marks.push(...notes(context, layout, building, scales));
  marks.push(...rims(layout));
  return {
    title: `${siteName(context)}: plan of ${building.id}`,
    describes: `Plan of building ${building.id} at 1 : ${view.scale}: ${building.roofPlanes.length} roof planes, ${building.edges.length} edges, ${building.obstructions.length} obstructions. The tables hold the same numbers.`,
    widthMm: layout.page.width,
    heightMm: layout.page.height,
    marks,
    scale: view.scale,
    paper: layout.name,
  };
}

/** All buildings of a survey in one plan. */
export function siteSheet(context: SheetContext): Sheet & { readonly scale: number; readonly paper: string } {
  const { record } = context;
  const layout = layoutOf(context.options);
  const { drawing } = layout;
  const planBox: PaperBox = { left: drawing.left + STRIP, top: drawing.top + STRIP + 12, width: drawing.width - STRIP, height: drawing.height - STRIP - 30 };
  const view = planView(record.buildings.flatMap((building) => building.outline), planBox, record.frame.gridToTrueDeg, 10);
  const column = newColumn(layout, titleRows(context, layout, 'All buildings', `1 : ${view.scale}`));
  column.column.table({
    title: 'Buildings',
    heads: ['', 'planes', 'obstructions', 'slope area'],
    columns: [{ share: 0.2, side: 'start' }, { share: 0.15, side: 'end' }, { share: 0.25, side: 'end' }, { share: 0.4, side: 'end' }],
    rows: record.buildings.map((building) => [
      [{ text: building.id, face: 'figures-firm' }],
      [{ text: String(building.roofPlanes.length), face: 'figures' }],
      [{ text: String(building.obstructions.length), face: 'figures' }],
      numberRuns(slopeAreaOf(building), 'area'),
    ]),
  });
  return {
    title: `${siteName(context)}: site plan`,
    describes: `Site plan at 1 : ${view.scale} with ${record.buildings.length} buildings.`,
    widthMm: layout.page.width,
    heightMm: layout.page.height,
    marks: [
      ...planMarks(record, record.buildings, view, 'site'),
      ...scaleBarMarks([drawing.left + 14, drawing.top + drawing.height - 12], view.scale, 82),
      ...northMarks([drawing.left + drawing.width - 14, drawing.top + STRIP + 15], northOf(record)),
      ...headMarks(layout, 'Site plan', view.scale, northOf(record)),
      ...column.marks,
      ...column.column.marks,
      ...rims(layout),
    ],
    scale: view.scale,
    paper: layout.name,
  };
}

/** What is said of a low point as a drain. */
export const lowPointWord = ({ verdict, lowLine }: LowPoint): string => (verdict === 'cannot-tell' ? 'cannot tell' : lowLine ? 'a level line' : verdict);

export function edgeCounts(building: Building): Map<EdgeKind, number> {
  const counts = new Map<EdgeKind, number>();
  for (const edge of building.edges) counts.set(edge.kind, (counts.get(edge.kind) ?? 0) + 1);
  return counts;
}

export function siteName({ record, options }: Pick<SheetContext, 'record' | 'options'>): string {
  return options.site ?? record.sources[0]?.file.replace(/\.[^.]+$/, '') ?? 'Roof survey';
}

function headMarks({ drawing, name }: SheetLayout, title: string, scale: number, north: 'true' | 'grid'): Mark[] {
  const [x, y] = [drawing.left + STRIP + 4, drawing.top + STRIP + 8];
  return [text([x, y], title, { size: 6, face: 'lettering-firm' }), text([x, y + 5.4], `1 : ${scale} on ${name}, ${north} north up`, { ink: INK_2 })];
}

/** Frame, zones and the line before the notes column. */
function rims({ sheet, drawing }: SheetLayout): Mark[] {
  const right = drawing.left + drawing.width;
  return [boxMark(sheet, 0.6), ...frameMarks(drawing, 6, 4), polyline([[right, sheet.top], [right, sheet.top + sheet.height]], { stroke: INK, width: 0.6 })];
}

function newColumn({ sheet, drawing }: SheetLayout, rows: readonly (readonly TitleCell[])[]): { readonly column: Column; readonly marks: Mark[] } {
  const box: PaperBox = { left: drawing.left + drawing.width, top: sheet.top, width: sheet.width - drawing.width, height: sheet.height };
  const { marks, height } = titleBlockMarks(box, rows);
  return { column: new Column(box.left + 4, box.top + 3, box.width - 8, box.top + box.height - height - 3), marks };
}

function titleRows({ record, number, count, options }: SheetContext, { name }: SheetLayout, what: string, scales: string): TitleCell[][] {
  const { sampling, madeBy } = record;
  const signed = record.decisions.filter((decision) => decision.what === 'sign');
  const last = signed[signed.length - 1];
  return [
    [{ head: 'survey', lines: [siteName({ record, options }), what], span: 4, strong: true }, { head: 'sheet', lines: [`${number} of ${count}`, name], span: 2, strong: true }],
    [
      { head: 'scale', lines: [scales], span: 2 },
      { head: 'north', lines: [northText(record)], span: 2 },
      { head: 'spacing, noise', lines: [`${(sampling.pointSpacingM * 1000).toFixed(0)} mm, ${(sampling.noiseM * 1000).toFixed(1)} mm`], span: 2 },
    ],
    [
      { head: 'coordinates', lines: [crsOf(record, options) ?? 'local, no projection stated'], span: 3 },
      { head: 'signed', lines: [last === undefined ? '' : `${last.by}, ${last.at.slice(0, 10)}`], span: 3 },
    ],
    [{ head: 'record', lines: [`${record.sources[0]?.sha256.slice(0, 12) ?? ''}  roofdatum ${madeBy.version}, seed ${madeBy.seed}`], span: 6 }],
  ];
}

function notes(context: SheetContext, layout: SheetLayout, building: Building, scales: string): Mark[] {
  const { record } = context;
  const names = partNames(record);
  const name = (id: string): TextRun[] => [{ text: names.get(id) ?? id, face: 'figures-firm' }];
  const { column, marks } = newColumn(layout, titleRows(context, layout, `Building ${building.id}`, scales));
  column.hero(numberRuns(slopeAreaOf(building), 'area'), `slope area of ${building.roofPlanes.length} roof planes`);
  column.table({
    title: 'Roof planes',
    heads: ['', 'pitch', `azimuth, ${northOf(record)}`, 'slope area'],
    columns: [{ share: 0.12, side: 'start' }, { share: 0.26, side: 'end' }, { share: 0.3, side: 'end' }, { share: 0.32, side: 'end' }],
    rows: building.roofPlanes.map((plane) => [name(plane.id), numberRuns(plane.pitchDeg, 'pitch'), numberRuns(plane.azimuthDeg, 'bearing'), numberRuns(plane.slopeAreaM2, 'area')]),
  }, NOTES_HEIGHT + 0.4 * (column.room - NOTES_HEIGHT));
  column.table({
    title: 'In the way',
    heads: ['', 'what', 'size in plan', 'height above roof'],
    columns: [{ share: 0.12, side: 'start' }, { share: 0.3, side: 'start' }, { share: 0.26, side: 'end' }, { share: 0.32, side: 'end' }],
    rows: building.obstructions.map((thing) => [
      name(thing.id),
      [{ text: thing.resolvability === 'resolved' ? thing.shape : `${thing.shape}, ${thing.resolvability}`, face: 'figures' }],
      numberRuns(thing.planAreaM2, 'area'),
      numberRuns(thing.heightAboveRoofM, 'length'),
    ]),
  }, NOTES_HEIGHT + 0.3 * (column.room - NOTES_HEIGHT));
  column.table({
    title: 'Low points, and what could be under water',
    heads: ['', 'drain here', 'depth', 'under water, plan'],
    columns: [{ share: 0.12, side: 'start' }, { share: 0.26, side: 'start' }, { share: 0.3, side: 'end' }, { share: 0.32, side: 'end' }],
    rows: building.lowPoints.map((low) => [
      name(low.id),
      [{ text: lowPointWord(low), face: 'figures' }],
      numberRuns(low.depthM, 'length'),
      low.pond ? numberRuns(low.pond.planAreaM2, 'area') : [],
    ]),
  }, NOTES_HEIGHT + 0.2 * (column.room - NOTES_HEIGHT));
  const planes = new Set(building.roofPlanes.map((plane) => plane.id));
  const small = record.smallFeatures.filter((thing) => thing.onPlane !== null && planes.has(thing.onPlane));
  column.table({
    title: 'Too small to trust: verify on site',
    heads: ['', 'what', 'width', 'in this survey'],
    columns: [{ share: 0.12, side: 'start' }, { share: 0.22, side: 'start' }, { share: 0.41, side: 'end' }, { share: 0.25, side: 'end' }],
    rows: small.map((thing) => [name(thing.id), [{ text: thing.kind, face: 'figures' }], numberRuns(thing.widthM, 'length'), [{ text: thing.resolvability, face: 'figures' }]]),
  }, NOTES_HEIGHT);
  column.table(
    {
      title: 'Edges, slope length',
      heads: ['', 'kind', 'length', 'joins'],
      columns: [{ share: 0.12, side: 'start' }, { share: 0.3, side: 'start' }, { share: 0.36, side: 'end' }, { share: 0.22, side: 'end' }],
      rows: building.edges.map((edge) => [name(edge.id), [{ text: edge.kind, face: 'figures' }], numberRuns(edge.slopeLengthM, 'length'), [{ text: edge.planes.map((id) => names.get(id) ?? id).join(', '), face: 'figures' }]]),
    },
    NOTES_HEIGHT,
  );
  column.heading('How to read the numbers');
  column.sentence('Heavy digits are firm. Light digits lie inside the ±, which holds the true value in 95 of 100 cases. Lengths run along the surface unless they say plan.');
  column.sentence('falls, live parts, load and fire access are for licensed persons under local code. This sheet settles none of them.', 'Before anyone climbs:');
  return [...marks, ...column.marks];
}
