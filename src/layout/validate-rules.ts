import { InputError } from '../units/input-error.ts';
import type { Rule, RuleSet } from './rule-set.ts';

const EDGE_KINDS = ['eave', 'ridge', 'hip', 'valley', 'rake', 'parapet', 'abutment', 'unknown'];
const SHAPES = ['box', 'cylinder', 'line', 'flush', 'unknown'];

/** What a field may hold. */
type Field =
  | { readonly is: 'text' }
  | { readonly is: 'number'; readonly least: number; readonly most: number }
  | { readonly is: 'one-of'; readonly of: readonly string[] }
  | { readonly is: 'list-of'; readonly of: readonly string[] };

const TEXT: Field = { is: 'text' };
/** A distance on a roof: a kilometre is a mistyped unit. */
const LENGTH: Field = { is: 'number', least: 0, most: 1000 };
const SHARE: Field = { is: 'number', least: 0, most: 1 };
const FACTOR: Field = { is: 'number', least: 0, most: 100 };
const PITCH: Field = { is: 'number', least: 0, most: 90 };
const BEARING: Field = { is: 'number', least: 0, most: 360 };
const COUNT: Field = { is: 'number', least: 0, most: 20 };
const EDGES: Field = { is: 'list-of', of: EDGE_KINDS };
const ALONG: Field = { is: 'one-of', of: ['surface', 'plan'] };

interface Fields {
  readonly needed: Readonly<Record<string, Field>>;
  readonly allowed: Readonly<Record<string, Field>>;
}

const ANY_RULE = { pitchFromDeg: PITCH, pitchToDeg: PITCH, moduleShareFrom: SHARE };

const RULES: Readonly<Record<Rule['kind'], Fields>> = {
  'edge-setback': {
    needed: { edges: EDGES, distanceM: LENGTH, along: ALONG, reason: { is: 'one-of', of: ['edge', 'access'] } },
    allowed: { longSideFromM: LENGTH, longSideBelowM: LENGTH },
  },
  'edge-zone': {
    needed: { edges: EDGES, along: ALONG },
    allowed: { leastWidthShare: SHARE, heightShare: FACTOR, floorWidthShare: SHARE, floorM: LENGTH },
  },
  'obstruction-clearance': {
    needed: { distanceM: LENGTH, along: ALONG },
    allowed: { heightFactor: FACTOR, fromHeightM: LENGTH, toHeightM: LENGTH, shapes: { is: 'list-of', of: SHAPES } },
  },
  pathway: { needed: { widthM: LENGTH, perPlane: COUNT, onSinglePlane: COUNT }, allowed: {} },
  walkway: { needed: { to: { is: 'one-of', of: ['units', 'drains'] }, widthM: LENGTH }, allowed: { fromHeightM: LENGTH } },
  'array-limit': { needed: { lengthM: { is: 'number', least: 1, most: 1000 }, pathWidthM: LENGTH }, allowed: {} },
  'plane-limit': {
    needed: {},
    allowed: {
      leastPartM2: { is: 'number', least: 0, most: 1e6 }, steepestDeg: PITCH, awayFromDeg: BEARING, awayToDeg: BEARING,
      leastSolarAccess: SHARE,
    },
  },
};

/**
 * Checks a rule set as read from a file.
 *
 * @param subject  What to call it in a message, usually a file name.
 * @throws InputError that names the field, the value and what was expected; unknown fields are refused, since a mistyped
 *   name would otherwise drop a rule in silence.
 */
export function validateRules(candidate: unknown, subject: string): RuleSet {
  const set = object(candidate, subject, '(whole file)');
  if (set['schema'] !== 'roofdatum-rules/1') {
    throw new InputError(subject, `schema is ${shown(set['schema'])}, expected "roofdatum-rules/1".`);
  }
  checkFields(set, subject, '', { name: TEXT, caution: TEXT }, { $schema: TEXT }, ['schema', 'source', 'rules']);
  const source = object(set['source'], subject, 'source');
  checkFields(source, subject, 'source.', { title: TEXT, edition: TEXT, date: TEXT, where: TEXT }, {}, []);
  if (!Array.isArray(set['rules']) || set['rules'].length === 0) {
    throw new InputError(subject, `rules is ${shown(set['rules'])}, expected a list of at least one rule.`);
  }
  set['rules'].forEach((rule, index) => checkRule(object(rule, subject, `rules.${index}`), subject, `rules.${index}.`));
  return candidate as RuleSet;
}

