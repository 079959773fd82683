#!/usr/bin/env node
import { InputError } from '../units/input-error.ts';
import { helpOf, parseArguments, type Verb } from './verb.ts';
import { surveyVerb } from './survey-command.ts';
import { scoreVerb } from './score-command.ts';
import { tapeVerb } from './tape-command.ts';
import { fitVerb } from './fit-command.ts';
import { handoverVerb } from './handover-command.ts';
import { edgesVerb } from './edges-command.ts';
import { flightVerb } from './flight-command.ts';

const VERBS: readonly Verb[] = [surveyVerb, tapeVerb, edgesVerb, fitVerb, handoverVerb, scoreVerb, flightVerb];

const STATUS_OURS = 1;
const STATUS_CALLER = 2;

function overview(): string {
  const lines = VERBS.map((verb) => `  ${verb.name.padEnd(10)}${verb.about.split('. ')[0]!.replace(/\.$/, '')}.`);
  return (
    'roofdatum VERB …\n\nMeasures roofs from point clouds and meshes; every number with its 95 % uncertainty. Nothing is uploaded.\n\n' +
    `${lines.join('\n')}\n\nroofdatum VERB --help tells more. Exit status: 0 done, 1 our fault, 2 unusable input, 3 the tape check failed.\n` +
    'Working at height, live parts, loads and fire access: local codes and licensed persons decide, not this tool.\n'
  );
}

async function main(words: readonly string[]): Promise<number> {
  const [name, ...rest] = words;
  if (name === undefined || name === '--help' || name === 'help') {
    process.stdout.write(overview());
    return name === undefined ? STATUS_CALLER : 0;
  }
  const verb = VERBS.find((candidate) => candidate.name === name);
  if (!verb) throw new InputError('roofdatum', `"${name}" is not a verb, expected ${VERBS.map((each) => each.name).join(', ')}.`);
  if (rest.includes('--help')) {
    process.stdout.write(helpOf(verb));
    return 0;
  }
  return verb.run(parseArguments(verb, rest));
}

/** One line for the caller's mistake; everything for ours. */
function report(error: unknown): number {
  if (error instanceof InputError) {
    process.stderr.write(`${error.message.replaceAll('\n', ' ')}\n`);
    return STATUS_CALLER;
  }
  const detail = error instanceof Error ? (error.stack ?? error.message) : String(error);
  process.stderr.write(`This is a fault of roofdatum, not of your files. Nothing was written.\n${detail}\n`);
  return STATUS_OURS;
}

process.exitCode = await main(process.argv.slice(2)).catch(report);
