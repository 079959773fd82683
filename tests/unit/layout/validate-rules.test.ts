import { readdirSync, readFileSync } from 'node:fs';
import Ajv2020 from 'ajv/dist/2020.js';
import { describe, expect, it } from 'vitest';
import { edgeZoneWidth } from '../../../src/layout/keep-clear-zones.ts';
import { powerDensity, USUAL_MODULE } from '../../../src/layout/module-spec.ts';
import { SHIPPED_RULES } from '../../../src/layout/shipped-rules.ts';
import { parseRules, validateRules } from '../../../src/layout/validate-rules.ts';
import { InputError } from '../../../src/units/input-error.ts';

const folder = new URL('../../../src/layout/rules/', import.meta.url);
const read = (name: string): unknown => JSON.parse(readFileSync(new URL(name, folder), 'utf8'));
// Independent validator: ajv 8.
const bySchema = new Ajv2020({ strict: false }).compile(read('rule-set.schema.json') as object);

type Loose = Record<string, unknown> & { rules: Record<string, unknown>[]; source: Record<string, unknown> };
const sample = (): Loose => structuredClone(SHIPPED_RULES['residential-fire-access']) as unknown as Loose;

describe('rule sets', () => {
  it.each(readdirSync(folder).filter((name) => !name.includes('schema')))('%s is valid by schema and by us, and names a dated source', (name) => {
    const set = read(name);
    expect(bySchema(set), JSON.stringify(bySchema.errors)).toBe(true);
    const { source, caution } = validateRules(set, name);
    expect(source.date).toMatch(/\d{4}/);
    expect(caution).toContain('licensed person');
  });

  const spoilt: [string, (set: Loose) => void, string][] = [
    ['another schema', (set) => { set['schema'] = 'x/2'; }, 'schema is "x/2"'],
    ['no name', (set) => { delete set['name']; }, 'name is missing'],
    ['a source without a date', (set) => { delete set.source['date']; }, 'source.date is missing'],
    ['no rules', (set) => { set.rules = []; }, 'rules is []'],
    ['a kind nobody knows', (set) => { set.rules[1]!['kind'] = 'edge-setbak'; }, 'rules.1.kind is "edge-setbak"'],
    ['a mistyped field', (set) => { set.rules[1]!['distanceCm'] = 4; }, 'rules.1.distanceCm is not a field known here'],
    ['a distance in words', (set) => { set.rules[1]!['distanceM'] = '0.5 m'; }, 'rules.1.distanceM is "0.5 m", expected a number from 0 to 1000'],
    ['a negative distance', (set) => { set.rules[1]!['distanceM'] = -1; }, 'rules.1.distanceM is -1'],
    ['an edge kind nobody knows', (set) => { set.rules[1]!['edges'] = ['gable']; }, 'rules.1.edges is ["gable"]'],
    ['no way of measuring', (set) => { delete set.rules[1]!['along']; }, 'rules.1.along is missing, expected one of surface, plan'],
    ['an edge zone without a share', (set) => { set.rules = [{ kind: 'edge-zone', because: 'x', edges: ['eave'], along: 'plan' }]; }, 'leastWidthShare is missing'],
    ['half a span of bearings', (set) => { set.rules = [{ kind: 'plane-limit', because: 'x', awayFromDeg: 3 }]; }, 'awayFromDeg and awayToDeg'],
  ];
  it.each(spoilt)('refuses %s, as the schema does', (_, spoil, message) => {
    const set = sample();
    spoil(set);
    expect(bySchema(set)).toBe(false);
    expect(() => validateRules(set, 'mine.json')).toThrow(InputError);
    expect(() => validateRules(set, 'mine.json')).toThrow(message);
  });

  it('refuses text that is not JSON', () => expect(() => parseRules('{', 'mine.json')).toThrow('mine.json: is not JSON'));
});

// ASCE 7-02, edge width a, cases made from the definition (Structural Steel Designer's Handbook p. 4.18), in feet.
it.each([[100, 40, 10], [30, 15, 3], [200, 20, 8], [60, 60, 6]])('edge width of %i × height %i ft is %i ft', (width, height, a) => {
  const rule = { kind: 'edge-zone', edges: ['eave'], along: 'plan', because: 'x', leastWidthShare: 0.1, heightShare: 0.4, floorWidthShare: 0.04, floorM: 3 } as const;
  expect(edgeZoneWidth(rule, { leastWidthM: width, heightM: { value: height, u95: 0 } })).toBeCloseTo(a, 9);
});

// 2018 IRC R324.6 and WAC 51-54A print 36 in as 914 mm and 18 in as 457 mm; IFC 4 ft as 1219, 6 ft as 1829, 150 ft as 45 720 mm.
it('shipped distances are the code values in metric', () => {
  const residential = SHIPPED_RULES['residential-fire-access']!.rules;
  const commercial = SHIPPED_RULES['commercial-fire-access']!.rules;
  expect(residential.find((rule) => rule.kind === 'pathway')).toMatchObject({ widthM: 0.914 });
  expect(residential.filter((rule) => rule.kind === 'edge-setback' && rule.edges.includes('ridge')).map((rule) => rule.kind === 'edge-setback' && rule.distanceM)).toEqual([0.457, 0.914]);
  expect(commercial.filter((rule) => rule.kind === 'edge-setback').slice(0, 2).map((rule) => rule.distanceM)).toEqual([1.829, 1.219]);
  expect(commercial.find((rule) => rule.kind === 'array-limit')).toMatchObject({ lengthM: 45.72, pathWidthM: 1.219 });
});

// A 38 × 68 in module of 320 W: 18 ft², 56 ft² per kW (aresolar.com). Roofs of Gagnon and others 2018: 137.5 W/m² of roof.
it('power density of modules', () => {
  const inch = 0.0254;
  const foot = 0.3048;
  const module = { widthM: 38 * inch, heightM: 68 * inch, ratedPowerW: 320 };
  expect(module.widthM * module.heightM / foot ** 2).toBeCloseTo(17.94, 2);
  expect(1000 / powerDensity(module) / foot ** 2).toBeCloseTo(56.08, 1);
  expect(powerDensity(USUAL_MODULE)).toBeGreaterThan(137.5);
});