/** Reads a rule set file. @throws InputError */
export function parseRules(text: string, subject: string): RuleSet {
  let candidate: unknown;
  try {
    candidate = JSON.parse(text);
  } catch (error) {
    throw new InputError(subject, `is not JSON (${error instanceof Error ? error.message : String(error)}).`);
  }
  return validateRules(candidate, subject);
}

function checkRule(rule: Record<string, unknown>, subject: string, path: string): void {
  const kind = rule['kind'];
  if (typeof kind !== 'string' || !Object.hasOwn(RULES, kind)) {
    throw new InputError(subject, `${path}kind is ${shown(kind)}, expected one of ${Object.keys(RULES).join(', ')}.`);
  }
  const { needed, allowed } = RULES[kind as Rule['kind']];
  checkFields(rule, subject, path, { because: TEXT, ...needed }, { ...ANY_RULE, ...allowed }, ['kind']);
  if (kind === 'edge-zone' && rule['leastWidthShare'] === undefined && rule['heightShare'] === undefined) {
    throw new InputError(subject, `${path}leastWidthShare is missing; an edge zone needs it or heightShare.`);
  }
  if (kind === 'plane-limit') {
    if ((rule['awayFromDeg'] === undefined) !== (rule['awayToDeg'] === undefined)) {
      throw new InputError(subject, `${path}awayFromDeg and awayToDeg are only understood together.`);
    }
  }
}

function checkFields(
  holder: Record<string, unknown>, subject: string, path: string,
  needed: Readonly<Record<string, Field>>, allowed: Readonly<Record<string, Field>>, checkedElsewhere: readonly string[],
): void {
  for (const [name, field] of Object.entries(needed)) {
    if (holder[name] === undefined) throw new InputError(subject, `${path}${name} is missing, expected ${expected(field)}.`);
  }
  for (const [name, value] of Object.entries(holder)) {
    if (checkedElsewhere.includes(name)) continue;
    const field = needed[name] ?? allowed[name];
    if (!field) {
      const known = [...Object.keys(needed), ...Object.keys(allowed), ...checkedElsewhere].join(', ');
      throw new InputError(subject, `${path}${name} is not a field known here (${known}).`);
    }
    if (!holds(field, value)) throw new InputError(subject, `${path}${name} is ${shown(value)}, expected ${expected(field)}.`);
  }
}

function holds(field: Field, value: unknown): boolean {
  switch (field.is) {
    case 'text': return typeof value === 'string' && value.trim().length > 0;
    case 'number': return typeof value === 'number' && value >= field.least && value <= field.most;
    case 'one-of': return typeof value === 'string' && field.of.includes(value);
    case 'list-of':
      return Array.isArray(value) && value.length > 0 && value.every((one) => typeof one === 'string' && field.of.includes(one));
  }
}

function expected(field: Field): string {
  switch (field.is) {
    case 'text': return 'some words';
    case 'number': return `a number from ${field.least} to ${field.most}`;
    case 'one-of': return `one of ${field.of.join(', ')}`;
    case 'list-of': return `a list of some of ${field.of.join(', ')}`;
  }
}

function object(value: unknown, subject: string, path: string): Record<string, unknown> {
  if (typeof value !== 'object' || value === null || Array.isArray(value)) {
    throw new InputError(subject, `${path} is ${shown(value)}, expected an object.`);
  }
  return value as Record<string, unknown>;
}

const shown = (value: unknown): string => (value === undefined ? 'missing' : JSON.stringify(value)!.slice(0, 60));
