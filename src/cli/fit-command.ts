import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fitPlan } from '../handover/fit-plan.ts';
import { FIT_FLAGS, fitOptionsFromFlags, type FlagFiles } from '../layout/fit-flags.ts';
import { planeYieldSays } from '../layout/plane-yield.ts';
import { recordPlace } from '../layout/record-place.ts';
import type { RoofRecord } from '../roof/record.ts';
import type { SurfaceModel } from '../sun/surface-model.ts';
import { directRunner } from '../survey/direct-runner.ts';
import { fitRecordOn } from '../survey/fit-on.ts';
import { surfaceOfFiles } from '../survey/surface-of-files.ts';
import type { TaskRunner } from '../survey/task-runner.ts';
import { workerRunner } from '../survey/worker-runner.ts';
import { recordText } from '../survey/write-record.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import { fitCsv, fitTable } from './fit-table.ts';
import { nodeEnvironment } from './node-environment.ts';
import { startWorkerThread } from './node-workers.ts';
import { progressLine } from './progress.ts';
import { readRecordFile, readTextFile } from './read-file.ts';
import { findSources } from './source-files.ts';
import { checkFolder, inFolder, writeWholeFile } from './write-file.ts';
import type { Arguments, Verb } from './verb.ts';

const MOST_WORKERS = 64;
/** Obstructions named in the text, dearest first. */
const COSTS_SAID = 20;

export const fitVerb: Verb = {
  name: 'fit',
  operands: 'RECORD --out DIR',
  about:
    'Keep-clear zones by a rule set, usable area with its ±, module places, shade, energy against the need. Shade comes from the measured cloud, ' +
    'read again from the files the record was made from: those beside the record, in the current folder, or given by --files; without them only what the ' +
    'record holds throws shade, and the output says so. Writes record.json, fit-plan.svg and fit-buildings.csv. Example rule sets show how rules are written; ' +
    'local code and a licensed person decide. No structural and no electrical design is made.',
  flags: [
    { name: 'out', value: 'DIR', about: 'Folder the files are written to.' },
    { name: 'files', value: 'FILE', many: true, about: 'File the record was made from, or one of the same projection that shows more of the surroundings; once for each.' },
    ...FIT_FLAGS,
    { name: 'workers', value: 'n', about: 'Threads to work in; 0 works in this one. Default: one for each core. The result does not depend on it.' },
    { name: 'json', about: 'Write the record to standard output as well.' },
    { name: 'help', about: 'This page.' },
  ],
  run: fit,
};

async function fit(args: Arguments): Promise<number> {
  const recordPath = args.record('fit');
  const json = args.has('json');
  const out = json ? args.text('out') : args.required('out');
  if (out !== undefined) await checkFolder(out);
  const width = args.whole('workers', 0, MOST_WORKERS) ?? availableParallelism();
  const record = await readRecordFile(recordPath);
  const options = fitOptionsFromFlags(args, await flagFiles(args), await recordPlace(record));
  const environment = nodeEnvironment();
  const runner = width === 0 ? directRunner(environment) : workerRunner(startWorkerThread, width);
  const progress = progressLine();
  try {
    const { surface, says } = options.shade && options.latitudeDeg !== null
      ? await surroundings(record, recordPath, args.texts('files'), runner, progress.show)
      : { surface: null, says: 'Shade was not computed.' };
    const fitted = await fitRecordOn(record, options, surface, runner, { onProgress: (fraction) => progress.show('placing modules', fraction) });
    progress.end();
    const text = recordText(fitted);
    if (out !== undefined) await writeFiles(out, fitted, text);
    process.stdout.write(json ? text : fitText(fitted, says, planeYieldSays(options)));
    return 0;
  } finally {
    progress.end();
    runner.close();
  }
}

/** What throws shade besides the record, and how to say it. */
async function surroundings(record: RoofRecord, recordPath: string, given: readonly string[], runner: TaskRunner, show: (stage: string, fraction: number) => void): Promise<{ surface: SurfaceModel | null; says: string }> {
  const { files, notes } = await findSources(record, recordPath, given, runner);
  const note = notes.map((sentence) => ` ${sentence}`).join('');
  if (files.length === 0) return { surface: null, says: `Shade: only what the record itself holds throws shade; trees and buildings outside it throw none.${note} Name them with --files.` };
  const surface = await surfaceOfFiles(record, files, runner, { onProgress: (fraction) => show('reading heights for shade', fraction) });
  return { surface, says: `Shade: from the record and the measured cloud, ${files.length} file${files.length === 1 ? '' : 's'}.${note}` };
}

async function writeFiles(folder: string, fitted: RoofRecord, text: string): Promise<void> {
  await writeWholeFile(inFolder(folder, 'fit-buildings.csv'), fitCsv(fitted));
  await writeWholeFile(inFolder(folder, 'fit-plan.svg'), fitPlan(fitted));
  await writeWholeFile(inFolder(folder, 'record.json'), text);
}

async function flagFiles(args: Arguments): Promise<FlagFiles> {
  const read = async (name: string | undefined) => (name === undefined ? null : { name, text: await readTextFile(name) });
  const rules = args.text('rules');
  const isName = rules !== undefined && !existsSync(rules) && !/[./\\]/.test(rules);
  // A name that is no file: the options say whether it is a shipped set, and which there are.
  return { rules: await read(isName ? undefined : rules), monthly: await read(args.text('monthly')) };
}

function fitText(record: RoofRecord, shadeSays: string, yieldSays: string): string {
  const { usable, layout } = record;
  const lines = [fitTable(record)];
  if (usable) lines.push(`usable ${written(usable.totalM2, 'm²')}`);
  if (layout) {
    lines.push(`${layout.count} modules, at most ${layout.upperBound}; ${layout.ratedPowerKw.toFixed(2)} kW; ${isKnown(layout.yearlyEnergyKwh) ? `a year ${written(layout.yearlyEnergyKwh, 'kWh')}` : `energy not known: ${layout.yearlyEnergyKwh.why}`}`);
    if (layout.needKwh !== null && isKnown(layout.yearlyEnergyKwh)) {
      lines.push(`need ${layout.needKwh.toFixed(0)} kWh: ${Math.round((100 * layout.yearlyEnergyKwh.value) / layout.needKwh)} % met`);
      if (layout.need && isKnown(layout.need.modules)) lines.push(`all of it would take ${written(layout.need.modules, 'modules')}, ${written(layout.need.moduleAreaM2, 'm² of them')}`);
    }
    for (const { id, count, sensitivity } of layout.buildings ?? []) if (sensitivity && count > 0) lines.push(`${id}: ${sensitivity.says}`);
    const costly = layout.costs?.filter(({ modules, yearlyEnergyKwh }) => modules > 0 || (isKnown(yearlyEnergyKwh) && yearlyEnergyKwh.value >= 1)) ?? [];
    for (const { obstruction, modules, yearlyEnergyKwh } of costly.slice(0, COSTS_SAID)) {
      lines.push(`${obstruction} costs ${modules} module${modules === 1 ? '' : 's'}, ${written(yearlyEnergyKwh, 'kWh a year')}`);
    }
    if (layout.costs) lines.push(`${costly.length} of ${layout.costs.length} obstructions cost modules or energy; record.json holds them all.`);
  }
  lines.push(shadeSays, yieldSays, 'Local code and a licensed person decide; no structural and no electrical design was made.');
  return `${lines.join('\n')}\n`;
}

const written = (number: Measured, unit: string): string => (isKnown(number) ? `${number.value.toFixed(1)} ± ${number.u95.toFixed(1)} ${unit}` : number.why);
