import { slopeAreaOf } from '../../reading/roof-area.ts';
import { partNames } from '../../roof/part-names.ts';
import { cueWords } from '../../roof/drain-cues.ts';
import type { Building, EdgeKind, RoofRecord } from '../../roof/record.ts';
import { measured, missing, type Measured } from '../../units/measured.ts';
import { writeCount } from '../../units/written-reading.ts';
import { northOf } from '../north.ts';
import { lowPointWord } from '../paper/building-sheet.ts';
import { numberRuns } from '../paper/number-runs.ts';
import type { PlanSheet } from '../plan-sheets.ts';
import { column, firm, heading, paragraph, plain, table, type Block, type TableCell } from './block.ts';

/** Everything the report says of one building. */
export function buildingPart(record: RoofRecord, building: Building, sheet: PlanSheet): Block[] {
  const names = partNames(record);
  const name = (id: string): string => names.get(id) ?? id;
  return [
    { kind: 'sheet', sheet },
    heading(1, `Building ${building.id}`),
    paragraph(summary(building)),
    ...planeTable(building, name, northOf(record)),
    ...edgeTables(building, name),
    ...obstructionTable(building, name),
    ...parapetTable(building, name),
    ...lowPointTable(building, name),
  ];
}

function summary(building: Building): string {
  const ground = building.groundElevationM.value === null ? `Ground: ${building.groundElevationM.why}; heights above ground are not given.` : 'Heights above ground are from the ground seen round the building.';
  return `${counted(building.roofPlanes.length, 'roof plane')}, ${counted(building.edges.length, 'edge')}, ${counted(building.obstructions.length, 'obstruction')}. ${ground}`;
}

const counted = (count: number, what: string): string => `${count} ${what}${count === 1 ? '' : 's'}`;

type NameOf = (id: string) => string;

function planeTable(building: Building, name: NameOf, north: 'true' | 'grid'): Block[] {
  const columns = [column('', 0.08), column('pitch', 0.16, 'end'), column(`azimuth, ${north}`, 0.18, 'end'), column('slope area', 0.2, 'end'), column('plan area', 0.2, 'end'), column('points', 0.09, 'end'), column('RMS mm', 0.09, 'end')];
  const rows = building.roofPlanes.map((plane) => [
    firm(name(plane.id)),
    numberRuns(plane.pitchDeg, 'pitch'),
    numberRuns(plane.azimuthDeg, 'bearing'),
    numberRuns(plane.slopeAreaM2, 'area'),
    numberRuns(plane.planAreaM2, 'area'),
    plain(writeCount(plane.pointCount)),
    plain((plane.residualRmsM * 1000).toFixed(1)),
  ]);
  const total = [firm('all'), plain(''), plain(''), numberRuns(slopeAreaOf(building), 'area'), plain(''), plain(''), plain('')];
  return [table('Roof planes', columns, [...rows, total]), paragraph('Areas are net of openings. RMS is the scatter of the points about the plane, not the uncertainty of its numbers. The ± of the total is that of all planes together: what one gains at a border its neighbour loses.')];
}

function edgeTables(building: Building, name: NameOf): Block[] {
  if (building.edges.length === 0) return [heading(2, 'Edges'), paragraph('No edge was found.')];
  const byKind = new Map<EdgeKind, Measured[]>();
  for (const edge of building.edges) byKind.set(edge.kind, [...(byKind.get(edge.kind) ?? []), edge.slopeLengthM]);
  const sums = [...byKind].map(([kind, lengths]) => [plain(kind), plain(String(lengths.length)), numberRuns(sumOf(lengths), 'length')]);
  const columns = [column('', 0.1), column('kind', 0.18), column('slope length', 0.28, 'end'), column('joins', 0.2, 'end'), column('note', 0.24)];
  const rows = building.edges.map((edge): TableCell[] => [
    firm(name(edge.id)),
    plain(edge.kind),
    numberRuns(edge.slopeLengthM, 'length'),
    plain(edge.planes.map(name).join(', ')),
    plain(edge.note ?? ''),
  ]);
  return [
    table('Edge lengths by kind', [column('kind', 0.4), column('count', 0.2, 'end'), column('slope length together', 0.4, 'end')], sums),
    table('Edges, slope length', columns, rows),
  ];
}

/** Ends of edges are shared, so the ± are added. */
function sumOf(lengths: readonly Measured[]): Measured {
  let [value, u95] = [0, 0];
  for (const one of lengths) {
    if (one.value === null) return missing(`one has no length: ${one.why}`);
    value += one.value;
    u95 += one.u95;
  }
  return measured(value, [{ name: 'edges', u95 }]);
}

function obstructionTable(building: Building, name: NameOf): Block[] {
  if (building.obstructions.length === 0) return [heading(2, 'Obstructions'), paragraph('None was found on this roof. What is smaller than the survey resolves may still be there.')];
  const columns = [column('', 0.08), column('on', 0.07), column('shape', 0.12), column('in this survey', 0.14), column('plan area', 0.19, 'end'), column('height above roof', 0.2, 'end'), column('note', 0.2)];
  const rows = building.obstructions.map((thing) => [
    firm(name(thing.id)),
    plain(name(thing.onPlane)),
    plain(thing.shape),
    plain(thing.resolvability),
    numberRuns(thing.planAreaM2, 'area'),
    numberRuns(thing.heightAboveRoofM, 'length'),
    plain(thing.note ?? ''),
  ]);
  return [table('Obstructions', columns, rows)];
}

function parapetTable(building: Building, name: NameOf): Block[] {
  if (building.parapets.length === 0) return [];
  const columns = [column('', 0.2), column('height above roof', 0.4, 'end'), column('thickness', 0.4, 'end')];
  return [table('Parapets', columns, building.parapets.map((one) => [firm(name(one.id)), numberRuns(one.heightAboveRoofM, 'length'), numberRuns(one.thicknessM, 'length')]))];
}

function lowPointTable(building: Building, name: NameOf): Block[] {
  if (building.lowPoints.length === 0) return [];
  const columns = [column('', 0.07), column('depth', 0.17, 'end'), column('plan area that drains to it', 0.17, 'end'), column('under water before it spills, plan', 0.18, 'end'), column('drain here', 0.14), column('what speaks for it', 0.27)];
  const rows = building.lowPoints.map((one) => [firm(name(one.id)), numberRuns(one.depthM, 'length'), numberRuns(one.drainedPlanAreaM2, 'area'), one.pond ? numberRuns(one.pond.planAreaM2, 'area') : plain(''), plain(lowPointWord(one)), plain(cueWords(one) || (one.note ?? ''))]);
  return [table('Low points', columns, rows), ...(building.lowPoints.some(({ pond }) => pond) ? [paragraph(POND_CAUTION)] : [])];
}

const POND_CAUTION =
  'Dotted rings on the plan show what could hold water before it spills, on the dry roof as measured. A loaded deck bends further: water that stands longer than two days after rain (common usage of the trade) is for a roofer and a structural engineer to judge.';
