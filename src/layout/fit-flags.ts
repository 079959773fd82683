import { InputError } from '../units/input-error.ts';
import { checkFitOptions, USUAL_FIT_OPTIONS, type FitOptions } from './fit-options.ts';
import { USUAL_MODULE, USUAL_POWER_DENSITY, type ModuleSpec } from './module-spec.ts';
import { householdNeed } from './need.ts';
import { parseMonthly } from './parse-monthly.ts';
import type { RecordPlace } from './record-place.ts';
import { SHIPPED_RULES } from './shipped-rules.ts';
import { parseRules } from './validate-rules.ts';

/** One option as it is asked for on a command line or in a form. */
export interface FitFlag {
  readonly name: string;
  /** How the value is written; absent for a switch. */
  readonly value?: string;
  readonly about: string;
}

/** Every option of a fit. `rules` and `monthly` name files, whose text is handed to `fitOptionsFromFlags`. */
export const FIT_FLAGS: readonly FitFlag[] = [
  { name: 'rules', value: 'FILE|NAME', about: `Keep-clear rules: a file, or one of the shipped examples ${Object.keys(SHIPPED_RULES).join(', ')}. Default residential-fire-access. Local code and a licensed person decide.` },
  { name: 'module', value: 'WxH', about: `Size of one module in metres. Default ${USUAL_MODULE.widthM}x${USUAL_MODULE.heightM}.` },
  { name: 'power-w', value: 'n', about: `Rated power of one module. Default ${USUAL_MODULE.ratedPowerW} for the usual size, else ${Math.round(USUAL_POWER_DENSITY)} W/m².` },
  { name: 'turn', value: 'upright|lying|either', about: 'Longer side up the slope, level, or whichever holds more. Default either.' },
  { name: 'module-gap-m', value: 'n', about: `Distance between neighbours. Default ${USUAL_MODULE.gapM}.` },
  { name: 'style', value: 'aligned|rows|most', about: 'One even grid; rows that each hold most; or as many as can be found. Default rows.' },
  { name: 'tilt', value: 'degrees', about: 'Stand modules on racks of this tilt on roofs of up to 5 degrees. Default: they lie on the roof.' },
  { name: 'rack', value: 'one-way|east-west', about: 'Rows facing the equator, or pairs back to back. Default one-way.' },
  { name: 'facing', value: 'degrees', about: 'Bearing the racks face, from true north. Default: the building direction nearest the equator (pairs: nearest east).' },
  { name: 'row-gap-m', value: 'n', about: 'Clear distance between rows. Default: no shade from row to row from 9 to 15 h solar time at the winter solstice; pairs 0.3.' },
  { name: 'need-kwh', value: 'n', about: 'Yearly use to be met, as a meter shows it.' },
  { name: 'households', value: 'n', about: 'Households to be served, with --use-kwh each.' },
  { name: 'use-kwh', value: 'n', about: 'Yearly use of one household.' },
  { name: 'monthly', value: 'CSV', about: 'Irradiation of the level in an average year: header month,kwh_m2, twelve rows. Default: clear sky, with a wide ± on the energy.' },
  { name: 'linke', value: 'n[,n…]', about: 'Linke turbidity of the clear sky, one value or twelve. Default 3.' },
  { name: 'latitude', value: 'degrees', about: 'Of the site, north positive; needed for energy where the record has no projection.' },
  { name: 'longitude', value: 'degrees', about: 'Of the site, east positive.' },
  { name: 'elevation-m', value: 'n', about: 'Of the site above the sea, for the clear sky. Default 0.' },
  { name: 'albedo', value: 'n', about: 'Share of light the ground throws back. Default 0.2.' },
  { name: 'performance-ratio', value: 'n', about: 'Energy out over rated power times irradiation. Default 0.8.' },
  { name: 'building-height-m', value: 'n', about: 'Roof height above ground, where the record does not know it and a rule asks.' },
  { name: 'no-shade', about: 'Leave shade and energy out.' },
  { name: 'least-access', value: 'n', about: 'Leave out ground with less light over the year than this share of what a free sky would give. Default 0.7 (common practice, no source); 0 leaves out none.' },
  { name: 'least-plane-yield', value: 'n', about: 'Leave roof planes empty whose slope and bearing bring less light over the year, without any shade, than this share of what the level gets. Default 0.6 (common practice, no source); 0 leaves out none. Not looked at where the latitude is unknown.' },
  { name: 'least-group', value: 'n', about: 'Leave roof planes empty that hold fewer modules. Default 2 (common practice, no source).' },
  { name: 'draws', value: 'n', about: 'Draws of the measurement error, for how sure the module count is. Default 0: none.' },
  { name: 'costs', about: 'Rank obstructions by the modules and energy they cost.' },
  { name: 'seed', value: 'n', about: 'Seed of the draws. Default 1.' },
];

/** Where option values come from: a command line, or a form. */
export interface FlagSource {
  text(name: string): string | undefined;
  has(name: string): boolean;
}

/** Text of the files that options name. */
export interface FlagFiles {
  /** Null when `rules` names a shipped set. */
  readonly rules: { readonly name: string; readonly text: string } | null;
  readonly monthly: { readonly name: string; readonly text: string } | null;
}

/**
 * Options of a fit from flags.
 *
 * @param place  From the record's projection; `latitude` and `longitude` go before it.
 * @throws InputError that names the flag, the value and what was expected.
 */
