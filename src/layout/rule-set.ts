import type { EdgeKind, ObstructionShape } from '../roof/record.ts';

/**
 * A set of keep-clear rules as it stands in a file (schema `roofdatum-rules/1`). Rules are data: the shipped sets are
 * examples with their published source; a user's own sets are files of the same form. Local code and a licensed person
 * decide what applies.
 */
export interface RuleSet {
  readonly schema: 'roofdatum-rules/1';
  readonly name: string;
  readonly source: {
    readonly title: string;
    readonly edition: string;
    readonly date: string;
    readonly where: string;
  };
  readonly caution: string;
  readonly rules: readonly Rule[];
}

/** Whether a distance is measured along the roof surface or level, as seen in plan. */
export type Along = 'surface' | 'plan';

interface RuleBase {
  /** Why, in words for the drawing. */
  readonly because: string;
  /** Applies from this pitch on. Default: level. */
  readonly pitchFromDeg?: number;
  /** Applies up to and with this pitch. Default: vertical. */
  readonly pitchToDeg?: number;
  /** Applies once modules cover more than this share of the building's plan roof area. Default: always. */
  readonly moduleShareFrom?: number;
}

/** A strip inward from edges of the named kinds. */
export interface EdgeSetbackRule extends RuleBase {
  readonly kind: 'edge-setback';
  readonly edges: readonly EdgeKind[];
  readonly distanceM: number;
  readonly along: Along;
  readonly reason: 'edge' | 'access';
  /** Only on buildings whose longer side in plan is at least this. */
  readonly longSideFromM?: number;
  /** Only on buildings whose longer side in plan is less than this. */
  readonly longSideBelowM?: number;
}

/**
 * A strip inward from edges whose width follows from the building: the lesser of the two stated shares, but not less
 * than the floors.
 */
export interface EdgeZoneRule extends RuleBase {
  readonly kind: 'edge-zone';
  readonly edges: readonly EdgeKind[];
  readonly along: Along;
  /** Of the building's least width in plan. */
  readonly leastWidthShare?: number;
  /** Of the mean roof height above ground. */
  readonly heightShare?: number;
  /** Not below this share of the least width. */
  readonly floorWidthShare?: number;
  /** Not below this width. */
  readonly floorM?: number;
}

/** Room around obstructions. */
export interface ObstructionClearanceRule extends RuleBase {
  readonly kind: 'obstruction-clearance';
  readonly distanceM: number;
  readonly along: Along;
  /** The distance is at least this many times the height above the roof. */
  readonly heightFactor?: number;
  readonly fromHeightM?: number;
  readonly toHeightM?: number;
  readonly shapes?: readonly ObstructionShape[];
}

/** A way up a pitched roof plane from its lowest edge to its top. */
export interface PathwayRule extends RuleBase {
  readonly kind: 'pathway';
  readonly widthM: number;
  /** Ways on each roof plane. */
  readonly perPlane: number;
  /** Ways on the only plane of a building that has one. */
  readonly onSinglePlane: number;
}

/** A way along the roof from the rim to things that are serviced. */
export interface WalkwayRule extends RuleBase {
  readonly kind: 'walkway';
  readonly to: 'units' | 'drains';
  readonly widthM: number;
  /** Units: obstructions of at least this height. */
  readonly fromHeightM?: number;
}

/** Arrays no longer than this either way; clear ways between. */
export interface ArrayLimitRule extends RuleBase {
  readonly kind: 'array-limit';
  readonly lengthM: number;
  readonly pathWidthM: number;
}

/** Planes, or parts of planes, that are not used at all. */
export interface PlaneLimitRule extends RuleBase {
  readonly kind: 'plane-limit';
  /** Connected usable parts smaller than this are not used. */
  readonly leastPartM2?: number;
  readonly steepestDeg?: number;
  /** Planes facing between these bearings (clockwise, true north) are not used. */
  readonly awayFromDeg?: number;
  readonly awayToDeg?: number;
  /** Ground with less than this share of the unshaded year is not used. */
  readonly leastSolarAccess?: number;
}

export type Rule =
  | EdgeSetbackRule
  | EdgeZoneRule
  | ObstructionClearanceRule
  | PathwayRule
  | WalkwayRule
  | ArrayLimitRule
  | PlaneLimitRule;
