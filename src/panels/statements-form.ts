import { CONTROL_LIMITS, type SurveyOptions } from '../survey/survey-options.ts';
import { InputError } from '../units/input-error.ts';

/** What a person writes into the form of statements: one text a field, empty where nothing is stated. */
export interface StatementsForm {
  readonly unit: string;
  readonly crs: string;
  readonly up: string;
  readonly gsdCm: string;
  readonly meshSpacingCm: string;
  readonly tiltDeg: string;
  readonly scaleMmPerM: string;
  readonly northDeg: string;
  readonly salvage: boolean;
}

const UNITS = ['m', 'ft', 'us-ft'] as const;
const AXES = ['z', 'y'] as const;

/** The form as it stands for a survey that was made with these options. */
export function formOf({ unit, crs = '', up, gsdCm, meshSpacingM, salvage = false, control = {} }: SurveyOptions): StatementsForm {
  const text = (value: number | undefined, times = 1): string => (value === undefined ? '' : String(Number((value * times).toPrecision(9))));
  return {
    unit: unit ?? '', crs, up: up ?? '', salvage, gsdCm: text(gsdCm), meshSpacingCm: text(meshSpacingM, 100),
    tiltDeg: text(control.tiltDeg), scaleMmPerM: text(control.scale, 1000), northDeg: text(control.northDeg),
  };
}

/**
 * The options a form states. The region and the seed of the survey before are kept.
 *
 * @throws InputError that names the field.
 */
export function optionsOf(form: StatementsForm, { within, seed }: SurveyOptions): SurveyOptions {
  const crs = form.crs.trim() === '' ? undefined : projection(form.crs.trim());
  const [tilt, scale, north] = [CONTROL_LIMITS.tiltDeg, CONTROL_LIMITS.scale, CONTROL_LIMITS.northDeg];
  const perMille = figure(form.scaleMmPerM, 'lengths true to', 1000 * scale[0], 1000 * scale[1]);
  const control = withoutGaps({
    tiltDeg: figure(form.tiltDeg, 'level to', ...tilt),
    scale: perMille === undefined ? undefined : perMille / 1000,
    northDeg: figure(form.northDeg, 'north to', ...north),
  });
  const meshCm = figure(form.meshSpacingCm, 'points on a mesh', 0.1, 10_000);
  return withoutGaps({
    unit: UNITS.find((unit) => unit === form.unit),
    crs,
    up: AXES.find((axis) => axis === form.up),
    gsdCm: figure(form.gsdCm, 'ground sample distance', 0.01, 1000),
    meshSpacingM: meshCm === undefined ? undefined : meshCm / 100,
    salvage: form.salvage ? true : undefined,
    control: Object.keys(control).length > 0 ? control : undefined,
    within,
    seed,
  }) as SurveyOptions;
}

function projection(text: string): string {
  const code = /^(?:EPSG:)?(\d{4,6})$/i.exec(text)?.[1];
  if (code === undefined) throw new InputError('projection', `"${text}" is no EPSG code, expected EPSG: and four to six digits.`);
  return `EPSG:${code}`;
}

function figure(text: string, field: string, least: number, most: number): number | undefined {
  if (text.trim() === '') return undefined;
  const value = Number(text.trim().replace(',', '.'));
  if (!(value >= least && value <= most)) throw new InputError(field, `"${text.trim()}" was given, expected a number from ${least} to ${most}.`);
  return value;
}

const withoutGaps = <T extends object>(fields: T): Partial<{ [Key in keyof T]: NonNullable<T[Key]> }> =>
  Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined)) as Partial<{ [Key in keyof T]: NonNullable<T[Key]> }>;
