import { InputError } from '../units/input-error.ts';
import { FIT_FLAGS, fitOptionsFromFlags, type FlagFiles } from '../layout/fit-flags.ts';
import { fitRecord } from '../layout/fit-record.ts';
import { recordPlace } from '../layout/record-place.ts';
import { SHIPPED_RULES } from '../layout/shipped-rules.ts';
import type { RoofRecord } from '../roof/record.ts';
import { recordText } from '../survey/write-record.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import { progressLine } from './progress.ts';
import { readRecordFile, readTextFile } from './read-file.ts';
import { inFolder, writeWholeFile } from './write-file.ts';
import type { Arguments, Verb } from './verb.ts';

export const fitVerb: Verb = {
  name: 'fit',
  operands: 'RECORD --out DIR',
  about:
    'Keep-clear zones by a rule set, usable area with its ±, module places, shade, energy against the need. Example rule sets show how rules are written; ' +
    'local code and a licensed person decide. No structural and no electrical design is made.',
  flags: [
    { name: 'out', value: 'DIR', about: 'Folder the record is written to.' },
    ...FIT_FLAGS,
    { name: 'json', about: 'Write the record to standard output as well.' },
    { name: 'help', about: 'This page.' },
  ],
  run: fit,
};

async function fit(args: Arguments): Promise<number> {
  const [recordPath, ...more] = args.operands;
  if (recordPath === undefined || more.length > 0) throw new InputError('roofdatum fit', `takes one record, ${args.operands.length} given.`);
  const json = args.has('json');
  const out = json ? args.text('out') : args.required('out');
  const record = await readRecordFile(recordPath);
  const options = fitOptionsFromFlags(args, await flagFiles(args), await recordPlace(record));
  const progress = progressLine();
  const fitted = fitRecord(record, options, undefined, { onProgress: (fraction) => progress.show('fitting', fraction) });
  progress.end();
  const text = recordText(fitted);
  if (out !== undefined) await writeWholeFile(inFolder(out, 'record.json'), text);
  process.stdout.write(json ? text : fitText(fitted));
  return 0;
}

async function flagFiles(args: Arguments): Promise<FlagFiles> {
  const read = async (name: string | undefined) => (name === undefined ? null : { name, text: await readTextFile(name) });
  const rules = args.text('rules');
  return { rules: await read(rules !== undefined && rules in SHIPPED_RULES ? undefined : rules), monthly: await read(args.text('monthly')) };
}

function fitText({ usable, layout }: RoofRecord): string {
  const lines = (usable?.planes ?? []).map((plane) => {
    const { edge, obstruction, access, shade, other } = plane.lostM2;
    const lost = `lost m²: edge ${edge.toFixed(1)}, obstruction ${obstruction.toFixed(1)}, access ${access.toFixed(1)}, shade ${shade.toFixed(1)}, other ${other.toFixed(1)}`;
    return `  ${plane.id.padEnd(8)} usable ${written(plane.usableSlopeAreaM2, 'm²')}  ${lost}`;
  });
  if (layout?.buildings) {
    lines.push(...layout.buildings.map(({ id, usableM2, count }) => `${id.padEnd(8)} usable ${written(usableM2, 'm²')}, ${count} modules`));
  }
  if (usable) lines.unshift(`usable ${written(usable.totalM2, 'm²')}`);
  if (layout) {
    lines.push(`${layout.count} modules, at most ${layout.upperBound}; ${layout.ratedPowerKw.toFixed(2)} kW; a year ${written(layout.yearlyEnergyKwh, 'kWh')}`);
    if (layout.needKwh !== null && isKnown(layout.yearlyEnergyKwh)) {
      lines.push(`need ${layout.needKwh.toFixed(0)} kWh: ${Math.round((100 * layout.yearlyEnergyKwh.value) / layout.needKwh)} % met`);
    }
  }
  lines.push('Local code and a licensed person decide; no structural and no electrical design was made.');
  return `${lines.join('\n')}\n`;
}

const written = (number: Measured, unit: string): string => (isKnown(number) ? `${number.value.toFixed(1)} ± ${number.u95.toFixed(1)} ${unit}` : number.why);
