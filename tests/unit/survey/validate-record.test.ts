import Ajv from 'ajv/dist/2020.js';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { recordSchema } from '../../../src/survey/record-schema.ts';
import { parseRecord } from '../../../src/survey/validate-record.ts';
import { ROOFDATUM_VERSION } from '../../../src/survey/version.ts';
import { InputError } from '../../../src/units/input-error.ts';
import { recordText } from '../../../src/survey/write-record.ts';
import { recordHarbour } from '../../fixtures/record-harbour.ts';

type Loose = Record<string, never> & { buildings: Loose[] };

const spoiled = (spoil: (record: Loose) => void): string => {
  const copy = JSON.parse(recordText(recordHarbour())) as Loose;
  spoil(copy);
  return JSON.stringify(copy);
};

describe('a saved record', () => {
  it('comes back as it was', () => {
    const text = recordText(recordHarbour());
    expect(recordText(parseRecord(text, 'a.json'))).toBe(text);
  });

  it.each([
    ['not JSON', '{', 'is not JSON'],
    ['another schema', '{"schema":"something/2"}', 'schema is "something/2", expected "roofdatum-record/1"'],
    ['a form of later', '{"schema":"roofdatum-record/2"}', 'newer version of this program (roofdatum-record/2, this one reads roofdatum-record/1)'],
    ['a text for a number', spoiled((r) => Object.assign(r.buildings[0]!.roofPlanes![0], { offset: 'high' })), 'buildings.0.roofPlanes.0.offset is "high"'],
    ['a measured number without ±', spoiled((r) => Object.assign(r.buildings[0]!.roofPlanes![0], { pitchDeg: { value: 3 } })), 'roofPlanes.0.pitchDeg'],
    ['a bent normal', spoiled((r) => Object.assign(r.buildings[0]!.roofPlanes![0], { normal: [0, 0.1, 1] })), 'expected unit length'],
    ['a corner off its plane', spoiled((r) => ((r.buildings[0]!.roofPlanes![0] as never as { outline: number[][] }).outline[0]![2]! += 0.5)), 'off its plane'],
    ['an edge of no plane', spoiled((r) => Object.assign(r.buildings[0]!.edges![0], { planes: ['nowhere'] })), 'names plane nowhere'],
    ['one id twice', spoiled((r) => r.buildings.push(r.buildings[0]!)), 'stands twice'],
    ['a field that is not known', spoiled((r) => Object.assign(r, { colour: 'red' })), 'colour'],
  ])('with %s is refused by name', (_what, text, expected) => {
    expect(() => parseRecord(text, 'a.json')).toThrow(expected);
  });
});

it('an invalid record is never written, and is no mistake of whoever gave the files', () => {
  const record = recordHarbour();
  const wrong = { ...record, buildings: [...record.buildings, ...record.buildings] };
  let thrown: unknown = null;
  try {
    recordText(wrong);
  } catch (error) {
    thrown = error;
  }
  expect(thrown).toBeInstanceOf(Error);
  expect(thrown).not.toBeInstanceOf(InputError);
  expect(String(thrown)).toContain('stands twice');
});

/** Leaves out every member the form does not demand: what was added to it after it was first written. */
function bare(node: unknown, form: Form): unknown {
  const at = form.$ref ? (recordSchema as unknown as { $defs: Record<string, Form> }).$defs[form.$ref.replace('#/$defs/', '')]! : form;
  if (Array.isArray(node)) return at.items ? node.map((item) => bare(item, at.items!)) : node;
  if (typeof node !== 'object' || node === null || !at.properties) return node;
  return Object.fromEntries(Object.entries(node).flatMap(([key, value]) => (at.required?.includes(key) ? [[key, bare(value, at.properties![key] ?? {})]] : [])));
}

interface Form {
  readonly $ref?: string;
  readonly items?: Form;
  readonly properties?: Record<string, Form>;
  readonly required?: readonly string[];
}

it('a record of the first days, without anything that was added since, opens', () => {
  const record = recordHarbour();
  const old = bare(JSON.parse(recordText(record)), recordSchema as unknown as Form) as typeof record;
  expect('evidence' in old.buildings[0]!.roofPlanes[0]!).toBe(false);
  const opened = parseRecord(JSON.stringify(old), 'old.json');
  expect(opened.buildings.map(({ roofPlanes }) => roofPlanes.length)).toEqual(record.buildings.map(({ roofPlanes }) => roofPlanes.length));
});

describe('the schema', () => {
  // Independent reading of the same schema: ajv, JSON Schema 2020-12.
  it('is read alike by another validator', () => {
    const validate = new Ajv({ strict: false }).compile(recordSchema as object);
    expect(validate(JSON.parse(recordText(recordHarbour()))), JSON.stringify(validate.errors)).toBe(true);
    expect(validate(JSON.parse(spoiled((r) => Object.assign(r.buildings[0]!, { id: 7 }))))).toBe(false);
  });

  it('the version in records is the version of the package', () => {
    const text = readFileSync(join(import.meta.dirname, '../../../package.json'), 'utf8');
    expect(ROOFDATUM_VERSION).toBe((JSON.parse(text) as { version: string }).version);
  });
});
