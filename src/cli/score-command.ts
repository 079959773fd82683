import { InputError } from '../units/input-error.ts';
import { parseTruth } from '../survey/score/truth.ts';
import { scoreRecord } from '../survey/score/score-record.ts';
import { printScore } from '../survey/score/print-score.ts';
import { readRecordFile, readTextFile } from './read-file.ts';
import type { Arguments, Verb } from './verb.ts';

export const scoreVerb: Verb = {
  name: 'score',
  operands: 'RECORD TRUTH',
  about: 'Compares a record with a truth file: completeness, correctness, angles, areas, outlines, edges, obstructions, and whether the ± holds.',
  flags: [
    { name: 'json', about: 'Write the figures as JSON.' },
    { name: 'help', about: 'This page.' },
  ],
  run: score,
};

async function score(args: Arguments): Promise<number> {
  const [recordPath, truthPath, ...more] = args.operands;
  if (recordPath === undefined || truthPath === undefined || more.length > 0) {
    throw new InputError('roofdatum score', `takes a record and a truth file, ${args.operands.length} given.`);
  }
  const record = await readRecordFile(recordPath);
  const truth = parseTruth(await readTextFile(truthPath), truthPath);
  const figures = scoreRecord(record, truth);
  process.stdout.write(args.has('json') ? `${JSON.stringify(figures, null, 1)}\n` : printScore(figures));
  return 0;
}
