import { basename } from 'node:path';
import type { EdgeDefinition, EdgeKind, RoofEdge, RoofRecord } from '../roof/record.ts';
import { applyCommand } from '../survey/commands.ts';
import { conversionOf, CONVERTIBLE_KINDS, DEFINITION_WORDS } from '../survey/correct/convert-edges.ts';
import { recordText } from '../survey/write-record.ts';
import { InputError } from '../units/input-error.ts';
import { readRecordFile } from './read-file.ts';
import { checkFolder, inFolder, writeWholeFile } from './write-file.ts';
import type { Arguments, Verb } from './verb.ts';

const DEFINITIONS = Object.keys(DEFINITION_WORDS) as EdgeDefinition[];

export const edgesVerb: Verb = {
  name: 'edges',
  operands: 'RECORD [--to DEFINITION --outwards-m n --u95-m n --by NAME] --out DIR',
  about:
    'Says which edge was measured (where the cover ends, an upright face, where planes meet) and brings outer edges to another definition by an offset you state: ' +
    'corners, areas and lengths follow, and the doubt of the offset stands in them as a part of its own, "edge conversion". ' +
    'The record keeps what was measured, the offset, who stated it and why. Module places are taken away, since they fit the old edges. Without --to it only says what was measured.',
  flags: [
    { name: 'to', value: 'DEFINITION', about: `What the edges shall be: ${DEFINITIONS.join(', ')}.` },
    { name: 'outwards-m', value: 'n', about: 'How far it lies outwards in plan; negative for towards the roof, as from the cover edge to the wall line under an overhang.' },
    { name: 'u95-m', value: 'n', about: 'How well that is known, 95 % half width; needed, since nobody knows it exactly.' },
    { name: 'kinds', value: 'KIND,KIND…', about: `Kinds of edges: ${CONVERTIBLE_KINDS.join(', ')}. Default eave. Edges between two planes and at walls stay.` },
    { name: 'edges', value: 'ID,ID…', about: 'Only these edges of those kinds, by id.' },
    { name: 'by', value: 'NAME', about: 'Who states it; goes to the record.' },
    { name: 'why', value: 'TEXT', about: 'What it rests on; goes to the record.' },
    { name: 'out', value: 'DIR', about: 'Folder the converted record is written to.' },
    { name: 'help', about: 'This page.' },
  ],
  run,
};

async function run(args: Arguments): Promise<number> {
  const path = args.record('edges');
  const to = args.choice('to', DEFINITIONS);
  if (to === undefined) {
    process.stdout.write(measuredText(await readRecordFile(path)));
    return 0;
  }
  const out = args.required('out');
  await checkFolder(out);
  const record = await readRecordFile(path);
  const converted = convert(record, to, args);
  await writeWholeFile(inFolder(out, 'record.json'), recordText(converted));
  const leftOut = converted.corrections!.at(-1)!.leftOut ?? [];
  for (const id of leftOut) process.stderr.write(`${basename(path)}: building ${id} stays, its outlines would cross.\n`);
  process.stdout.write(measuredText(converted));
  return 0;
}

function convert(record: RoofRecord, to: EdgeDefinition, args: Arguments): RoofRecord {
  const [offsetM, u95M] = [args.number('outwards-m', -3, 3), args.number('u95-m', 0, 3)];
  if (offsetM === undefined) throw new InputError('--outwards-m', 'is missing.');
  if (u95M === undefined) throw new InputError('--u95-m', 'is missing: an offset without its ± makes numbers look surer than they are.');
  const by = args.text('by')?.trim() ?? '';
  if (by === '') throw new InputError('--by', 'is missing: which edge counts is a person’s decision.');
  const edges = listed(args.text('edges'));
  const why = args.text('why') ?? `${DEFINITION_WORDS[to]} lies ${offsetM} ± ${u95M} m outwards`;
  const at = new Date().toISOString();
  const correction = conversionOf(record, { to, offsetM, u95M, kinds: kindsFrom(args.text('kinds') ?? 'eave'), ...(edges ? { edges } : {}) }, { by, at, why });
  const decision = { at, by, what: 'correct' as const, about: 'q2', after: { definition: correction.definition, offsetM, u95M }, why };
  return applyCommand(record, { kind: 'several', commands: [{ kind: 'apply-correction', correction }, { kind: 'add-decision', decision }] }).record;
}

const listed = (text: string | undefined): string[] | undefined => text?.split(',').map((word) => word.trim()).filter((word) => word !== '');

function kindsFrom(text: string): EdgeKind[] {
  return listed(text)!.map((word) => {
    const kind = CONVERTIBLE_KINDS.find((each) => each === word);
    if (!kind) throw new InputError('--kinds', `"${word}" is not the kind of an outer edge, expected ${CONVERTIBLE_KINDS.join(', ')}.`);
    return kind;
  });
}

/** How many edges of each kind were measured as what, and their length together. */
function measuredText(record: RoofRecord): string {
  const groups = new Map<string, { count: number; length: number }>();
  for (const edge of record.buildings.flatMap(({ edges }) => edges)) {
    const key = `${edge.kind.padEnd(10)}${saidOf(edge)}`;
    const group = groups.get(key) ?? { count: 0, length: 0 };
    groups.set(key, { count: group.count + 1, length: group.length + (edge.slopeLengthM.value ?? 0) });
  }
  const lines = [...groups].sort(([a], [b]) => (a < b ? -1 : 1)).map(([key, { count, length }]) => `${key.padEnd(62)}${String(count).padStart(5)} ${length.toFixed(1).padStart(9)} m`);
  return `${'kind'.padEnd(10)}${'measured as'.padEnd(52)}edges    length\n${lines.join('\n')}\n`;
}

function saidOf({ measuredAs, convertedFrom }: RoofEdge): string {
  const now = measuredAs ?? 'not said';
  if (!convertedFrom || convertedFrom.offsetM.value === null) return now;
  return `${now}, from ${convertedFrom.measuredAs} by ${convertedFrom.offsetM.value.toFixed(3)} ± ${convertedFrom.offsetM.u95.toFixed(3)} m`;
}
