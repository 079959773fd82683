import { ROOF_KINDS } from '../../sample-data/generator/single-roofs.ts';
import { packingLines } from './packing/packing.ts';
import { shadeLines } from './shade/shade.ts';
import { shadeSpeedLines } from './shade/speed.ts';
import { usableLines } from './usable/usable.ts';

const USE = `fit [--faces n] [--day-step n] [--seed n] [--seeds n] [--detail]

Judges usable area against simulated roofs, layouts against proved optima (GLPK), shade against a ray for every minute, and
the time a year of shade takes. Some minutes; status 1 past a limit.
  --faces     Seeded roof faces. Default 200.
  --day-step  Days between looked-at days of the shade reference. Default 1: every day.
  --seed      First seed of the simulated roofs. Default 11.
  --seeds     Seeds for each kind of roof. Default 2.
  --detail    Every roof and plane.`;

/** A vault has no true plane to compare with. */
const KINDS = ROOF_KINDS.filter((kind) => kind !== 'barrel-vault');

async function main(args: readonly string[]): Promise<number> {
  const value = (name: string, usual: number): number => {
    const at = args.indexOf(name);
    return at < 0 ? usual : Number(args[at + 1]);
  };
  const [faces, dayStep, seed, seeds] = [value('--faces', 200), value('--day-step', 1), value('--seed', 11), value('--seeds', 2)];
  if (args.includes('--help') || !(faces >= 1) || !(dayStep >= 1) || !(seed >= 0) || !(seeds >= 1)) {
    process.stdout.write(`${USE}\n`);
    return args.includes('--help') ? 0 : 2;
  }
  const roofs = Array.from({ length: seeds }, (_, i) => seed + i);
  const judges = [
    shadeSpeedLines, () => usableLines(KINDS, roofs, 'correlated', 0.05, args.includes('--detail')),
    () => packingLines(faces), () => shadeLines(dayStep),
  ];
  let status = 0;
  for (const judge of judges) {
    const { lines, within } = await judge();
    process.stdout.write(`${lines.join('\n')}\n`);
    if (!within) status = 1;
  }
  return status;
}

process.exitCode = await main(process.argv.slice(2));