export function fitOptionsFromFlags(flags: FlagSource, files: FlagFiles, place: RecordPlace | null): FitOptions {
  const usual = USUAL_FIT_OPTIONS;
  const number = (name: string): number | null => numberOf(flags, name);
  return checkFitOptions({
    rules: rulesOf(flags, files),
    module: moduleOf(flags),
    style: choiceOf(flags, 'style', ['aligned', 'rows', 'most']) ?? usual.style,
    rack: rackOf(flags),
    latitudeDeg: number('latitude') ?? place?.latitudeDeg ?? null,
    longitudeDeg: number('longitude') ?? place?.longitudeDeg ?? null,
    needKwh: needOf(flags),
    monthlyKwhM2: files.monthly ? parseMonthly(files.monthly.text, files.monthly.name) : null,
    performanceRatio: number('performance-ratio') ?? usual.performanceRatio,
    linkeTurbidity: linkeOf(flags) ?? usual.linkeTurbidity,
    albedo: number('albedo') ?? usual.albedo,
    elevationM: number('elevation-m') ?? usual.elevationM,
    buildingHeightM: number('building-height-m'),
    shade: !flags.has('no-shade'),
    leastAccess: number('least-access') ?? usual.leastAccess,
    leastPlaneYield: number('least-plane-yield') ?? usual.leastPlaneYield,
    leastGroup: number('least-group') ?? usual.leastGroup,
    draws: number('draws') ?? usual.draws,
    seed: number('seed') ?? usual.seed,
    costs: flags.has('costs'),
  });
}

function rulesOf(flags: FlagSource, files: FlagFiles) {
  if (files.rules) return parseRules(files.rules.text, files.rules.name);
  const name = flags.text('rules');
  if (name === undefined) return USUAL_FIT_OPTIONS.rules;
  const shipped = SHIPPED_RULES[name];
  if (!shipped) throw new InputError('--rules', `"${name}" is neither a file nor a shipped set (${Object.keys(SHIPPED_RULES).join(', ')}).`);
  return shipped;
}

function moduleOf(flags: FlagSource): ModuleSpec {
  const turn = choiceOf(flags, 'turn', ['upright', 'lying', 'either']) ?? USUAL_MODULE.turn;
  const gapM = numberOf(flags, 'module-gap-m') ?? USUAL_MODULE.gapM;
  const size = flags.text('module');
  const power = numberOf(flags, 'power-w');
  if (size === undefined) return { ...USUAL_MODULE, turn, gapM, ratedPowerW: power ?? USUAL_MODULE.ratedPowerW };
  const match = /^(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)$/.exec(size.trim());
  if (!match) throw new InputError('--module', `"${size}" is not a size, expected width x height in metres, e.g. 1.134x1.722.`);
  const widthM = Number(match[1]);
  const heightM = Number(match[2]);
  return { widthM, heightM, turn, gapM, ratedPowerW: power ?? Math.round(USUAL_POWER_DENSITY * widthM * heightM) };
}

function rackOf(flags: FlagSource): FitOptions['rack'] {
  const tiltDeg = numberOf(flags, 'tilt');
  if (tiltDeg === null) {
    for (const name of ['rack', 'facing', 'row-gap-m']) {
      if (flags.text(name) !== undefined) throw new InputError(`--${name}`, 'is only understood with --tilt.');
    }
    return null;
  }
  return {
    kind: choiceOf(flags, 'rack', ['one-way', 'east-west']) ?? 'one-way', tiltDeg,
    facingDeg: numberOf(flags, 'facing'), rowGapM: numberOf(flags, 'row-gap-m'),
    // Low edge of a rack over the roof (common practice, no source).
    standoffM: 0.1,
  };
}

function needOf(flags: FlagSource): number | null {
  const meter = numberOf(flags, 'need-kwh');
  const households = numberOf(flags, 'households');
  const use = numberOf(flags, 'use-kwh');
  if (meter !== null) {
    if (households !== null || use !== null) throw new InputError('--need-kwh', 'is a whole need by itself; leave out --households and --use-kwh.');
    return meter;
  }
  if (households === null && use === null) return null;
  if (households === null) throw new InputError('--households', 'is missing; --use-kwh needs it.');
  if (use === null) throw new InputError('--use-kwh', 'is missing; --households needs it.');
  return householdNeed(households, use);
}

function linkeOf(flags: FlagSource): number[] | null {
  const text = flags.text('linke');
  if (text === undefined) return null;
  const values = text.split(',').map((part) => toNumber('--linke', part));
  return values.length === 1 ? Array.from({ length: 12 }, () => values[0]!) : values;
}

function numberOf(flags: FlagSource, name: string): number | null {
  const text = flags.text(name);
  return text === undefined ? null : toNumber(`--${name}`, text);
}

function toNumber(subject: string, text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new InputError(subject, `"${text}" is not a number.`);
  return value;
}

function choiceOf<Choice extends string>(flags: FlagSource, name: string, choices: readonly Choice[]): Choice | null {
  const text = flags.text(name);
  if (text === undefined) return null;
  const found = choices.find((choice) => choice === text);
  if (!found) throw new InputError(`--${name}`, `"${text}" is not known, expected ${choices.join(', ')}.`);
  return found;
}
