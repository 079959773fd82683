import type { Vector3 } from '../geometry/vector.ts';
import type { Measured } from '../units/measured.ts';

export interface KeepClear {
  readonly ruleSet: { readonly name: string; readonly source: string };
  readonly zones: readonly {
    readonly plane: string;
    readonly reason: 'edge' | 'obstruction' | 'access' | 'shade' | 'other';
    readonly because: string;
    readonly polygon: readonly Vector3[];
  }[];
}

export interface Usable {
  readonly planes: readonly {
    readonly id: string;
    readonly usableSlopeAreaM2: Measured;
    /** No layout square to its rows can hold more. */
    readonly mostModules?: number;
    readonly lostM2: {
      readonly edge: number;
      readonly obstruction: number;
      readonly access: number;
      readonly shade: number;
      readonly other: number;
    };
    /** What `lostM2.other` is made of. */
    readonly otherM2?: {
      readonly tooSteep: number;
      /** By the rules, or for the little light its slope and bearing bring. */
      readonly facingAway: number;
      /** A rule asks for the height above ground, which is not known. */
      readonly unknownHeight: number;
      /** Under another roof plane. */
      readonly beneath: number;
      /** Connected parts smaller than the rules use. */
      readonly tooSmall: number;
    };
    /** Rings on the plane; outer rings counter-clockwise from above, holes clockwise. */
    readonly polygons: readonly (readonly Vector3[])[];
  }[];
  readonly totalM2: Measured;
}

export interface ModuleLayout {
  readonly style: 'aligned' | 'rows' | 'most';
  readonly modules: readonly {
    readonly id: string;
    readonly plane: string;
    readonly corners: readonly Vector3[];
    /** Shaded over unshaded yearly irradiation, 0 to 1; null when shade was not computed. */
    readonly solarAccess: number | null;
  }[];
  readonly count: number;
  readonly upperBound: number;
  readonly ratedPowerKw: number;
  readonly yearlyEnergyKwh: Measured;
  readonly needKwh: number | null;
  readonly module?: { readonly widthM: number; readonly heightM: number; readonly ratedPowerW: number };
  /** What the numbers rest on, one sentence each. */
  readonly assumptions?: readonly string[];
  /** What meets the need: share met by this layout, modules and their area needed for the whole of it. */
  readonly need?: { readonly metShare: Measured; readonly modules: Measured; readonly moduleAreaM2: Measured };
  readonly buildings?: readonly BuildingLayout[];
  /** Obstructions by what they cost, dearest first. */
  readonly costs?: readonly {
    readonly obstruction: string;
    /** Modules more if it were not there. */
    readonly modules: number;
    readonly yearlyEnergyKwh: Measured;
  }[];
  readonly sensitivity?: CountSensitivity;
  /** Buildings changed since modules were placed: how sure their counts are, and what costs what there, was not worked out again. */
  readonly changedSince?: readonly string[];
}

export interface BuildingLayout {
  readonly id: string;
  readonly usableM2: Measured;
  readonly count: number;
  readonly upperBound: number;
  readonly ratedPowerKw: number;
  readonly yearlyEnergyKwh: Measured;
  /** Mean of its modules; null without modules or without shade. */
  readonly solarAccess: number | null;
  readonly sensitivity?: CountSensitivity;
}

/** How the module count answers to the error of the measurement. */
export interface CountSensitivity {
  readonly draws: number;
  /** Share of draws with exactly the count of the layout. */
  readonly sameShare: number;
  /** Least and largest count in 95 of 100 draws. */
  readonly range: readonly [number, number];
  /** Edge or obstruction whose position moves the count most; null when none does. */
  readonly decidedBy: string | null;
  readonly says: string;
}
