import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { SAMPLE_OPTIONS, SAMPLE_SEED } from './generator/sample-settings.ts';
import { makeScene, SCENE_KINDS, type Scene, type SceneKind } from './generator/scene.ts';
import { makeSurfaceMesh } from './generator/surface-mesh.ts';
import { writeGlb } from './writers/write-glb.ts';
import { writeLas, WKT_25832 } from './writers/write-las.ts';
import { writePly } from './writers/write-ply.ts';

const USE = `make-sample OUT-DIR [--scene ${SCENE_KINDS.join('|')}] [--seed n] [--spacing-m n] [--blocks n] [--as las,las7,ply,glb,truth]
Without flags it writes the sample that stands in sample-data/: harbour-works.las and harbour-works.truth.json.`;

const WRITERS: Readonly<Record<string, { ending: string; bytes: (scene: Scene) => Uint8Array | string }>> = {
  las: { ending: 'las', bytes: (scene) => writeLas(scene.positions, scene.colours, 2, WKT_25832) },
  las7: { ending: 'format7.las', bytes: (scene) => writeLas(scene.positions, scene.colours, 7, WKT_25832) },
  ply: { ending: 'ply', bytes: (scene) => writePly(scene.positions, scene.colours) },
  glb: { ending: 'glb', bytes: (scene) => writeGlb(makeSurfaceMesh(scene)) },
  truth: { ending: 'truth.json', bytes: (scene) => `${JSON.stringify(scene.truth, roundedToMicrometres, 1)}\n` },
};

function main(args: readonly string[]): number {
  const flags = new Map<string, string>();
  const operands: string[] = [];
  for (let i = 0; i < args.length; i++) {
    const arg = args[i]!;
    if (arg === '--help') return say(USE, 0);
    if (!arg.startsWith('--')) operands.push(arg);
    else if (!['--scene', '--seed', '--spacing-m', '--blocks', '--as'].includes(arg)) return say(`make-sample: unknown flag ${arg}\n${USE}`, 2);
    else flags.set(arg, args[++i] ?? '');
  }
  const out = operands[0];
  if (out === undefined || operands.length > 1) return say(USE, 2);
  const kind = flags.get('--scene') ?? 'harbour';
  if (!SCENE_KINDS.includes(kind as SceneKind)) return say(`make-sample: --scene: no scene called ${kind}; there are ${SCENE_KINDS.join(', ')}`, 2);
  const number = (flag: string, otherwise: number): number => (flags.has(flag) ? Number(flags.get(flag)) : otherwise);
  const seed = number('--seed', SAMPLE_SEED);
  const spacing = number('--spacing-m', SAMPLE_OPTIONS.spacing!);
  const blocks = number('--blocks', 1);
  for (const [flag, value] of [['--seed', seed], ['--spacing-m', spacing], ['--blocks', blocks]] as const) {
    if (!Number.isFinite(value) || value <= 0) return say(`make-sample: ${flag}: expected a number above 0, got ${flags.get(flag)}`, 2);
  }
  const forms = (flags.get('--as') ?? 'las,truth').split(',');
  const strange = forms.find((form) => !(form in WRITERS));
  if (strange !== undefined) return say(`make-sample: --as: no form called ${strange}; there are ${Object.keys(WRITERS).join(', ')}`, 2);
  const scene = makeScene(kind as SceneKind, seed, { ...SAMPLE_OPTIONS, spacing, blocks });
  const name = kind === 'harbour' ? 'harbour-works' : kind;
  mkdirSync(out, { recursive: true });
  for (const form of forms) {
    const { ending, bytes } = WRITERS[form]!;
    const path = join(out, `${name}.${ending}`);
    const data = bytes(scene);
    writeFileSync(path, data);
    process.stderr.write(`${path}: ${(data.length / 1e6).toFixed(2)} MB\n`);
  }
  return 0;
}

function say(message: string, status: number): number {
  (status === 0 ? process.stdout : process.stderr).write(`${message}\n`);
  return status;
}

const roundedToMicrometres = (_key: string, value: unknown): unknown =>
  typeof value === 'number' && Math.abs(value) > 1 ? Math.round(value * 1e6) / 1e6 : value;

process.exitCode = main(process.argv.slice(2));
