import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import type { NoiseModel } from '../../sample-data/generator/scene-options.ts';
import { SCENE_KINDS, type SceneKind } from '../../sample-data/generator/scene.ts';
import { DEFAULT_ASSUMPTIONS } from '../../src/reading/assumptions.ts';
import { GROUND_COVER_U95 } from '../../src/find/buildings/ground-elevation.ts';
import { printScore } from '../../src/survey/score/print-score.ts';
import { poolScores } from '../../src/survey/score/score.ts';
import { caseName, FIRST_HELD_OUT_SEED, isOfPromise, listCases, NOISES, shortCases, type AccuracyCase } from './case-list.ts';
import { drainLines } from './drains.ts';
import { belowFloors } from './floors.ts';
import { headlineValues } from './headline.ts';
import { realDataLines } from './real-data.ts';
import { resolvabilityLines } from './resolvability.ts';
import { runCase, type CaseResult } from './run-case.ts';
import { tapeFigures, tapesBelow, tapeTable } from './tapes.ts';
import { coverageTable, gridTable, headlineTable, kindTable, obstructionTable, oracleLine, outlineOracleLine, sideTable, sizeClassTable, speedLine, worstLines } from './tables.ts';

const USE = `accuracy [--short] [--held-out] [--kinds a,b] [--noise a,b] [--spacing-m a,b] [--first-seed n] [--seeds n] [--beside n] [--detail] [--no-real] [--tapes] [--small] [--out DIR]

Surveys made-up roofs whose truth is known, and real ones whose faces were published, and prints how far off we are.
  --short     Two minutes; ends with status 1 when a figure falls below its floor.
  --held-out  Seeds from ${FIRST_HELD_OUT_SEED}, which no one looks at while methods change.
  --seeds     Seeds a kind for the cases of the promise. Default 5.
  --beside    Seeds a kind for the other noise models and spacings. Default as many.
  --detail    Everything that went wrong, by name.
  --tapes     Only the simulated tapes: which cause is named, and what the suggested ones save.
  --small     Only the simulated drains and small features.
  --out       Writes figures.md and figures.json there.`;

const LISTED = ['--kinds', '--noise', '--spacing-m', '--first-seed', '--seeds', '--beside', '--out'];
const SWITCHES = ['--short', '--held-out', '--detail', '--no-real', '--tapes', '--small', '--help'];
/** Draws of the bootstrap: the ends of a 95 % interval then wander by about a tenth of its width. */
const DRAWS = 200;

async function main(args: readonly string[]): Promise<number> {
  const flags = new Map<string, string>();
  for (let i = 0; i < args.length; i++) {
    const arg = args[i]!;
    if (SWITCHES.includes(arg)) flags.set(arg, '');
    else if (LISTED.includes(arg)) flags.set(arg, args[++i] ?? '');
    else return refuse(`unknown flag ${arg}`);
  }
  if (flags.has('--help')) {
    process.stdout.write(`${USE}\n`);
    return 0;
  }
  if (flags.has('--tapes')) {
    const tapes = tapeFigures(Number(flags.get('--first-seed') ?? 1));
    process.stdout.write(`${tapeTable(tapes)}\n`);
    return complain(tapesBelow(tapes));
  }
  if (flags.has('--small')) {
    process.stdout.write(`${(await smallThings(flags)).join('\n')}\n`);
    return 0;
  }
  const kinds = flags.get('--kinds')?.split(',');
  const strangeKind = kinds?.find((k) => !SCENE_KINDS.includes(k as SceneKind));
  if (strangeKind !== undefined) return refuse(`--kinds: no scene called ${strangeKind}; there are ${SCENE_KINDS.join(', ')}`);
  const noises = flags.get('--noise')?.split(',');
  const strangeNoise = noises?.find((n) => !NOISES.includes(n as NoiseModel));
  if (strangeNoise !== undefined) return refuse(`--noise: no model called ${strangeNoise}; there are ${NOISES.join(', ')}`);
  const cases = flags.has('--short') ? shortCases() : listCases({
    kinds: kinds as SceneKind[] | undefined, noises: noises as NoiseModel[] | undefined,
    spacings: flags.get('--spacing-m')?.split(',').map(Number),
    firstSeed: flags.has('--first-seed') ? Number(flags.get('--first-seed')) : flags.has('--held-out') ? FIRST_HELD_OUT_SEED : 1,
    seedCount: flags.has('--seeds') ? Number(flags.get('--seeds')) : undefined,
    besideCount: flags.has('--beside') ? Number(flags.get('--beside')) : undefined,
  });
  const results = await runAll(cases);
  const report = reportOf(results, flags);
  const real = flags.has('--no-real') || flags.has('--short') ? [] : await realDataLines();
  const small = flags.has('--kinds') ? [] : await smallThings(flags);
  const text = [...report, ...small, ...(real.length > 0 ? ['## Real data', '', ...real, ''] : [])].join('\n');
  process.stdout.write(`${text}\n`);
  const out = flags.get('--out');
  if (out !== undefined) {
    write(join(out, 'figures.md'), text);
    write(join(out, 'figures.json'), `${JSON.stringify(plainFigures(results), null, 1)}\n`);
  }
  return flags.has('--short') ? judge(results) : 0;
}

