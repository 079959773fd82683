import { DEFAULT_ASSUMPTIONS, type Assumptions } from '../reading/assumptions.ts';
import type { RoofRecord } from '../roof/record.ts';

/** What a person may state about the files, or ask for; everything else is measured. */
export interface SurveyOptions {
  /** Overrides what the files say of their unit. */
  readonly unit?: 'm' | 'ft' | 'us-ft';
  /** Overrides what the files say of their projection: `EPSG:n`. */
  readonly crs?: string;
  /** Overrides which source axis points up. */
  readonly up?: 'z' | 'y';
  /** Ground sample distance of the images, as flown. [cm per pixel] */
  readonly gsdCm?: number;
  /** Region of interest: GeoJSON text, or corners `x,y x,y x,y …`; source coordinates. */
  readonly within?: string;
  /** Reads what is there when a file is shorter than it promises. */
  readonly salvage?: boolean;
  /** Distance of the points laid on a mesh. [m] Default: chosen from its triangles. */
  readonly meshSpacingM?: number;
  readonly seed?: number;
  /** How level, true to scale and well turned the survey is by its control, 95 % half widths; defaults for what is not stated. */
  readonly control?: Partial<Assumptions>;
}

export const DEFAULT_SEED = 1;

/** Beyond these a survey is no basis for a roof; nothing is perfect either. */
export const CONTROL_LIMITS: Readonly<Record<keyof Assumptions, readonly [least: number, most: number]>> = {
  tiltDeg: [0.0001, 5], scale: [0.000001, 0.1], northDeg: [0.0001, 180],
};

/**
 * The options a record was made with, to make it again the same way. What is not one is left out: a record may come from
 * elsewhere.
 */
export function optionsOfRecord({ madeBy: { options } }: RoofRecord): SurveyOptions {
  const text = (key: string): string | undefined => (typeof options[key] === 'string' ? options[key] : undefined);
  const number = (key: string): number | undefined => (typeof options[key] === 'number' && options[key] > 0 ? options[key] : undefined);
  const oneOf = <T extends string>(key: string, choices: readonly T[]): T | undefined => choices.find((choice) => choice === options[key]);
  const stated = (options['control'] ?? {}) as Readonly<Record<string, unknown>>;
  const control = Object.fromEntries(Object.keys(DEFAULT_ASSUMPTIONS).flatMap((key) => (typeof stated[key] === 'number' ? [[key, stated[key]]] : []))) as Partial<Assumptions>;
  const found = {
    unit: oneOf('unit', ['m', 'ft', 'us-ft']), crs: text('crs'), up: oneOf('up', ['z', 'y']), gsdCm: number('gsdCm'), within: text('within'),
    salvage: options['salvage'] === true ? true : undefined, meshSpacingM: number('meshSpacingM'), seed: number('seed'),
    control: Object.keys(control).length > 0 ? control : undefined,
  };
  return Object.fromEntries(Object.entries(found).filter(([, value]) => value !== undefined)) as SurveyOptions;
}
