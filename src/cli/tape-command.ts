import { basename } from 'node:path';
import { InputError } from '../units/input-error.ts';
import { readTapeList } from '../io/tape-list.ts';
import { checkTape, DEFAULT_TOLERANCE } from '../survey/tape/check-tape.ts';
import { recordText } from '../survey/write-record.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import type { TapeCheck } from '../roof/record.ts';
import { readRecordFile, readTextFile } from './read-file.ts';
import { inFolder, writeWholeFile } from './write-file.ts';
import type { Arguments, Verb } from './verb.ts';

const STATUS_DISAGREES = 3;

export const tapeVerb: Verb = {
  name: 'tape',
  operands: 'RECORD READINGS.csv --out DIR',
  about:
    'Compares readings taken on site with a record: residuals with the ± of both, what explains them (chance, scale, edge definition, height scale, a blunder), ' +
    'and which lengths to tape next. Columns: id,kind,x1,y1,z1,x2,y2,z2,value,unit,sigma_m,by,at,note. ' +
    'Distances cannot show a shift or a rotation of the whole model; checkpoints can. Roof edges: read from a safe place only.',
  flags: [
    { name: 'out', value: 'DIR', about: 'Folder the record with its tape check is written to.' },
    { name: 'tolerance-m', value: 'n', about: `How far a reading may be off. Default ${DEFAULT_TOLERANCE}.` },
    { name: 'json', about: 'Write the check to standard output as JSON.' },
    { name: 'help', about: 'This page.' },
  ],
  run: tape,
};

async function tape(args: Arguments): Promise<number> {
  const [recordPath, listPath, ...more] = args.operands;
  if (recordPath === undefined || listPath === undefined || more.length > 0) {
    throw new InputError('roofdatum tape', `takes a record and a list of readings, ${args.operands.length} given.`);
  }
  const json = args.has('json');
  const out = json ? args.text('out') : args.required('out');
  const record = await readRecordFile(recordPath);
  const list = readTapeList(await readTextFile(listPath), basename(listPath));
  for (const fault of list.faults) process.stderr.write(`${basename(listPath)}: ${fault}. The row was left out.\n`);
  const check = checkTape(record, list.readings, args.number('tolerance-m', 0, 10) ?? DEFAULT_TOLERANCE);
  if (out !== undefined) await writeWholeFile(inFolder(out, 'record.json'), recordText({ ...record, tape: check }));
  process.stdout.write(json ? `${JSON.stringify(check, null, 1)}\n` : tapeText(check));
  return check.verdict === 'disagrees' ? STATUS_DISAGREES : 0;
}

function tapeText(check: TapeCheck): string {
  const [low, high] = check.rmseBracketM;
  const lines = [
    `verdict: ${check.verdict} (tolerance ${millimetres(check.toleranceM)}, ${check.count} lengths compared)`,
    ...(check.count > 0 ? [`bias ${written(check.biasM)}; RMSE ${millimetres(check.rmseM)}, true value between ${millimetres(low)} and ${millimetres(high)} (95 %)`] : []),
    `explanation: ${check.explanation.kind}; odds ${Object.entries(check.explanation.odds).map(([kind, odds]) => `${kind} ${Math.round(100 * odds)} %`).join(', ')}`,
    'Distances and height differences cannot show a shift or a rotation of the whole model.',
    ...check.readings.map((row) => `  ${row.id.padEnd(10)} ${row.verdict.padEnd(12)} ours minus tape ${written(row.residualDeg ?? row.residualM, row.residualDeg ? '°' : 'm')}  ${row.note ?? ''}`),
    ...(check.next.length > 0 ? ['tape next:'] : []),
    ...check.next.map(({ edge, why }) => `  ${edge}: ${why}`),
  ];
  return `${lines.join('\n')}\n`;
}

const millimetres = (value: number): string => `${(1000 * value).toFixed(1)} mm`;
const written = (number: Measured, unit = 'm'): string => (isKnown(number) ? `${number.value.toFixed(3)} ± ${number.u95.toFixed(3)} ${unit}` : number.why);
