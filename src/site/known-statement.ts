import type { CrsStatement } from './crs-statement.ts';
import { findProjectedByName, lookUpEpsg, type ProjectedEntry } from './epsg/epsg-entry.ts';

/** A statement with what the table of coordinate systems knows about it. */
export interface KnownStatement {
  readonly origin: string;
  readonly kind: CrsStatement['kind'];
  /** Code and name, for messages. */
  readonly label: string;
  readonly entry: ProjectedEntry | null;
  readonly unitToMetre: number | null;
  readonly verticalUnitToMetre: number | null;
}

/** Looks every statement's codes and name up; what is odd about one goes to the notes. */
export async function readStatements(statements: readonly CrsStatement[], notes: string[]): Promise<KnownStatement[]> {
  const known: KnownStatement[] = [];
  for (const statement of statements) known.push(await readStatement(statement, notes));
  return known;
}

async function readStatement(statement: CrsStatement, notes: string[]): Promise<KnownStatement> {
  const { origin, name, epsg } = statement;
  let { kind, verticalEpsg } = statement;
  let found = epsg === null ? null : await lookUpEpsg(epsg);
  if (found?.kind === 'compound') {
    verticalEpsg ??= found.vertical;
    found = await lookUpEpsg(found.horizontal);
  }
  let entry: ProjectedEntry | null = null;
  if (found?.kind === 'projected') {
    entry = found;
    if (kind === 'unknown') kind = 'projected';
    else if (kind !== 'projected') notes.push(`Contradiction in the file (${origin}): it says ${kind}, and EPSG:${epsg} (${found.name}) is projected.`);
  } else if (found?.kind === 'geographic' || found?.kind === 'geocentric') {
    if (kind === 'projected') notes.push(`Contradiction in the file (${origin}): it says projected, and EPSG:${epsg} (${found.name}) is ${found.kind}.`);
    else kind = found.kind;
  } else if (epsg !== null) {
    notes.push(`The file states EPSG:${epsg}${name === null ? '' : ` (${name})`} (${origin}), which is not in the table of coordinate systems.`);
  }
  if (!entry && kind === 'projected' && name !== null) {
    entry = await findProjectedByName(name.split(' + ')[0]!);
    if (entry) notes.push(`The file states "${name}" without a code (${origin}); EPSG:${entry.code} has that name.`);
  }
  if (!entry && kind === 'projected' && epsg === null) {
    notes.push(`The file states a projection${name === null ? '' : ` "${name}"`} without an EPSG code (${origin}). Say --crs EPSG:n if you know it.`);
  }
  const vertical = verticalEpsg === null ? null : await lookUpEpsg(verticalEpsg);
  return {
    origin,
    kind,
    label: [epsg === null ? null : `EPSG:${epsg}`, found && 'name' in found ? `(${found.name})` : name === null ? null : `"${name}"`].filter(Boolean).join(' ') || kind,
    entry,
    unitToMetre: statement.unitToMetre,
    verticalUnitToMetre: statement.verticalUnitToMetre ?? (vertical?.kind === 'vertical' ? vertical.unitToMetre : null),
  };
}
