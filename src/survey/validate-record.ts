import { Validator } from '@cfworker/json-schema';
import { InputError } from '../units/input-error.ts';
import { distanceToPlane } from '../geometry/plane.ts';
import { length } from '../geometry/vector.ts';
import type { Building, RoofPlane, RoofRecord } from '../roof/record.ts';
import { recordSchema } from './record-schema.ts';

/** A corner may lie this far off its plane: a tenth of a millimetre, the rounding of a written coordinate. [m] */
const OFF_PLANE_TOLERANCE = 1e-4;
/** And by what its evidence says, times this for a model whose heights were stretched. */
const STRETCHED = 1.1;
const UNIT_NORMAL_TOLERANCE = 1e-6;

/**
 * Checks a record against its schema and against itself (unit normals, corners on their planes, names that exist).
 *
 * @param subject  What to call the record in a message, usually a file name.
 * @throws InputError that names the field, the value and what was expected.
 */
export function validateRecord(candidate: unknown, subject: string): RoofRecord {
  const result = new Validator(recordSchema, '2020-12', true).validate(candidate);
  if (!result.valid) throw schemaError(result.errors, candidate, subject);
  const record = candidate as RoofRecord;
  const seen = new Set<string>();
  for (const building of record.buildings) checkBuilding(building, seen, subject);
  return record;
}

/**
 * Reads a saved record.
 *
 * @throws InputError when the text is not JSON or not a valid record of a version that is known.
 */
export function parseRecord(text: string, subject: string): RoofRecord {
  let candidate: unknown;
  try {
    candidate = JSON.parse(text);
  } catch (error) {
    throw new InputError(subject, `is not JSON (${error instanceof Error ? error.message : String(error)}).`);
  }
  const version = (candidate as { schema?: unknown } | null)?.schema;
  if (typeof version === 'string' && Number(/^roofdatum-record\/(\d+)$/.exec(version)?.[1]) > 1) {
    throw new InputError(subject, `was written by a newer version of this program (${version}, this one reads roofdatum-record/1). Open it there.`);
  }
  if (version !== 'roofdatum-record/1') {
    throw new InputError(subject, `schema is ${JSON.stringify(version)}, expected "roofdatum-record/1".`);
  }
  return validateRecord(candidate, subject);
}

interface SchemaFault {
  readonly instanceLocation: string;
  readonly error: string;
}

/** The deepest fault says most: those above it only repeat that something below is wrong. */
function schemaError(faults: readonly SchemaFault[], candidate: unknown, subject: string): InputError {
  const deepest = faults.reduce((best, fault) => (depth(fault) > depth(best) ? fault : best));
  const field = deepest.instanceLocation.replace(/^#\/?/, '').replaceAll('/', '.') || '(whole record)';
  return new InputError(subject, `${field} is ${shown(valueAt(candidate, deepest.instanceLocation))}: ${deepest.error}`);
}

const depth = (fault: SchemaFault): number => fault.instanceLocation.split('/').length;

function valueAt(root: unknown, location: string): unknown {
  let value = root;
  for (const key of location.split('/').slice(1)) {
    value = (value as Record<string, unknown> | null)?.[decodeURIComponent(key).replaceAll('~1', '/').replaceAll('~0', '~')];
  }
  return value;
}

function shown(value: unknown): string {
  if (typeof value === 'number') return String(value);
  const text = JSON.stringify(value) ?? 'missing';
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}

function checkBuilding(building: Building, seen: Set<string>, subject: string): void {
  const planes = new Set(building.roofPlanes.map((plane) => plane.id));
  const named = [building, ...building.roofPlanes, ...building.edges, ...building.parapets, ...building.obstructions, ...building.lowPoints];
  for (const { id } of named) {
    if (seen.has(id)) throw new InputError(subject, `id ${id} stands twice; every id must be its own.`);
    seen.add(id);
  }
  building.roofPlanes.forEach((plane) => checkPlane(plane, subject));
  for (const edge of building.edges) requirePlanes(edge.planes, planes, `edge ${edge.id}`, subject);
  for (const thing of building.obstructions) requirePlanes([thing.onPlane], planes, `obstruction ${thing.id}`, subject);
}

function requirePlanes(ids: readonly string[], known: ReadonlySet<string>, owner: string, subject: string): void {
  for (const id of ids) {
    if (!known.has(id)) throw new InputError(subject, `${owner} names plane ${id}, which its building does not have.`);
  }
}

function checkPlane(plane: RoofPlane, subject: string): void {
  const size = length(plane.normal);
  if (Math.abs(size - 1) > UNIT_NORMAL_TOLERANCE || plane.normal[2] < 0) {
    throw new InputError(subject, `normal of ${plane.id} is [${plane.normal.join(', ')}], expected unit length and z >= 0.`);
  }
  // Corners in common with a neighbour lie between the two planes.
  const most = OFF_PLANE_TOLERANCE + STRETCHED * (plane.evidence?.cornersOffPlaneM ?? 0);
  for (const ring of [plane.outline, ...plane.holes]) {
    for (const corner of ring) {
      const off = distanceToPlane(plane, corner);
      if (Math.abs(off) > most) {
        throw new InputError(subject, `a corner of ${plane.id} lies ${off.toFixed(4)} m off its plane, expected at most ${Number(most.toPrecision(3))} m.`);
      }
    }
  }
}
