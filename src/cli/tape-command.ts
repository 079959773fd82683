import { basename } from 'node:path';
import { InputError } from '../units/input-error.ts';
import { readTapeList, TAPE_LIST_HEADER } from '../io/tape-list.ts';
import type { CorrectionKind, RoofRecord } from '../roof/record.ts';
import { TAPE_DEVICES } from '../site/tape-device.ts';
import type { TapeReading } from '../site/tape-reading.ts';
import { applyCommand } from '../survey/commands.ts';
import { offeredCorrections } from '../survey/correct/apply-correction.ts';
import { checkTape, DEFAULT_TOLERANCE } from '../survey/tape/check-tape.ts';
import { recordText } from '../survey/write-record.ts';
import { readRecordFile, readTextFile } from './read-file.ts';
import { CLIENT_FLAGS, clientLimitFrom, clientLines } from './client-limit.ts';
import { tapeText } from './tape-text.ts';
import { checkFolder, inFolder, writeWholeFile } from './write-file.ts';
import type { Arguments, Verb } from './verb.ts';

const STATUS_DISAGREES = 3;
/** Kinds that rest on checkpoints alone. */
const BY_CHECKPOINTS: readonly CorrectionKind[] = ['shift', 'tilt', 'turn'];
const CORRECTIONS = ['scale', 'edge', 'scale-and-edge', 'vertical-scale', 'shift', 'tilt', 'turn'] as const;

export const tapeVerb: Verb = {
  name: 'tape',
  operands: 'RECORD [READINGS.csv] --out DIR',
  about:
    'Compares readings taken on site with a record: residuals with the ± of both, what explains them (chance, scale, edge definition, height scale, a blunder), ' +
    'how the model lies against surveyed checkpoints, and which lengths to tape next. Without a list the readings kept in the record are checked again. ' +
    `Columns: ${TAPE_LIST_HEADER.replaceAll(',', ', ')}; the first fourteen are enough, the rest corrects a steel tape for temperature, pull, sag and slope; written keeps a length as it was written down. ` +
    `Devices: ${TAPE_DEVICES.map(({ device }) => device).join(', ')}. ` +
    'Distances cannot show a shift or a rotation of the whole model; checkpoints can. Ends with status 3 when the check fails. Roof edges: read from a safe place only.',
  flags: [
    { name: 'out', value: 'DIR', about: 'Folder the record with its tape check is written to.' },
    { name: 'tolerance-m', value: 'n', about: `How far a reading may be off. Default ${DEFAULT_TOLERANCE}.` },
    { name: 'apply', value: 'KIND[,KIND…]', about: `Corrects the whole model by what the readings show, derives every number again and checks once more. Refused where they do not show it. Kinds: ${CORRECTIONS.join(', ')}; tilt, turn and shift rest on checkpoints.` },
    { name: 'by', value: 'NAME', about: 'Who wants the correction; goes to the record. Needed with --apply.' },
    { name: 'why', value: 'TEXT', about: 'Why; goes to the record.' },
    ...CLIENT_FLAGS,
    { name: 'json', about: 'Write the check to standard output as JSON.' },
    { name: 'help', about: 'This page.' },
  ],
  run: tape,
};

async function tape(args: Arguments): Promise<number> {
  const [recordPath, listPath, ...more] = args.operands;
  if (recordPath === undefined || more.length > 0) throw new InputError('roofdatum tape', `takes a record and a list of readings, ${args.operands.length} given.`);
  const json = args.has('json');
  const out = json ? args.text('out') : args.required('out');
  if (out !== undefined) await checkFolder(out);
  const record = clientLimitFrom(args)(await readRecordFile(recordPath));
  const readings = listPath === undefined ? keptReadings(record, basename(recordPath)) : await listedReadings(listPath);
  const toleranceM = args.number('tolerance-m', 0, 10) ?? record.tape?.toleranceM ?? DEFAULT_TOLERANCE;
  const checked = corrected({ ...record, tape: checkTape(record, readings, toleranceM) }, args);
  if (out !== undefined) await writeWholeFile(inFolder(out, 'record.json'), recordText(checked));
  if (args.text('client-gsd-cm') !== undefined) for (const line of clientLines(checked)) process.stderr.write(`${line}\n`);
  process.stdout.write(json ? `${JSON.stringify(checked.tape, null, 1)}\n` : tapeText(checked));
  return checked.tape!.verdict === 'disagrees' ? STATUS_DISAGREES : 0;
}

function keptReadings(record: RoofRecord, name: string): readonly TapeReading[] {
  if (!record.tape?.taken) throw new InputError(name, 'keeps no readings, and no list is given.');
  return record.tape.taken;
}

async function listedReadings(path: string): Promise<readonly TapeReading[]> {
  const list = readTapeList(await readTextFile(path), basename(path));
  for (const fault of list.faults) process.stderr.write(`${basename(path)}: ${fault}.${fault.startsWith('row 1,') ? '' : ' The row was left out.'}\n`);
  return list.readings;
}

/** @throws InputError when the readings do not show what is to be corrected. */
function corrected(record: RoofRecord, args: Arguments): RoofRecord {
  const asked = (args.text('apply') ?? '').split(',').map((kind) => kind.trim()).filter((kind) => kind !== '');
  if (asked.length === 0) return record;
  for (const kind of asked) if (!CORRECTIONS.some((known) => known === kind)) throw new InputError('--apply', `"${kind}" is not known, expected ${CORRECTIONS.join(', ')}.`);
  const by = args.text('by')?.trim() ?? '';
  if (by === '') throw new InputError('--by', 'is missing: a correction is a person’s decision.');
  const kinds = asked.flatMap((kind) => (kind === 'scale-and-edge' ? ['scale', 'edge'] : [kind]));
  const at = new Date().toISOString();
  const offered = offeredCorrections(record);
  const wanted = kinds.map((kind) => {
    const offer = offered.find((each) => each.kind === kind);
    if (!offer) throw new InputError('--apply', `"${kind}" is not what the readings show (${record.tape!.explanation.kind}: ${record.tape!.explanation.why ?? ''}) They give reason for: ${offered.map((each) => each.kind).join(', ') || 'nothing'}.`);
    return offer;
  });
  return wanted.reduce((so, first) => {
    // What checkpoints show is counted again on the model as it stands by now: a scale and a tilt move what a shift is.
    const { says, ...what } = (BY_CHECKPOINTS.includes(first.kind) ? offeredCorrections(so).find(({ kind }) => kind === first.kind) : undefined) ?? first;
    process.stderr.write(`${says}\n`);
    const why = args.text('why') ?? says;
    const decision = { at, by, what: 'correct' as const, about: 'q5', before: { verdict: so.tape!.verdict, rmseM: so.tape!.rmseM }, after: { [what.kind]: what.amount ?? what.riseDeg ?? what.shiftM, u95: what.u95 }, why };
    return applyCommand(so, { kind: 'several', commands: [{ kind: 'apply-correction', correction: { ...what, by, at, why } }, { kind: 'add-decision', decision }] }).record;
  }, record);
}
