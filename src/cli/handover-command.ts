import { basename } from 'node:path';
import { InputError } from '../units/input-error.ts';
import { handover } from '../handover/handover.ts';
import { HANDOVER_KINDS, reasonAgainst, type HandoverKind, type HandoverOptions } from '../handover/handover-kind.ts';
import type { RoofRecord } from '../roof/record.ts';
import { readRecordFile } from './read-file.ts';
import { checkFolder, inFolder, writeWholeFile } from './write-file.ts';
import type { Arguments, Verb } from './verb.ts';

const KIND_NAMES = HANDOVER_KINDS.map((each) => each.kind);

export const handoverVerb: Verb = {
  name: 'handover',
  operands: 'RECORD --as KIND,KIND,… --out DIR',
  about: `Writes drawings, tables and a report from a record. Kinds: ${HANDOVER_KINDS.map((each) => `${each.kind} (${each.title.toLowerCase()})`).join(', ')}.`,
  flags: [
    { name: 'as', value: 'KINDS', about: 'Kinds with commas between them, or all.' },
    { name: 'out', value: 'DIR', about: 'Folder the files are written to.' },
    { name: 'name', value: 'TEXT', about: 'Start of every file name. Default: the name of the record file.' },
    { name: 'site', value: 'TEXT', about: 'What the survey is called in title blocks.' },
    { name: 'origin', value: 'local|grid', about: 'Drawings in metres from the record’s origin, or in full grid coordinates. Default local.' },
    { name: 'unit', value: 'm|ft|us-ft', about: 'Unit of drawn coordinates. Default m.' },
    { name: 'crs', value: 'EPSG:n', about: 'Projection, where no source states one.' },
    { name: 'paper', value: 'a3|a4', about: 'Size of plan sheets. Default a3.' },
    { name: 'help', about: 'This page.' },
  ],
  run,
};

async function run(args: Arguments): Promise<number> {
  const recordPath = args.record('handover');
  const kinds = kindsFrom(args.required('as'));
  const out = args.required('out');
  await checkFolder(out);
  const record = await readRecordFile(recordPath);
  const options = optionsFrom(args, recordPath);
  const files = await handover(record, args.required('as') === 'all' ? possibleKinds(record, options) : kinds, options);
  for (const file of files) {
    await writeWholeFile(inFolder(out, file.name), file.bytes);
    process.stdout.write(`${file.name}: ${file.about}\n`);
  }
  return 0;
}

/** `all` means all that this record allows; the rest is named on standard error with the reason. */
function possibleKinds(record: RoofRecord, options: HandoverOptions): HandoverKind[] {
  return KIND_NAMES.filter((kind) => {
    const reason = reasonAgainst(record, kind, options);
    if (reason !== null) process.stderr.write(`${kind} left out: ${reason}.\n`);
    return reason === null;
  });
}

function kindsFrom(text: string): HandoverKind[] {
  if (text === 'all') return KIND_NAMES;
  return text.split(',').map((name) => {
    const kind = KIND_NAMES.find((each) => each === name.trim());
    if (!kind) throw new InputError('--as', `"${name}" is not known, expected all or ${KIND_NAMES.join(', ')}.`);
    return kind;
  });
}

function optionsFrom(args: Arguments, recordPath: string): HandoverOptions {
  const site = args.text('site');
  const origin = args.choice('origin', ['local', 'grid']);
  const unit = args.choice('unit', ['m', 'ft', 'us-ft']);
  const crs = args.text('crs');
  const paper = args.choice('paper', ['a3', 'a4']);
  return {
    name: args.text('name') ?? basename(recordPath).replace(/\.json$/, ''),
    ...(site ? { site } : {}),
    ...(origin ? { origin } : {}),
    ...(unit ? { unit } : {}),
    ...(crs ? { crs } : {}),
    ...(paper ? { paper } : {}),
  };
}
