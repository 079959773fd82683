import type { Vector3 } from '../geometry/vector.ts';
import type { Measured } from '../units/measured.ts';

export type EdgeKind = 'eave' | 'ridge' | 'hip' | 'valley' | 'rake' | 'parapet' | 'abutment' | 'unknown';

/**
 * What of an edge was measured: where the cover ends, an upright face that the plane runs up to, the line where two planes
 * meet, or no more than where the labels of points change.
 */
export type EdgeMeasuredAs = 'cover-edge' | 'upright-face' | 'intersection' | 'labels';

/** What a person calls the edge of a roof: where an outer edge may be brought by a stated offset. */
export type EdgeDefinition = 'cover-edge' | 'upright-face' | 'gutter-lip' | 'wall-line' | 'other';

/** A rule that sides of buildings keep. */
export type RegularRule = 'parallel or square' | 'in line';

/** How a side was judged by a rule: by chi-square with one degree of freedom against its own scatter and what builders keep to. */
export interface RuleTest {
  readonly rule: RegularRule;
  /** From the building's direction, or its square. */
  readonly offDeg?: number;
  /** From the line of the side that it would run on. */
  readonly offM?: number;
  /** Chance of so large a difference where the rule holds; what is below one in a million is written so. */
  readonly pValue: number;
  /** False where the rule was refused. */
  readonly kept: boolean;
}

export interface RoofEdge {
  readonly id: string;
  readonly kind: EdgeKind;
  /** One plane on a free edge, two where planes meet. */
  readonly planes: readonly string[];
  readonly from: Vector3;
  readonly to: Vector3;
  readonly slopeLengthM: Measured;
  /** Sideways position of the line. */
  readonly positionM?: Measured;
  readonly measuredAs?: EdgeMeasuredAs | EdgeDefinition;
  /** An edge brought to another definition by a stated offset: what was measured, and how far outwards it went in plan. */
  readonly convertedFrom?: { readonly measuredAs: EdgeMeasuredAs | EdgeDefinition; readonly offsetM: Measured; readonly by: string; readonly why: string };
  /** The edge drawn to rules that passed their tests, and those its own scatter refused. */
  readonly regular?: {
    readonly from: Vector3;
    readonly to: Vector3;
    /** Sideways, at the end that moved most, in plan. */
    readonly shiftM: number;
    readonly kept: readonly RegularRule[];
    readonly refused: readonly RegularRule[];
    readonly tests?: readonly RuleTest[];
    /** True where a person left the rules out: the side stays as measured. */
    readonly off?: boolean;
  };
  readonly note?: string;
}