/** Roofs of each group of drains, and of each noise and spacing of features. */
const SMALL_ROOFS = { whole: [20, 5], short: [2, 1] } as const;

async function smallThings(flags: ReadonlyMap<string, string>): Promise<string[]> {
  const first = Number(flags.get('--first-seed') ?? (flags.has('--held-out') ? FIRST_HELD_OUT_SEED : 1));
  const [drains, features] = flags.has('--short') ? SMALL_ROOFS.short : SMALL_ROOFS.whole;
  return [
    '## Drains of flat roofs with falls', '', ...(await drainLines(first, drains)), '',
    '## What is called resolved, and what was found', '', ...(await resolvabilityLines(first, features)), '',
  ];
}

async function runAll(cases: readonly AccuracyCase[]): Promise<CaseResult[]> {
  const results: CaseResult[] = [];
  for (const [i, c] of cases.entries()) {
    process.stderr.write(`\r${i + 1} of ${cases.length}: ${caseName(c).padEnd(50)}`);
    const result = await runCase(c);
    results.push(result);
    if (result.failure) process.stderr.write(`\n${result.name}: ${result.failure}\n`);
  }
  process.stderr.write('\n');
  return results;
}

const SURVEY_ERRORS = `Each cloud is wrong in scale (± ${100 * DEFAULT_ASSUMPTIONS.scale} %, in plan and in height), tilt (± ${DEFAULT_ASSUMPTIONS.tiltDeg}°, both ways) and north (± ${DEFAULT_ASSUMPTIONS.northDeg}°), and the ground is covered (± ${100 * GROUND_COVER_U95} cm), drawn from what the engine assumes of a survey; stated intervals must hold the true roof, all other figures compare with the roof so moved, as no cloud shows such errors.`;

function reportOf(results: readonly CaseResult[], flags: ReadonlyMap<string, string>): string[] {
  // A selection without the cases of the promise is taken whole.
  const chosen = results.filter((r) => isOfPromise(r.case.noise, r.case.spacing));
  const main = chosen.length > 0 ? chosen : results;
  const seeds = [...new Set(results.map((r) => r.case.seed))].sort((a, b) => a - b);
  const lines = [
    `# Accuracy on made-up roofs, seeds ${seeds[0]} to ${seeds.at(-1)}`, '', speedLine(results), '', SURVEY_ERRORS, '',
    chosen.length > 0 ? '## Figures of the promise: 2 and 5 cm, correlated noise of 2 cm' : '## Figures of the promise, all cases', '', headlineTable(headlineValues(main, DRAWS)), '', oracleLine(main), '', outlineOracleLine(main), '',
    '## Every noise model and spacing', '', gridTable(results), '',
    '## Planes by size (the cases of the promise)', '', sizeClassTable(main), '',
    '## Roofs by kind', '', kindTable(main), '',
    '## Outline by kind of side', '', sideTable(main), '',
    '## Obstructions by width', '', obstructionTable(main), '',
    '## Do the intervals hold? 2 and 5 cm, binomial bounds', '', coverageTable(results.filter((r) => r.case.spacing <= 0.05)), '',
    '### The same without the shares for scale, tilt and north', '', 'What the cloud tells of itself, against roofs with this survey\'s errors in them.', '',
    coverageTable(results.filter((r) => r.case.spacing <= 0.05), { withControl: false }), '',
    ...[...new Set(results.map((r) => r.case.spacing))].filter((s) => s > 0.05).flatMap((s) => [`### ${Math.round(1000 * s) / 10} cm`, '', coverageTable(results.filter((r) => r.case.spacing === s)), '']),
    '### All spacings', '', coverageTable(results), '',
    '## Tapes: what explains the residuals', '', tapeTable(tapeFigures(seeds[0] ?? 1)), '',
    '## Worst roofs', '', ...worstLines(results, 10).map((line) => `- ${line}`), '',
  ];
  if (flags.has('--detail')) lines.push('## Detail', '', printScore(poolScores(results.map((r) => r.score))), '');
  return lines;
}

function judge(results: readonly CaseResult[]): number {
  return complain([...belowFloors(headlineValues(results, 0), results), ...tapesBelow(tapeFigures(results[0]?.case.seed ?? 1))]);
}

function complain(short: readonly string[]): number {
  for (const line of short) process.stderr.write(`below its floor: ${line}\n`);
  return short.length > 0 ? 1 : 0;
}

function plainFigures(results: readonly CaseResult[]): unknown {
  return {
    cases: results.map((r) => ({ ...r.case, points: r.pointCount, failure: r.failure })),
    headlines: headlineValues(results.filter((r) => isOfPromise(r.case.noise, r.case.spacing)), DRAWS)
      .map((v) => ({ figure: v.headline.name, unit: v.headline.unit, value: v.value, low: v.low, high: v.high, must: v.headline.must, aim: v.headline.aim })),
  };
}

function write(path: string, text: string): void {
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, text);
  process.stderr.write(`${path}\n`);
}

function refuse(message: string): number {
  process.stderr.write(`accuracy: ${message}\n${USE}\n`);
  return 2;
}

process.exitCode = await main(process.argv.slice(2));
