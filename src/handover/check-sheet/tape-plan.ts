import { exaggeration } from '../../geometry/round-factor.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import type { Building, RoofRecord } from '../../roof/record.ts';
import type { HandoverOptions } from '../handover-kind.ts';
import { northOf } from '../north.ts';
import { siteName } from '../paper/building-sheet.ts';
import { boxMark, northMarks, scaleBarMarks } from '../paper/furniture.ts';
import { LabelSpace } from '../paper/label-space.ts';
import { area, circle, DOUBT, INK, INK_2, MID, polyline, SELECT, text, type Mark, type TextMark } from '../paper/mark.ts';
import { planView, type PaperBox, type PlanView } from '../paper/plan-view.ts';
import type { PlanSheet } from '../plan-sheets.ts';
import { checkOf, type NumberedNext, type NumberedReading } from './numbered-readings.ts';

/** ISO 216 A4, landscape; margins as ISO 5457:1999. [mm] */
const PAGE = { width: 297, height: 210 };
const FRAME: PaperBox = { left: 20, top: 10, width: 267, height: 190 };
const HEAD = 16;
const FOOT = 18;
/** Length of the longest residual vector on paper. [mm] */
const LONGEST_VECTOR = 16;

/** Key plan of one building: where each reading was taken, by its number, and where to tape next. */
export function tapePlan(record: RoofRecord, building: Building, readings: readonly NumberedReading[], next: readonly NumberedNext[], options: HandoverOptions): PlanSheet {
  const here = readings.filter((each) => each.building === building.id);
  const nextHere = next.filter((each) => each.building === building);
  const box: PaperBox = { left: FRAME.left + 2, top: FRAME.top + HEAD, width: FRAME.width - 4, height: FRAME.height - HEAD - FOOT };
  const positions: (Vector2 | Vector3)[] = [...building.outline, ...building.roofPlanes.flatMap((plane) => [...plane.outline]), ...here.flatMap(({ row }) => [...(row.placedAt ?? [])])];
  const view = planView(positions, box, record.frame.gridToTrueDeg, 22);
  const labels = new LabelSpace(box);
  const vectors = vectorMarks(record, view, new Set(here.map(({ row }) => row.id)));
  const head = here.length > 0 ? 'Where it was taped' : 'Where to tape';
  const foot = FRAME.top + FRAME.height - FOOT;
  const marks: Mark[] = [
    boxMark(FRAME, 0.6),
    ...roofMarks(building, view),
    ...nextHere.flatMap((each) => nextMarks(each, view, labels)),
    ...uniquePlaces(here).flatMap((each) => readingMarks(each, view, labels)),
    ...vectors.marks,
    text([FRAME.left + 5, FRAME.top + 8], `${head}: ${building.id}`, { size: 6, face: 'lettering-firm' }),
    text([FRAME.left + 5, FRAME.top + 13], `1 : ${view.scale} on A4, ${northOf(record)} north up`, { ink: INK_2 }),
    ...northMarks([FRAME.left + FRAME.width - 12, FRAME.top + 18], northOf(record)),
    ...scaleBarMarks([FRAME.left + 6, foot + 8], view.scale, 70),
    polyline([[FRAME.left + 112, foot + 6], [FRAME.left + 122, foot + 6]], { stroke: SELECT, width: 0.7 }),
    text([FRAME.left + 124, foot + 7], 'taped; the number is its row in the tables'),
    polyline([[FRAME.left + 112, foot + 12], [FRAME.left + 122, foot + 12]], { stroke: DOUBT, width: 0.7, dash: [2, 1.2] }),
    text([FRAME.left + 124, foot + 13], 'to be taped next'),
    ...(vectors.factor === null ? [] : [text([FRAME.left + 190, foot + 7], `▸ ours minus survey, × ${vectors.factor}`.replace('▸ ', 'arrow: ')), text([FRAME.left + 190, foot + 13], 'dashed: what the fit leaves')]),
  ];
  return {
    of: `tape-${building.id}`,
    title: `${siteName({ record, options })}: ${head.toLowerCase()}, ${building.id}`,
    describes: `Plan of building ${building.id} with the places of ${here.length} readings and ${nextHere.length} lengths to tape next. The tables hold the same numbers.`,
    widthMm: PAGE.width,
    heightMm: PAGE.height,
    marks,
    scale: view.scale,
    paper: 'A4',
  };
}

/** Planes, edges and what stands on them, thin: the readings are what this plan is for. */
function roofMarks(building: Building, view: PlanView): Mark[] {
  const ring = (corners: readonly (Vector2 | Vector3)[]): Vector2[] => corners.map(view.toPaper);
  return [
    ...building.roofPlanes.map((plane) => area([plane.outline, ...plane.holes].map(ring), { fill: '#fbfcfa', stroke: MID, width: 0.18 }, plane.id)),
    ...building.edges.map((edge) => polyline([view.toPaper(edge.from), view.toPaper(edge.to)], { stroke: INK, width: 0.25 })),
    ...building.obstructions.map((thing) => area([ring(thing.footprint)], { stroke: INK_2, width: 0.25 }, thing.id)),
  ];
}

