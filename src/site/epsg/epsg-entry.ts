/** One row of the shipped table of coordinate systems. */
export type EpsgEntry = ProjectedEntry | GeographicEntry | VerticalEntry | CompoundEntry;

export interface ProjectedEntry {
  readonly kind: 'projected';
  readonly code: number;
  readonly name: string;
  /** Projection parameters; output in metres whatever the unit of the system. */
  readonly definition: string;
  /** The datum shift of the source table needs a grid file that is not shipped. */
  readonly needsGrid: boolean;
  /** Metres in one unit of the system. */
  readonly unitToMetre: number;
  /** Area of use, degrees. */
  readonly area: { readonly north: number; readonly west: number; readonly south: number; readonly east: number } | null;
}

export interface GeographicEntry {
  readonly kind: 'geographic' | 'geocentric';
  readonly code: number;
  readonly name: string;
}

export interface VerticalEntry {
  readonly kind: 'vertical';
  readonly code: number;
  readonly name: string;
  readonly unitToMetre: number | null;
}

export interface CompoundEntry {
  readonly kind: 'compound';
  readonly code: number;
  readonly horizontal: number;
  readonly vertical: number;
}

/** Units by the short names of projection parameters. */
const UNIT_TO_METRE: Readonly<Record<string, number>> = {
  m: 1,
  ft: 0.3048,
  'us-ft': 12 / 39.37,
  link: 0.201168,
  ch: 20.1168,
  'ind-yd': 0.91439523,
};

/**
 * Looks a code up in the shipped table (cut from the npm package epsg-index 2.0.0). The table is loaded when first asked.
 *
 * @returns null for a code that is not in it.
 */
export async function lookUpEpsg(code: number): Promise<EpsgEntry | null> {
  const { default: table } = await import('./epsg-table.json');
  const row = (table as Readonly<Record<string, string>>)[String(code)];
  return row === undefined ? null : parseRow(code, row);
}

/** Code of the projected system with this name, compared without case, blanks and signs; null when none or several have it. */
export async function findProjectedByName(name: string): Promise<ProjectedEntry | null> {
  const { default: table } = await import('./epsg-table.json');
  const wanted = plainName(name);
  const found = Object.entries(table as Readonly<Record<string, string>>).filter(
    ([, row]) => row.startsWith('P') && plainName(row.split('|', 2)[1]!) === wanted,
  );
  if (found.length !== 1) return null;
  return parseRow(Number(found[0]![0]), found[0]![1]) as ProjectedEntry;
}

const plainName = (name: string): string => name.toLowerCase().replace(/[^a-z0-9]/g, '');

function parseRow(code: number, row: string): EpsgEntry {
  const [kind, ...fields] = row.split('|') as [string, ...string[]];
  switch (kind) {
    case 'G':
    case 'X':
      return { kind: kind === 'G' ? 'geographic' : 'geocentric', code, name: fields[0]! };
    case 'V':
      return { kind: 'vertical', code, name: fields[0]!, unitToMetre: fields[1] ? Number(fields[1]) : null };
    case 'C':
      return { kind: 'compound', code, horizontal: Number(fields[0]), vertical: Number(fields[1]) };
    default:
      return projectedEntry(code, kind, fields);
  }
}

function projectedEntry(code: number, kind: string, [name, definition, corners]: readonly string[]): ProjectedEntry {
  const numbers = (corners ?? '').split(',').map(Number);
  const [north, west, south, east] = numbers as [number, number, number, number];
  const named = /\+units=(\S+)/.exec(definition!)?.[1];
  const stated = /\+to_meter=(\S+)/.exec(definition!)?.[1];
  return {
    kind: 'projected',
    code,
    name: name!,
    // False eastings are in metres already, whatever the unit.
    definition: definition!.replace(/\+(units|to_meter)=\S+/g, '').trim(),
    needsGrid: kind === 'Pg',
    unitToMetre: stated !== undefined ? Number(stated) : (UNIT_TO_METRE[named ?? 'm'] ?? 1),
    area: numbers.length === 4 ? { north, west, south, east } : null,
  };
}
