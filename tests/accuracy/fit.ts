import { packingLines } from './packing/packing.ts';
import { shadeLines } from './shade/shade.ts';

const USE = `fit [--faces n] [--day-step n]

Judges layouts against proved optima (GLPK) and shade against a ray for every minute. Some minutes; status 1 past a limit.
  --faces     Seeded roof faces. Default 200.
  --day-step  Days between looked-at days of the shade reference. Default 1: every day.`;

function main(args: readonly string[]): number {
  const value = (name: string, usual: number): number => {
    const at = args.indexOf(name);
    return at < 0 ? usual : Number(args[at + 1]);
  };
  const faces = value('--faces', 200);
  const dayStep = value('--day-step', 1);
  if (args.includes('--help') || !(faces >= 1) || !(dayStep >= 1)) {
    process.stdout.write(`${USE}\n`);
    return args.includes('--help') ? 0 : 2;
  }
  const judged = [packingLines(faces), shadeLines(dayStep)];
  process.stdout.write(`${judged.flatMap(({ lines }) => lines).join('\n')}\n`);
  return judged.every(({ within }) => within) ? 0 : 1;
}

process.exitCode = main(process.argv.slice(2));
