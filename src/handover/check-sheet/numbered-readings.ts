import { ringContains } from '../../geometry/polygon.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import { partNames } from '../../roof/part-names.ts';
import type { Building, CheckedReading, RoofEdge, RoofRecord, TapeCheck } from '../../roof/record.ts';
import { checkTape } from '../../survey/tape/check-tape.ts';

/** A reading as the plan and the tables name it. */
export interface NumberedReading {
  readonly row: CheckedReading;
  /** Building it lies on; null when it has no place. */
  readonly building: string | null;
}

/** A length still to be taped, with its letter on the plan. */
export interface NumberedNext {
  readonly mark: string;
  readonly edge: RoofEdge;
  readonly building: Building;
  readonly why: string;
  /** "eave E3, south side of p1". */
  readonly where: string;
}

/** The check of a record; one without readings says what to tape first. */
export const checkOf = (record: RoofRecord): TapeCheck => record.tape ?? checkTape(record, []);

export function numberedReadings(record: RoofRecord): NumberedReading[] {
  return checkOf(record).readings.map((row) => ({ row, building: row.placedAt?.[0] ? buildingAt(record, row.placedAt[0]) : null }));
}

export function numberedNext(record: RoofRecord): NumberedNext[] {
  const names = partNames(record);
  return checkOf(record).next.flatMap(({ edge: id, why }, i) => {
    const building = record.buildings.find(({ edges }) => edges.some((edge) => edge.id === id));
    const edge = building?.edges.find((each) => each.id === id);
    return building && edge ? [{ mark: `N${i + 1}`, edge, building, why, where: whereOf(edge, building, names, record) }] : [];
  });
}

/** A place within this of a building's outline belongs to it: eaves overhang. [m] */
const BESIDE_M = 1;

function buildingAt(record: RoofRecord, at: Vector3): string | null {
  const inside = record.buildings.find(({ outline }) => ringContains(outline, [at[0], at[1]]));
  if (inside) return inside.id;
  const gap = ({ outline }: Building): number => outline.reduce((least, [x, y], i) => Math.min(least, distanceTo([x, y], outline[(i + 1) % outline.length]!, [at[0], at[1]])), Infinity);
  const nearest = record.buildings.reduce<Building | null>((best, building) => (best && gap(best) <= gap(building) ? best : building), null);
  return nearest && gap(nearest) <= BESIDE_M ? nearest.id : null;
}

function distanceTo(a: Vector2, b: Vector2, p: Vector2): number {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const share = Math.min(1, Math.max(0, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / Math.max(dx * dx + dy * dy, 1e-12)));
  return Math.hypot(a[0] + share * dx - p[0], a[1] + share * dy - p[1]);
}

const SIDES = ['north', 'north-east', 'east', 'south-east', 'south', 'south-west', 'west', 'north-west'];

/** In words that can be said on the roof: kind and name of the edge, and which side of its planes it is. */
function whereOf(edge: RoofEdge, building: Building, names: ReadonlyMap<string, string>, record: RoofRecord): string {
  const planes = edge.planes.map((id) => names.get(id) ?? id);
  const name = `${edge.kind} ${names.get(edge.id) ?? edge.id}${record.buildings.length > 1 ? ` of ${building.id}` : ''}`;
  if (planes.length !== 1) return `${name}, between ${planes.join(' and ')}`;
  const outline = building.roofPlanes.find(({ id }) => id === edge.planes[0])?.outline ?? [];
  const mean = (axis: 0 | 1): number => outline.reduce((sum, corner) => sum + corner[axis], 0) / Math.max(1, outline.length);
  const [x, y] = [(edge.from[0] + edge.to[0]) / 2 - mean(0), (edge.from[1] + edge.to[1]) / 2 - mean(1)];
  const bearing = (Math.atan2(x, y) * 180) / Math.PI + record.frame.gridToTrueDeg;
  return `${name}, ${SIDES[((Math.round(bearing / 45) % 8) + 8) % 8]} side of ${planes[0]}`;
}
