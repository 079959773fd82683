import { InputError } from '../units/input-error.ts';
import { parseCsv } from '../io/csv.ts';
import { fitRecord } from '../layout/fit-record.ts';
import { USUAL_FIT_OPTIONS, type FitOptions } from '../layout/fit-options.ts';
import { USUAL_POWER_DENSITY, type ModuleSpec } from '../layout/module-spec.ts';
import type { RuleSet } from '../layout/rule-set.ts';
import { SHIPPED_RULES } from '../layout/shipped-rules.ts';
import { parseRules } from '../layout/validate-rules.ts';
import type { RoofRecord } from '../roof/record.ts';
import { projectionOf } from '../site/projection.ts';
import { recordText } from '../survey/write-record.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import { readRecordFile, readTextFile } from './read-file.ts';
import { inFolder, writeWholeFile } from './write-file.ts';
import type { Arguments, Verb } from './verb.ts';

const SHIPPED_NAMES = Object.keys(SHIPPED_RULES);

export const fitVerb: Verb = {
  name: 'fit',
  operands: 'RECORD --out DIR',
  about:
    'Keep-clear zones by a rule set, usable area with its ±, module places, shade, energy against the need. Example rule sets show how rules are written; ' +
    'local code and a licensed person decide. No structural and no electrical design is made.',
  flags: [
    { name: 'out', value: 'DIR', about: 'Folder the record is written to.' },
    { name: 'rules', value: 'FILE|NAME', about: `A rule set of your own, or one that comes along: ${SHIPPED_NAMES.join(', ')}. Default ${SHIPPED_NAMES[0]}.` },
    { name: 'module', value: 'WxH', about: `Size of a module, m. Default ${USUAL_FIT_OPTIONS.module.widthM}x${USUAL_FIT_OPTIONS.module.heightM}.` },
    { name: 'power-w', value: 'n', about: `Rated power of a module. Default ${Math.round(USUAL_POWER_DENSITY)} W for each m².` },
    { name: 'module-gap-m', value: 'n', about: `Distance between modules. Default ${USUAL_FIT_OPTIONS.module.gapM}.` },
    { name: 'turn', value: 'upright|lying|either', about: 'Which way up modules may stand. Default either.' },
    { name: 'style', value: 'aligned|rows|most', about: `One grid, rows that shift for themselves, or as many as can be. Default ${USUAL_FIT_OPTIONS.style}.` },
    { name: 'rack', value: 'one-way|east-west', about: 'Stands modules up on nearly level planes. Default: they lie on the roof.' },
    { name: 'tilt', value: 'n', about: 'Tilt of racks, degrees. Default 10.' },
    { name: 'facing', value: 'n', about: 'Bearing racks face, degrees from true north. Default: the building’s own direction nearest the equator.' },
    { name: 'row-gap-m', value: 'n', about: 'Clear distance between rack rows. Default: from the sun’s height on the shortest day, 9 to 15 h.' },
    { name: 'latitude', value: 'n', about: 'Degrees, north positive, where the record has no projection.' },
    { name: 'longitude', value: 'n', about: 'Degrees, east positive.' },
    { name: 'elevation-m', value: 'n', about: 'Height above the sea, for the clear sky. Default 0.' },
    { name: 'monthly', value: 'FILE', about: 'CSV with columns month,kwh_m2: irradiation of the horizontal in an average year. Default: clear sky, which no place has all year.' },
    { name: 'performance-ratio', value: 'n', about: `Energy out over energy in by rated power. Default ${USUAL_FIT_OPTIONS.performanceRatio}.` },
    { name: 'need-kwh', value: 'n', about: 'Yearly use to be met.' },
    { name: 'households', value: 'n', about: 'Households, with --use-kwh instead of --need-kwh.' },
    { name: 'use-kwh', value: 'n', about: 'Yearly use of one household.' },
    { name: 'no-shade', about: 'Do not compute shade.' },
    { name: 'draws', value: 'n', about: 'Draws of the measurement error, to tell how sure the module count is. Default 0.' },
    { name: 'costs', about: 'Rank obstructions by the modules and energy they cost.' },
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
  const fitted = fitRecord(record, await optionsFrom(args, record));
  const text = recordText(fitted);
  if (out !== undefined) await writeWholeFile(inFolder(out, 'record.json'), text);
  process.stdout.write(json ? text : fitText(fitted));
  return 0;
}

async function optionsFrom(args: Arguments, record: RoofRecord): Promise<FitOptions> {
  const place = await placeFrom(args, record);
  const monthly = args.text('monthly');
  return {
    ...USUAL_FIT_OPTIONS,
    ...place,
    rules: await rulesFrom(args.text('rules')),
    module: moduleFrom(args),
    style: args.choice('style', ['aligned', 'rows', 'most']) ?? USUAL_FIT_OPTIONS.style,
    rack: rackFrom(args),
    needKwh: needFrom(args),
    monthlyKwhM2: monthly === undefined ? null : monthlyFrom(await readTextFile(monthly), monthly),
    performanceRatio: args.number('performance-ratio', 0.1, 1) ?? USUAL_FIT_OPTIONS.performanceRatio,
    elevationM: args.number('elevation-m', -450, 9000) ?? USUAL_FIT_OPTIONS.elevationM,
    shade: !args.has('no-shade'),
    draws: args.whole('draws', 0, 10_000) ?? 0,
    costs: args.has('costs'),
    seed: record.madeBy.seed,
  };
}

async function rulesFrom(name: string | undefined): Promise<RuleSet> {
  if (name === undefined) return USUAL_FIT_OPTIONS.rules;
  return SHIPPED_RULES[name] ?? parseRules(await readTextFile(name), name);
}

function moduleFrom(args: Arguments): ModuleSpec {
  const usual = USUAL_FIT_OPTIONS.module;
  const text = args.text('module');
  const size = text === undefined ? [text, usual.widthM, usual.heightM] : /^([\d.]+)x([\d.]+)$/.exec(text);
  if (!size) throw new InputError('--module', `"${text}" is not a size, expected for example 1.134x1.722 in metres.`);
  const [widthM, heightM] = [Number(size[1]), Number(size[2])];
  return {
    widthM,
    heightM,
    ratedPowerW: args.number('power-w', 1, 5000) ?? (text === undefined ? usual.ratedPowerW : Math.round(USUAL_POWER_DENSITY * widthM * heightM)),
    turn: args.choice('turn', ['upright', 'lying', 'either']) ?? usual.turn,
    gapM: args.number('module-gap-m', 0, 1) ?? usual.gapM,
  };
}

const USUAL_TILT_DEG = 10;
/** Low edge of a rack above the roof, so that water runs under it. Common practice, no source. [m] */
const USUAL_STANDOFF = 0.1;

function rackFrom(args: Arguments): FitOptions['rack'] {
  const kind = args.choice('rack', ['one-way', 'east-west']);
  if (!kind) return null;
  return {
    kind,
    tiltDeg: args.number('tilt', 1, 60) ?? USUAL_TILT_DEG,
    facingDeg: args.number('facing', 0, 360) ?? null,
    rowGapM: args.number('row-gap-m', 0, 50) ?? null,
    standoffM: USUAL_STANDOFF,
  };
}

function needFrom(args: Arguments): number | null {
  const need = args.number('need-kwh', 0);
  const households = args.whole('households', 1, 1_000_000);
  const use = args.number('use-kwh', 0);
  if (need !== undefined) return need;
  if ((households === undefined) !== (use === undefined)) throw new InputError(households === undefined ? '--households' : '--use-kwh', 'is missing; both are needed.');
  return households === undefined ? null : households * use!;
}

async function placeFrom(args: Arguments, record: RoofRecord): Promise<{ latitudeDeg: number | null; longitudeDeg: number | null }> {
  const latitude = args.number('latitude', -90, 90);
  const longitude = args.number('longitude', -180, 360);
  if (latitude !== undefined) return { latitudeDeg: latitude, longitudeDeg: longitude ?? 0 };
  const crs = record.sources.find((source) => source.crs !== null)?.crs;
  if (!crs) return { latitudeDeg: null, longitudeDeg: null };
  const [x, y] = record.frame.origin;
  const [longitudeDeg, latitudeDeg] = (await projectionOf(crs)).toLonLat(x, y);
  return { latitudeDeg, longitudeDeg };
}

const MONTHS = 12;

function monthlyFrom(text: string, name: string): number[] {
  const [header, ...rows] = parseCsv(text);
  const column = header?.map((cell) => cell.trim()).indexOf('kwh_m2') ?? -1;
  if (column < 0) throw new InputError(name, 'row 1: column kwh_m2 is missing, expected month,kwh_m2.');
  const values = rows.filter((row) => row.some((cell) => cell.trim() !== '')).map((row, index) => {
    const value = Number(row[column]);
    if (!Number.isFinite(value) || value < 0) throw new InputError(name, `row ${index + 2}, column kwh_m2: "${row[column] ?? ''}" is not a number of at least 0.`);
    return value;
  });
  if (values.length !== MONTHS) throw new InputError(name, `has ${values.length} months, expected ${MONTHS}, January to December.`);
  return values;
}

function fitText({ usable, layout }: RoofRecord): string {
  const lines = (usable?.planes ?? []).map((plane) => {
    const { edge, obstruction, access, shade, other } = plane.lostM2;
    const lost = `lost m²: edge ${edge.toFixed(1)}, obstruction ${obstruction.toFixed(1)}, access ${access.toFixed(1)}, shade ${shade.toFixed(1)}, other ${other.toFixed(1)}`;
    return `  ${plane.id.padEnd(8)} usable ${written(plane.usableSlopeAreaM2, 'm²')}  ${lost}`;
  });
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
