import { InputError } from '../units/input-error.ts';
import { checkModule, USUAL_MODULE, type ModuleSpec, type RackSpec } from './module-spec.ts';
import type { LayoutStyle } from './place-modules.ts';
import type { RuleSet } from './rule-set.ts';
import { SHIPPED_RULES } from './shipped-rules.ts';

export interface FitOptions {
  readonly rules: RuleSet;
  readonly module: ModuleSpec;
  readonly style: LayoutStyle;
  /** Racks on nearly level planes. Row gap null: from the sun-angle rule. Null: modules lie on the roof. */
  readonly rack: (Omit<RackSpec, 'rowGapM'> & { readonly rowGapM: number | null }) | null;
  /** North positive. Null when the record's projection is unknown and the user gave none. [deg] */
  readonly latitudeDeg: number | null;
  /** East positive. [deg] */
  readonly longitudeDeg: number | null;
  /** Yearly use to be met, all households or the meter together. [kWh] */
  readonly needKwh: number | null;
  /** Irradiation of the horizontal, January to December, in an average year. Null: clear sky. [kWh/m²] */
  readonly monthlyKwhM2: readonly number[] | null;
  /** Energy out over rated power times irradiation over 1 kW/m². [-] */
  readonly performanceRatio: number;
  /** Linke turbidity, January to December, for the clear sky. [-] */
  readonly linkeTurbidity: readonly number[];
  /** Share of light the ground about throws back. [-] */
  readonly albedo: number;
  /** Site elevation above the sea, for the clear sky. [m] */
  readonly elevationM: number;
  /** Roof height above ground where the record does not know it. [m] */
  readonly buildingHeightM: number | null;
  /** Whether shade is computed. */
  readonly shade: boolean;
  /** Ground with less solar access than this share of the free sky is left out, where shade is computed; 0: none is. [-] */
  readonly leastAccess: number;
  /** A roof plane whose slope and bearing bring less of the level's unshaded yearly light than this is left empty; 0: none is. [-] */
  readonly leastPlaneYield: number;
  /** A roof plane that holds fewer modules than this is left empty. */
  readonly leastGroup: number;
  /** Draws of the measurement error for the sensitivity of the module count; 0: none. */
  readonly draws: number;
  readonly seed: number;
  /** Whether each obstruction is ranked by what it costs. */
  readonly costs: boolean;
}

export const USUAL_FIT_OPTIONS: FitOptions = {
  rules: SHIPPED_RULES['residential-fire-access']!,
  module: USUAL_MODULE,
  style: 'rows',
  rack: null,
  latitudeDeg: null,
  longitudeDeg: null,
  needKwh: null,
  monthlyKwhM2: null,
  // Inverter, wiring, heat, dirt (common practice, no source).
  performanceRatio: 0.8,
  // Clear to slightly hazy air (common practice, no source).
  linkeTurbidity: Array.from({ length: 12 }, () => 3),
  // Built-up ground and grass (common practice, no source).
  albedo: 0.2,
  elevationM: 0,
  buildingHeightM: null,
  shade: true,
  // Modules that lose more than some three tenths to shade are seldom worth their fixing (common practice, no source).
  leastAccess: 0.7,
  // Between a low slope that faces away from the sun and a steep one (common practice, no source).
  leastPlaneYield: 0.6,
  // One or two modules on a plane of their own seldom are either (common practice, no source).
  leastGroup: 2,
  draws: 0,
  seed: 1,
  costs: false,
};

/** @throws InputError that names the field. */
export function checkFitOptions(options: FitOptions): FitOptions {
  between('latitude', options.latitudeDeg, -90, 90);
  between('longitude', options.longitudeDeg, -180, 360);
  between('need-kwh', options.needKwh, 0, 1e12);
  between('performance-ratio', options.performanceRatio, 0.1, 1);
  between('albedo', options.albedo, 0, 1);
  between('elevation-m', options.elevationM, -450, 9000);
  between('building-height-m', options.buildingHeightM, 0, 1000);
  between('least-access', options.leastAccess, 0, 1);
  between('least-plane-yield', options.leastPlaneYield, 0, 1);
  between('least-group', options.leastGroup, 1, 1000);
  between('draws', options.draws, 0, 10_000);
  if (options.monthlyKwhM2 && options.monthlyKwhM2.length !== 12) {
    throw new InputError('monthly', `has ${options.monthlyKwhM2.length} values, expected 12, January to December.`);
  }
  options.monthlyKwhM2?.forEach((value, month) => between(`monthly, month ${month + 1}`, value, 0, 400));
  if (options.linkeTurbidity.length !== 12) {
    throw new InputError('linke', `has ${options.linkeTurbidity.length} values, expected 12, January to December.`);
  }
  options.linkeTurbidity.forEach((value) => between('linke', value, 1, 10));
  if (options.rack) {
    between('tilt', options.rack.tiltDeg, 1, 60);
    between('row-gap-m', options.rack.rowGapM, 0, 50);
    between('facing', options.rack.facingDeg, 0, 360);
  }
  return { ...options, module: checkModule(options.module) };
}

function between(name: string, value: number | null, least: number, most: number): void {
  if (value !== null && !(value >= least && value <= most)) {
    throw new InputError(name, `is ${value}, expected ${least} to ${most}.`);
  }
}
