import type { Building, BuildingLayout, RoofRecord } from '../roof/record.ts';
import { isKnown, type Measured } from '../units/measured.ts';

const COLUMNS = ['building', 'roof m²', 'usable m²', 'edge', 'thing', 'access', 'shade', 'small', 'steep', 'away', 'under', 'modules', 'at most', 'kWp', 'kWh a year', 'shade', 'of need'];
const CSV_COLUMNS = [
  'building', 'roof_slope_m2', 'usable_m2', 'usable_u95_m2', 'lost_edge_m2', 'lost_obstruction_m2', 'lost_access_m2', 'lost_shade_m2',
  'lost_too_small_m2', 'lost_too_steep_m2', 'lost_facing_away_m2', 'lost_beneath_m2', 'lost_height_unknown_m2', 'modules', 'upper_bound', 'rated_kw', 'yearly_kwh', 'yearly_u95_kwh', 'shade_loss', 'need_share',
];

/** One building's figures, summed over its planes. */
interface Row {
  readonly id: string;
  readonly roofM2: number;
  /** In the order of the columns; with these the usable area adds up to the roof. [m²] */
  readonly lost: readonly number[];
  readonly layout: BuildingLayout;
  /** Share of light lost to shade on its modules; null without modules or shade. */
  readonly shadeLoss: number | null;
  /** Share of the whole need; null without one. */
  readonly needShare: number | null;
}

function rowsOf(record: RoofRecord): Row[] {
  const usable = new Map(record.usable?.planes.map((plane) => [plane.id, plane]));
  const layouts = new Map(record.layout?.buildings?.map((layout) => [layout.id, layout]));
  return record.buildings.flatMap((building): Row[] => {
    const layout = layouts.get(building.id);
    return layout ? [rowOf(building, layout, usable, record.layout!.needKwh)] : [];
  });
}

function rowOf(building: Building, layout: BuildingLayout, usable: ReadonlyMap<string, NonNullable<RoofRecord['usable']>['planes'][number]>, needKwh: number | null): Row {
  const lost = Array.from({ length: 9 }, () => 0);
  let roofM2 = 0;
  for (const { id, slopeAreaM2 } of building.roofPlanes) {
    roofM2 += slopeAreaM2.value ?? 0;
    const { lostM2: of, otherM2: other } = usable.get(id) ?? {};
    if (!of || !other) continue;
    [of.edge, of.obstruction, of.access, of.shade, other.tooSmall, other.tooSteep, other.facingAway, other.beneath, other.unknownHeight].forEach((area, i) => (lost[i]! += area));
  }
  const energy = layout.yearlyEnergyKwh;
  return {
    id: building.id, roofM2, lost, layout,
    shadeLoss: layout.solarAccess === null ? null : 1 - layout.solarAccess,
    needShare: needKwh !== null && isKnown(energy) ? energy.value / needKwh : null,
  };
}

/** A table for the terminal: buildings with modules one a line, the others summed in one. */
export function fitTable(record: RoofRecord): string {
  const rows = rowsOf(record);
  const holding = rows.filter(({ layout }) => layout.count > 0);
  const lines = [COLUMNS, ...holding.map(cellsOf)];
  const widths = COLUMNS.map((_, i) => Math.max(...lines.map((line) => line[i]!.length)));
  const text = lines.map((line) => line.map((cell, i) => (i === 0 ? cell.padEnd(widths[i]!) : cell.padStart(widths[i]!))).join('  '));
  if (holding.some(({ lost }) => lost[8]! > 0)) text.push('Planes whose height above ground a rule asks for and nobody knows are left out; give --building-height-m.');
  const empty = rows.length - holding.length;
  if (empty > 0) {
    const area = rows.reduce((sum, { roofM2, layout }) => sum + (layout.count === 0 ? roofM2 : 0), 0);
    text.push(`${empty} building${empty === 1 ? ' holds' : 's hold'} no module (${area.toFixed(0)} m² of roof).`);
  }
  return text.join('\n');
}

function cellsOf({ id, roofM2, lost, layout, shadeLoss, needShare }: Row): string[] {
  const percent = (share: number | null): string => (share === null ? '' : `${(100 * share).toFixed(1)} %`);
  return [
    id, roofM2.toFixed(1), plusMinus(layout.usableM2, 1), ...lost.slice(0, 8).map((area) => area.toFixed(1)), String(layout.count), String(layout.upperBound),
    layout.ratedPowerKw.toFixed(2), plusMinus(layout.yearlyEnergyKwh, 0), percent(shadeLoss), percent(needShare),
  ];
}

const plusMinus = (number: Measured, decimals: number): string =>
  isKnown(number) ? `${number.value.toFixed(decimals)} ± ${number.u95.toFixed(decimals)}` : 'not known';

/** Every building as a row of CSV; units stand in the names, a number not known is empty. */
export function fitCsv(record: RoofRecord): string {
  const written = (value: number | null, decimals: number): string => (value === null ? '' : value.toFixed(decimals));
  const rows = rowsOf(record).map(({ id, roofM2, lost, layout, shadeLoss, needShare }) => [
    id, roofM2.toFixed(3), written(layout.usableM2.value, 3), written(isKnown(layout.usableM2) ? layout.usableM2.u95 : null, 3),
    ...lost.map((area) => area.toFixed(3)), layout.count, layout.upperBound, layout.ratedPowerKw.toFixed(3),
    written(layout.yearlyEnergyKwh.value, 1), written(isKnown(layout.yearlyEnergyKwh) ? layout.yearlyEnergyKwh.u95 : null, 1),
    written(shadeLoss, 4), written(needShare, 4),
  ].join(','));
  return `${[CSV_COLUMNS.join(','), ...rows].join('\r\n')}\r\n`;
}