/** The three numbers of one checkpoint share one place. */
function uniquePlaces(readings: readonly NumberedReading[]): NumberedReading[] {
  const seen = new Set<string>();
  return readings.filter(({ row }) => {
    const name = nameOf(row.id, row.kind);
    return !seen.has(name) && seen.add(name);
  });
}

const nameOf = (id: string, kind: string): string => (kind.startsWith('checkpoint-') ? id.slice(0, id.lastIndexOf('-')) : id);

function readingMarks({ row }: NumberedReading, view: PlanView, labels: LabelSpace): Mark[] {
  const places = (row.placedAt ?? []).map(view.toPaper);
  const [a, b] = places;
  if (!a) return [];
  const name = nameOf(row.id, row.kind);
  if (!b) return [circle(a, 1, { fill: SELECT }), ...withLeader(a, name, INK, labels)];
  const run = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const ends = places.map((end) => circle(end, 0.8, { fill: SELECT }));
  const line = polyline([a, b], { stroke: SELECT, width: 0.7 });
  // A plumb height is one place from above.
  return run < 1 ? [circle(a, 1, { fill: SELECT }), ...withLeader(a, name, INK, labels)] : [line, ...ends, ...alongLine(a, b, name, INK, labels)];
}

function nextMarks({ mark, edge }: NumberedNext, view: PlanView, labels: LabelSpace): Mark[] {
  const [a, b] = [view.toPaper(edge.from), view.toPaper(edge.to)];
  return [polyline([a, b], { stroke: DOUBT, width: 0.7, dash: [2, 1.2] }), ...alongLine(a, b, mark, INK, labels)];
}

function alongLine(a: Vector2, b: Vector2, name: string, ink: string, labels: LabelSpace): Mark[] {
  const run = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
  const normal: Vector2 = [-(b[1] - a[1]) / run, (b[0] - a[0]) / run];
  const places: TextMark[] = [];
  for (const aside of [3.6, -3.6, 7.5, -7.5]) {
    for (const share of [0.5, 0.35, 0.65, 0.2, 0.8]) {
      places.push(text([a[0] + (b[0] - a[0]) * share + normal[0] * aside, a[1] + (b[1] - a[1]) * share + normal[1] * aside + 1.2], name, { face: 'lettering-firm', size: 3.4, anchor: 'middle', ink, halo: true }));
    }
  }
  const placed = labels.firstThatFits(places);
  return placed ? [placed] : withLeader([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], name, ink, labels);
}

function withLeader(from: Vector2, name: string, ink: string, labels: LabelSpace): Mark[] {
  for (const reach of [4, 7, 11, 16]) {
    for (const [dx, dy] of [[1, -1], [-1, -1], [1, 1], [-1, 1], [1, 0], [-1, 0]] as const) {
      const knee: Vector2 = [from[0] + dx * reach, from[1] + dy * reach * 0.8];
      const mark = text([knee[0] + Math.sign(dx), knee[1] + 1.1], name, { face: 'lettering-firm', size: 3.4, anchor: dx > 0 ? 'start' : 'end', ink, halo: true });
      if (labels.take(mark)) return [polyline([from, knee], { stroke: INK_2, width: 0.18 }), mark];
    }
  }
  return [];
}

/** Arrows from the survey to ours at each checkpoint on this building. */
function vectorMarks(record: RoofRecord, view: PlanView, ids: ReadonlySet<string>): { readonly marks: Mark[]; readonly factor: number | null } {
  const vectors = (checkOf(record).site?.vectors ?? []).filter(({ id }) => [...ids].some((each) => each.startsWith(`${id}-`)));
  if (vectors.length === 0) return { marks: [], factor: null };
  const factor = exaggeration(vectors.flatMap(({ beforeM, afterM }) => [beforeM, afterM]), (LONGEST_VECTOR * view.scale) / 1000);
  const marks = vectors.flatMap(({ at, beforeM, afterM }): Mark[] => {
    const tip = ([dx, dy]: readonly (number | null)[]): Vector2 => view.toPaper([at[0] + (dx ?? 0) * factor, at[1] + (dy ?? 0) * factor]);
    const from = view.toPaper(at);
    return [polyline([from, tip(afterM)], { stroke: INK, width: 0.35, dash: [1, 0.7] }), ...arrow(from, tip(beforeM))];
  });
  return { marks, factor };
}

function arrow(from: Vector2, to: Vector2): Mark[] {
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
  if (run < 0.3) return [];
  const [ux, uy] = [(to[0] - from[0]) / run, (to[1] - from[1]) / run];
  const back = (side: number): Vector2 => [to[0] - ux * 2 - uy * side, to[1] - uy * 2 + ux * side];
  return [polyline([from, to], { stroke: SELECT, width: 0.5 }), area([[to, back(0.7), back(-0.7)]], { fill: SELECT })];
}
