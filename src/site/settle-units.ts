import type { Vector3 } from '../geometry/vector.ts';
import type { ProjectedEntry } from './epsg/epsg-entry.ts';
import type { KnownStatement } from './known-statement.ts';

export const UNIT_TO_METRE = { m: 1, ft: 0.3048, 'us-ft': 12 / 39.37 } as const;

export interface SettledUnits {
  readonly unitToMetre: number;
  readonly verticalUnitToMetre: number;
}

/** Two statements of one unit may differ in their last printed digit. */
const isSame = (a: number, b: number): boolean => Math.abs(a / b - 1) < 1e-7;

/** Name of a unit for a person. */
export function unitName(unitToMetre: number): string {
  if (isSame(unitToMetre, 1)) return 'metres';
  if (isSame(unitToMetre, UNIT_TO_METRE.ft)) return 'international feet';
  if (isSame(unitToMetre, UNIT_TO_METRE['us-ft'])) return 'US survey feet';
  return `units of ${unitToMetre} m`;
}

/**
 * Chooses the unit of plan and height: what a person says, else what the file says, else what its projection uses, else
 * metres. Everything but the first two leaves a note, and so does every contradiction.
 */
export function settleUnits(
  known: readonly KnownStatement[],
  entry: ProjectedEntry | null,
  asked: keyof typeof UNIT_TO_METRE | undefined,
  bounds: { readonly min: Vector3; readonly max: Vector3 },
  notes: string[],
): SettledUnits {
  const said = known.flatMap(({ origin, unitToMetre }) => (unitToMetre === null ? [] : [{ origin, unitToMetre }]));
  const first = said[0] ?? (entry ? { origin: `the definition of EPSG:${entry.code}`, unitToMetre: entry.unitToMetre } : null);
  const candidates = entry ? [...said, { origin: `the definition of EPSG:${entry.code}`, unitToMetre: entry.unitToMetre }] : said;
  const rival = first ? candidates.find(({ unitToMetre }) => !isSame(unitToMetre, first.unitToMetre)) : undefined;
  let unitToMetre: number;
  if (asked !== undefined) {
    unitToMetre = UNIT_TO_METRE[asked];
    const against = candidates.find((candidate) => !isSame(candidate.unitToMetre, unitToMetre));
    if (against) notes.push(`Contradiction: ${unitName(against.unitToMetre)} by ${against.origin}; ${unitName(unitToMetre)} were asked for and are used.`);
  } else if (first) {
    unitToMetre = first.unitToMetre;
    if (rival) {
      notes.push(`Contradiction: ${unitName(first.unitToMetre)} by ${first.origin}, ${unitName(rival.unitToMetre)} by ${rival.origin}; ${unitName(unitToMetre)} are used. Say --unit to decide.`);
    }
  } else {
    unitToMetre = 1;
    notes.push(`No unit is stated: ${sizeIn(bounds)} are taken as metres. Say --unit ft or --unit us-ft if they are feet.`);
  }
  return { unitToMetre, verticalUnitToMetre: verticalUnit(known, unitToMetre, asked !== undefined, notes) };
}

function verticalUnit(known: readonly KnownStatement[], unitToMetre: number, isAsked: boolean, notes: string[]): number {
  const said = known.flatMap(({ origin, verticalUnitToMetre }) => (verticalUnitToMetre === null ? [] : [{ origin, unit: verticalUnitToMetre }]));
  const first = said[0];
  if (!first) {
    if (!isSame(unitToMetre, 1) && !isAsked) notes.push(`No unit of height is stated: heights are taken as ${unitName(unitToMetre)} too.`);
    return unitToMetre;
  }
  const rival = said.find(({ unit }) => !isSame(unit, first.unit));
  if (rival) notes.push(`Contradiction: heights are in ${unitName(first.unit)} by ${first.origin} and in ${unitName(rival.unit)} by ${rival.origin}; ${unitName(first.unit)} are used.`);
  if (isAsked && !isSame(first.unit, unitToMetre)) {
    notes.push(`Contradiction: heights are in ${unitName(first.unit)} by ${first.origin}; ${unitName(unitToMetre)} were asked for and are used.`);
    return unitToMetre;
  }
  return first.unit;
}

const sizeIn = ({ min, max }: { readonly min: Vector3; readonly max: Vector3 }): string =>
  `coordinates (${(max[0] - min[0]).toPrecision(3)} × ${(max[1] - min[1]).toPrecision(3)} × ${(max[2] - min[2]).toPrecision(3)})`;
