import type { CrsStatement } from '../../site/crs-statement.ts';
import { parseWkt, type WktNode } from './wkt-tree.ts';

const PROJECTED = new Set(['PROJCS', 'PROJCRS', 'PROJECTEDCRS']);
const GEODETIC = new Set(['GEOGCS', 'GEOGCRS', 'GEOGRAPHICCRS', 'GEODCRS', 'GEODETICCRS', 'BASEGEOGCRS']);
const LOCAL = new Set(['LOCAL_CS', 'ENGCRS', 'ENGINEERINGCRS']);
const VERTICAL = new Set(['VERT_CS', 'VERTCRS', 'VERTICALCRS']);
const COMPOUND = new Set(['COMPD_CS', 'COMPOUNDCRS']);
const LENGTH_UNIT = new Set(['UNIT', 'LENGTHUNIT']);

/**
 * What a well-known text (either generation) says of projection and unit. Only what stands in it: nothing is looked up.
 *
 * @param text  The text; trailing zero bytes and blanks are allowed.
 * @param origin  Where it was read, for messages.
 * @returns A statement of kind `unknown` that keeps the text when it cannot be parsed; null for an empty text.
 */
export function wktStatement(text: string, origin: string): CrsStatement | null {
  const end = text.indexOf('\0');
  const wkt = (end < 0 ? text : text.slice(0, end)).trim();
  if (wkt === '') return null;
  const tree = parseWkt(wkt);
  const parts = tree === null ? [] : crsParts(tree);
  const horizontal = parts.find((part) => !VERTICAL.has(part.keyword)) ?? null;
  const vertical = parts.find((part) => VERTICAL.has(part.keyword)) ?? null;
  const kind = horizontal === null ? 'unknown' : kindOf(horizontal);
  return {
    origin,
    kind,
    name: tree === null ? null : textOf((tree.keyword === 'BOUNDCRS' ? parts[0] : tree) ?? tree),
    epsg: horizontal === null ? null : epsgOf(horizontal),
    verticalEpsg: vertical === null ? null : epsgOf(vertical),
    unitToMetre: horizontal === null || kind === 'geographic' ? null : lengthUnitOf(horizontal, 0),
    verticalUnitToMetre: vertical !== null ? lengthUnitOf(vertical, 0) : horizontal === null ? null : heightUnitOf(horizontal),
    wkt,
  };
}

/** The single systems inside a compound or bound one. */
function crsParts(node: WktNode): readonly WktNode[] {
  if (COMPOUND.has(node.keyword)) return node.children.flatMap(crsParts);
  if (node.keyword === 'BOUNDCRS') return node.children.filter((child) => child.keyword === 'SOURCECRS').flatMap(crsParts);
  if (node.keyword === 'SOURCECRS') return node.children.flatMap(crsParts);
  const known = [PROJECTED, GEODETIC, LOCAL, VERTICAL].some((set) => set.has(node.keyword)) || node.keyword === 'GEOCCS';
  return known ? [node] : [];
}

function kindOf(node: WktNode): CrsStatement['kind'] {
  if (PROJECTED.has(node.keyword)) return 'projected';
  if (LOCAL.has(node.keyword)) return 'local';
  if (node.keyword === 'GEOCCS') return 'geocentric';
  // A geodetic system of ISO 19162 is geocentric when its coordinate system is the Cartesian one.
  const system = node.children.find((child) => child.keyword === 'CS');
  return system !== undefined && String(system.values[0]).toLowerCase() === 'cartesian' ? 'geocentric' : 'geographic';
}

const textOf = (node: WktNode): string | null => {
  const name = node.values[0];
  return typeof name === 'string' && name !== '' ? name : null;
};

/** Code of the node itself, not of a part of it: `AUTHORITY["EPSG","2154"]`, `ID["EPSG",2154]`. */
function epsgOf(node: WktNode): number | null {
  for (const child of node.children) {
    if (child.keyword !== 'AUTHORITY' && child.keyword !== 'ID') continue;
    if (String(child.values[0]).toUpperCase() !== 'EPSG') continue;
    const code = Number(child.values[1]);
    if (Number.isInteger(code) && code > 0) return code;
  }
  return null;
}

/** Metres in one unit: the unit of the whole system, else that of the numbered axis. */
function lengthUnitOf(node: WktNode, axis: number): number | null {
  return unitChild(node) ?? axisUnit(node, axis);
}

/** Unit of a third axis, where the system has one. */
function heightUnitOf(node: WktNode): number | null {
  const axes = node.children.filter((child) => child.keyword === 'AXIS');
  if (axes.length < 3) return null;
  return axisUnit(node, 2) ?? (kindOf(node) === 'geographic' ? null : unitChild(node));
}

function axisUnit(node: WktNode, axis: number): number | null {
  const found = node.children.filter((child) => child.keyword === 'AXIS')[axis];
  return found === undefined ? null : unitChild(found);
}

function unitChild(node: WktNode): number | null {
  const unit = node.children.find((child) => LENGTH_UNIT.has(child.keyword));
  const factor = unit?.values[1];
  return typeof factor === 'number' && factor > 0 ? factor : null;
}
