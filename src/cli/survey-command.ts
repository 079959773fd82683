import { availableParallelism } from 'node:os';
import { basename } from 'node:path';
import { DEFAULT_ASSUMPTIONS, type Assumptions } from '../reading/assumptions.ts';
import { InputError } from '../units/input-error.ts';
import { surveyFiles } from '../survey/survey-files.ts';
import { workerRunner } from '../survey/worker-runner.ts';
import { recordText } from '../survey/write-record.ts';
import { CONTROL_LIMITS, type SurveyOptions } from '../survey/survey-options.ts';
import type { SourceHandle } from '../survey/source-handle.ts';
import { CLIENT_FLAGS, clientLimitFrom } from './client-limit.ts';
import { surveyThreads } from './node-workers.ts';
import { collectGarbage, nodeEnvironment } from './node-environment.ts';
import { progressLine } from './progress.ts';
import { readTextFile } from './read-file.ts';
import { checkFolder, inFolder, writeWholeFile } from './write-file.ts';
import { summaryOf } from './record-summary.ts';
import type { Arguments, Verb } from './verb.ts';

const MOST_WORKERS = 64;

export const surveyVerb: Verb = {
  name: 'survey',
  operands: 'FILE… --out DIR',
  about:
    'Measures a roof: reads point clouds (LAS, LAZ, COPC, PLY, text), meshes (PLY, OBJ, GLB) or height rasters (GeoTIFF), ' +
    'finds roof planes, edges, obstructions and parapets, and writes DIR/record.json. Several files make one survey when they agree in projection and unit. ' +
    'An MTL file and pictures given with an OBJ are what it is drawn with in a page; they change no number.',
  flags: [
    { name: 'out', value: 'DIR', about: 'Folder the record is written to.' },
    { name: 'unit', value: 'm|ft|us-ft', about: 'Unit of the coordinates, against what the files say. ft is the international foot.' },
    { name: 'crs', value: 'EPSG:n', about: 'Projection of the coordinates, against what the files say.' },
    { name: 'up', value: 'z|y', about: 'Axis that points up. Default: y for glTF, z elsewhere.' },
    { name: 'gsd-cm', value: 'n', about: 'Ground sample distance of the images as flown, cm per pixel; limits what can be resolved.' },
    ...CLIENT_FLAGS,
    { name: 'within', value: 'FILE|CORNERS', about: 'Region of interest: a GeoJSON polygon file, or "x,y x,y x,y" in source coordinates.' },
    { name: 'mesh-spacing-m', value: 'n', about: 'Distance of the points laid on a mesh. Default: from its triangles.' },
    { name: 'tilt-u95-deg', value: 'n', about: `How level the survey is by its control, 95 % half width. Default ${DEFAULT_ASSUMPTIONS.tiltDeg}. What a dome or bowl of the block leaves at a roof counts in: a rise of 3 cm over 60 m tilts it by 0.03 half way out.` },
    { name: 'scale-u95-mm-per-m', value: 'n', about: `How true its lengths are, 95 % half width. Default ${1000 * DEFAULT_ASSUMPTIONS.scale}.` },
    { name: 'north-u95-deg', value: 'n', about: `How well it is turned to north, 95 % half width. Default ${DEFAULT_ASSUMPTIONS.northDeg}. Zero of heights and the place on the map are the files’ own; tape with checkpoints shows how far they are off.` },
    { name: 'salvage', about: 'Read what is there when a file is shorter than it promises, or holds rows that are no numbers.' },
    { name: 'workers', value: 'n', about: 'Threads to work in; 0 works in this one. Default: one for each core. The record does not depend on it.' },
    { name: 'seed', value: 'n', about: 'Seed of everything that draws samples. Default 1.' },
    { name: 'json', about: 'Write the record to standard output as well.' },
    { name: 'help', about: 'This page.' },
  ],
  run: survey,
};

async function survey(args: Arguments): Promise<number> {
  if (args.operands.length === 0) throw new InputError('roofdatum survey', 'no file is given.');
  const json = args.has('json');
  const out = json ? args.text('out') : args.required('out');
  if (out !== undefined) await checkFolder(out);
  const files: SourceHandle[] = args.operands.map((path) => ({ name: basename(path), where: path }));
  const options = await optionsFrom(args);
  const judged = clientLimitFrom(args);
  const width = args.whole('workers', 0, MOST_WORKERS) ?? availableParallelism();
  const environment = nodeEnvironment();
  const runner = width === 0 ? (await import('../survey/direct-runner.ts')).directRunner(environment) : workerRunner(surveyThreads(width), width, true);
  const progress = progressLine();
  try {
    const measured = await surveyFiles(files, options, runner, { onProgress: progress.show, positionsOnly: true, collect: collectGarbage });
    const record = judged(measured.record);
    progress.end();
    const text = recordText(record);
    if (out !== undefined) await writeWholeFile(inFolder(out, 'record.json'), text);
    if (json) process.stdout.write(text);
    else process.stdout.write(summaryOf(record));
    return 0;
  } finally {
    progress.end();
    runner.close();
  }
}

async function optionsFrom(args: Arguments): Promise<SurveyOptions> {
  const unit = args.choice('unit', ['m', 'ft', 'us-ft']);
  const up = args.choice('up', ['z', 'y']);
  const crs = args.text('crs');
  const gsdCm = args.number('gsd-cm', 0.01, 1000);
  const meshSpacingM = args.number('mesh-spacing-m', 0.001, 100);
  const seed = args.whole('seed', 0, 2 ** 31 - 1);
  const within = args.text('within');
  const control = controlFrom(args);
  return {
    ...(unit ? { unit } : {}),
    ...(up ? { up } : {}),
    ...(crs ? { crs } : {}),
    ...(gsdCm ? { gsdCm } : {}),
    ...(meshSpacingM ? { meshSpacingM } : {}),
    ...(seed !== undefined ? { seed } : {}),
    ...(Object.keys(control).length > 0 ? { control } : {}),
    ...(args.has('salvage') ? { salvage: true } : {}),
    ...(within ? { within: /^\s*[-+]?[\d.]/.test(within) && within.includes(',') ? within : await readTextFile(within) } : {}),
  };
}

function controlFrom(args: Arguments): Partial<Assumptions> {
  const { tiltDeg: tilt, scale, northDeg: north } = CONTROL_LIMITS;
  const tiltDeg = args.number('tilt-u95-deg', ...tilt);
  const perMille = args.number('scale-u95-mm-per-m', 1000 * scale[0], 1000 * scale[1]);
  const northDeg = args.number('north-u95-deg', ...north);
  return {
    ...(tiltDeg !== undefined ? { tiltDeg } : {}),
    ...(perMille !== undefined ? { scale: perMille / 1000 } : {}),
    ...(northDeg !== undefined ? { northDeg } : {}),
  };
}
