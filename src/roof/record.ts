import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { TapeReading } from '../site/tape-reading.ts';
import type { Measured } from '../units/measured.ts';

/**
 * What a roof is, in the form it is saved in: the record of schema `roofdatum-record/1`. Every room that speaks of a
 * roof uses these types. Coordinates are local-frame metres (x east, y grid north, z up); units stand in the names.
 */
export interface RoofRecord {
  readonly schema: 'roofdatum-record/1';
  readonly madeBy: { readonly version: string; readonly options: Readonly<Record<string, unknown>>; readonly seed: number };
  readonly sources: readonly RecordSource[];
  readonly frame: RecordFrame;
  readonly sampling: Sampling;
  readonly buildings: readonly Building[];
  readonly readings: readonly RecordReading[];
  readonly tape: TapeCheck | null;
  readonly smallFeatures: readonly SmallFeature[];
  readonly photos?: readonly FeaturePhoto[];
  readonly keepClear: KeepClear | null;
  readonly usable: Usable | null;
  readonly layout: ModuleLayout | null;
  readonly decisions: readonly Decision[];
  /** What tape readings or checkpoints showed to be wrong with the model and a person had corrected, oldest first; coordinates and numbers hold it. */
  readonly corrections?: readonly AppliedCorrection[];
  /** Coarsest ground sample distance the client allows; every small feature is judged by it. */
  readonly clientLimit?: { readonly gsdM: number; readonly why: string };
}

export interface RecordSource {
  readonly file: string;
  readonly sha256: string;
  readonly format: string;
  readonly pointCount: number;
  readonly triangleCount: number;
  readonly unitToMetre: number;
  readonly crs: string | null;
  /** What was repaired or assumed, one sentence each. */
  readonly notes: readonly string[];
}

export interface RecordFrame {
  /** `origin` + local = source coordinates in metres. */
  readonly origin: Vector3;
  readonly gridToTrueDeg: number;
  readonly scaleFactor: number;
}

export interface Sampling {
  readonly pointSpacingM: number;
  readonly groundSampleDistanceM: number | null;
  /** One sigma of the points about a roof plane. */
  readonly noiseM: number;
  readonly correlationLengthM: number;
}

export interface Building {
  readonly id: string;
  /** z of the local frame, like every coordinate; the origin adds the rest. */
  readonly groundElevationM: Measured;
  readonly outline: readonly Vector2[];
  readonly roofPlanes: readonly RoofPlane[];
  /**
   * All its roof planes together, as measured or corrected. Much surer than the sum of planes that are each on their own: where two planes
   * border, what one gains the other loses. Of some of its planes see `slopeAreaOf`.
   */
  readonly roofArea?: { readonly slopeAreaM2: Measured; readonly planAreaM2: Measured };
  readonly edges: readonly RoofEdge[];
  readonly parapets: readonly Parapet[];
  readonly obstructions: readonly Obstruction[];
  readonly lowPoints: readonly LowPoint[];
}

export interface RoofPlane {
  readonly id: string;
  /** Unit, z >= 0. */
  readonly normal: Vector3;
  /** normal · p + offset = 0. [m] */
  readonly offset: number;
  readonly pitchDeg: Measured;
  /** Bearing of steepest descent from true north. */
  readonly azimuthDeg: Measured;
  readonly slopeAreaM2: Measured;
  readonly planAreaM2: Measured;
  /**
   * Counter-clockwise from above, first corner not repeated. A corner in common with a neighbour is the same three numbers in
   * both, and so lies on either plane as well as the planes agree there: `cornersOffPlaneM` of the evidence at most.
   */
  readonly outline: readonly Vector3[];
  /** Clockwise from above. */
  readonly holes: readonly (readonly Vector3[])[];
  readonly pointCount: number;
  readonly residualRmsM: number;
  readonly evidence?: PlaneEvidence;
  /** The same plane with its sides drawn to rules that the points allow; `outline` and all numbers stay as measured. */
  readonly regular?: {
    readonly outline: readonly Vector3[];
    readonly holes: readonly (readonly Vector3[])[];
    readonly slopeAreaM2: number;
    /** How far the corner that moved most went, in plan. */
    readonly greatestShiftM: number;
    /** True where a person left the rules out: the plane stays as measured. */
    readonly off?: boolean;
  };
}

/** What stands behind a plane's numbers. */
export interface PlaneEvidence {
  readonly method: string;
  readonly noiseM: number;
  readonly correlationLengthM: number;
  /** Residuals of this many points weigh as much as `pointCount` correlated ones. */
  readonly effectivePointCount: number;
  /** Points used less the three numbers of a plane. */
  readonly degreesOfFreedom?: number;
  /** 95 % in standard deviations of that many degrees of freedom (Student); variances in `covariance` are raised so that 1.96 hold. */
  readonly sigmasIn95?: number;
  /** Covariance of height at the centroid [m²] and of slope along x and y [-], row by row, 3 × 3. */
  readonly covariance: readonly number[];
  readonly centroid: Vector3;
  /** Patches it was joined from, which the data could not tell apart or which differ by less than is ever built; the chance of the least likely join. */
  readonly joinedFrom?: { readonly patches: number; readonly leastPValue: number };
  /** Greatest distance of a corner of the outline from the plane. */
  readonly cornersOffPlaneM?: number;
  /** Residuals counted in bins of `binM`, the middle bin centred on zero. */
  readonly residualHistogram?: { readonly binM: number; readonly counts: readonly number[] };
  /** Flat strips of a building with the same number stand for one curved surface, such as a vault. Absent on flat planes. */
  readonly curvedSurface?: number;
  /** Neighbours at a shallow angle that it might have been one plane with. */
  readonly apartFrom?: readonly PlaneSeparation[];
  readonly notes: readonly string[];
}

/** How surely two neighbouring planes are two. */
export interface PlaneSeparation {
  readonly plane: string;
  /** Chance that one plane would show such a difference; what is below 1e-9 is written so. */
  readonly pValue: number;
  /** Independent errors behind the judgement: points of both planes over the points that share one error. */
  readonly independentCount: number;
}

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

export interface Parapet {
  readonly id: string;
  /** Along the inner face. */
  readonly path: readonly Vector3[];
  readonly heightAboveRoofM: Measured;
  readonly thicknessM: Measured;
}

export type ObstructionShape = 'box' | 'cylinder' | 'line' | 'flush' | 'unknown';
export type Resolvability = 'resolved' | 'marginal' | 'below';

export interface Obstruction {
  readonly id: string;
  readonly onPlane: string;
  readonly footprint: readonly Vector2[];
  readonly planAreaM2: Measured;
  readonly heightAboveRoofM: Measured;
  readonly shape: ObstructionShape;
  readonly resolvability: Resolvability;
  readonly note?: string;
  readonly evidence?: ObstructionEvidence;
}

/** What stands behind the height and the footprint of a thing on the roof. */
export interface ObstructionEvidence {
  /** The roof in a ring about it: points, how far their median lies above the fitted plane, and how well that is known. */
  readonly ring: { readonly points: number; readonly widthM: number; readonly aboveM: number; readonly u95M: number };
  /** Points of its top away from the rim, whose median is its height, how many times as rough as the roof they are, and whether the top runs along the roof. */
  readonly top: { readonly points: number; readonly roughness: number; readonly alongRoof: boolean };
  /** Samples across its width, by the coarser of point spacing and ground sample distance; what smoothing may take off its height. */
  readonly samplesAcross: number;
  readonly smoothedM: number;
  /** Share of the points over its footprint in the upper half of its height. */
  readonly shareUp: number;
  /** Plan area of the raised points before the sides were moved to where half of the points are up. */
  readonly roughAreaM2: number;
  /** Times the limit of detection of a thing of its width and length. */
  readonly timesLimit: number;
}

export interface LowPoint {
  readonly id: string;
  readonly at: Vector3;
  readonly depthM: Measured;
  readonly drainedPlanAreaM2: Measured;
  readonly verdict: 'likely' | 'candidate' | 'cannot-tell';
  /** What speaks for it; absent where nothing does. */
  readonly cues?: readonly DrainCue[];
  /** How far in plan the place may be off, as 0 ± its radius; why where that is not known. */
  readonly positionM?: Measured;
  /** Two boards meet in this level line: where along it the water leaves is not in their shape, and `at` is only its lowest cell. */
  readonly lowLine?: readonly [Vector3, Vector3];
  /** What would be under water before it spills. */
  readonly pond?: Pond;
  readonly note?: string;
}

/** Signs of a drain: a hollow deeper than the noise, boards that meet in a point, a hole in the points with the deck sloping to it. */
export type DrainCue = 'hollow' | 'boards-meet' | 'hole-sloping-in';

/** A level surface of water that the roof could hold; how long it would stand is not said. */
export interface Pond {
  /** Counter-clockwise from above, at the level it spills at. */
  readonly outline: readonly Vector3[];
  readonly planAreaM2: Measured;
}

export type ReadingKind =
  | 'distance'
  | 'level-distance'
  | 'height-difference'
  | 'height-above-roof'
  | 'height-above-ground'
  | 'slope-area'
  | 'plan-area'
  | 'pitch'
  | 'angle'
  | 'bearing'
  | 'radius'
  | 'width';

/** Something a person measured on the model. */
export interface RecordReading {
  readonly id: string;
  readonly kind: ReadingKind;
  readonly picks: readonly RecordPick[];
  readonly valueM?: Measured;
  readonly valueM2?: Measured;
  readonly valueDeg?: Measured;
  readonly method: string;
  readonly note?: string;
}

export interface RecordPick {
  readonly at: Vector3;
  readonly landedOn: 'corner' | 'edge' | 'plane' | 'point' | 'typed';
  /** Id of the corner's plane, the edge, the plane; null for a bare point. */
  readonly of: string | null;
  /** One sigma along each axis. */
  readonly sigmaM: Vector3;
}

export interface TapeCheck {
  readonly verdict: 'agrees' | 'doubtful' | 'disagrees';
  readonly toleranceM: number;
  readonly biasM: Measured;
  readonly rmseM: number;
  readonly rmseBracketM: readonly [number, number];
  readonly count: number;
  readonly explanation: {
    readonly kind: 'chance' | 'scale' | 'edge' | 'scale-and-edge' | 'vertical-scale' | 'blunder' | 'cannot-tell';
    readonly odds: Readonly<Record<string, number>>;
    /** Ours is longer by this share; of heights alone for `vertical-scale`. */
    readonly scale: Measured;
    readonly edgeOffsetM: Measured;
    readonly why?: string;
  };
  readonly readings: readonly CheckedReading[];
  readonly next: readonly { readonly edge: string; readonly why: string }[];
  /** The readings themselves, as they were read on site. */
  readonly taken?: readonly TapeReading[];
  /** Accuracy at surveyed checkpoints that are known in all three directions. */
  readonly accuracy?: CheckpointAccuracy;
  /** How the model lies against the surveyed checkpoints. */
  readonly site?: SiteFit;
  /** What these readings cannot show, and what to keep in mind of them. */
  readonly notes?: readonly string[];
}

export interface CheckedReading {
  readonly id: string;
  readonly kind: string;
  readonly oursM: Measured;
  /** With its corrections. */
  readonly tapeM: Measured;
  readonly residualM: Measured;
  /** For a pitch, whose lengths are missing. */
  readonly oursDeg?: Measured;
  readonly tapeDeg?: Measured;
  readonly residualDeg?: Measured;
  readonly verdict: 'agrees' | 'doubtful' | 'disagrees' | 'not-compared';
  readonly note?: string;
  /** A length as it was written down on site, where that was not in metres. */
  readonly written?: string;
  /** As read, where it was corrected, and each correction that was added. */
  readonly readM?: number;
  readonly corrections?: readonly { readonly name: string; readonly amountM: number; readonly formula: string; readonly source: string }[];
  /** Instrument and what it promises. */
  readonly device?: string;
  readonly toleranceStated?: string;
  /** Where its ends lie on the model. */
  readonly placedAt?: readonly Vector3[];
}

export interface CheckpointAccuracy {
  readonly count: number;
  /** x, y, z. */
  readonly meanM: Vector3;
  readonly rmseM: Vector3;
  readonly rmseHorizontalM: number;
  readonly rmse3dM: number;
  readonly nssdaHorizontal95M: number;
  readonly nssdaVertical95M: number;
  /** Which editions ask for how many points, and whether these are enough. */
  readonly statement: string;
}

/** Ours against the survey: the model lies shifted, tilted, turned and scaled by this. */
export interface SiteFit {
  readonly points: number;
  readonly degreesOfFreedom: number;
  /** Of the residuals if the stated sigmas hold; null without redundancy. */
  readonly probability: number | null;
  /** Where the shift is counted. */
  readonly about: Vector3;
  readonly eastM: Measured;
  readonly northM: Measured;
  readonly upM: Measured;
  /** Positive: ours rises towards the north, towards the east. */
  readonly tiltNorthDeg: Measured;
  readonly tiltEastDeg: Measured;
  /** Positive: bearings of ours are too large. */
  readonly turnDeg: Measured;
  readonly scale: Measured;
  /** Ours minus survey at each point, before and after the fit; null along directions the point does not tell. */
  readonly vectors: readonly {
    readonly id: string;
    readonly at: Vector3;
    readonly beforeM: readonly [number | null, number | null, number | null];
    readonly afterM: readonly [number | null, number | null, number | null];
  }[];
}

export type CorrectionKind = 'scale' | 'edge' | 'vertical-scale' | 'shift' | 'tilt' | 'turn' | 'edge-definition';

/** A correction of the whole model, with what it rests on. */
export interface AppliedCorrection {
  readonly kind: CorrectionKind;
  /** Share by which ours was too long (of heights alone for `vertical-scale`); metres by which a distance between two edges was; degrees by which bearings were too large for `turn`; metres outwards in plan for `edge-definition`; null for a shift and a tilt. */
  readonly amount: number | null;
  /** What outer edges of some kinds were brought to; only the named ones where there are names. */
  readonly definition?: { readonly to: EdgeDefinition; readonly kinds: readonly EdgeKind[]; readonly edges?: readonly string[] };
  /** East, north, up by which ours lay off; for a shift only. */
  readonly shiftM?: Vector3;
  /** By how much it rose too steeply to the north and to the east; for a tilt only. */
  readonly riseDeg?: readonly [north: number, east: number];
  /** 95 % half widths of the two. */
  readonly riseU95Deg?: readonly [north: number, east: number];
  /** 95 % half width of the amount, or the largest one of the shift or the tilt. */
  readonly u95: number;
  /** Fixed point of a stretch or a turn. */
  readonly about: Vector3;
  /** Ids of the readings it was worked out from. */
  readonly readings: readonly string[];
  /** Buildings whose edges could not move without their outlines crossing; they are as they were. */
  readonly leftOut?: readonly string[];
  readonly by: string;
  readonly at: string;
  readonly why: string;
}

export interface SmallFeature {
  readonly id: string;
  readonly kind: 'drain' | 'pipe' | 'gutter' | 'vent' | 'other';
  readonly onPlane: string | null;
  readonly at: readonly Vector3[];
  readonly widthM: Measured;
  readonly heightM: Measured;
  readonly resolvability: Resolvability;
  readonly why: string;
  readonly verifyOnSite: boolean;
  readonly proposedBy: 'found' | 'person';
  readonly note?: string;
}

/** A picture a person pinned to a small feature; it lies in the record itself. */
export interface FeaturePhoto {
  /** Id of the feature. */
  readonly feature: string;
  /** Name of the file it was made from. */
  readonly name: string;
  readonly widthPx: number;
  readonly heightPx: number;
  /** A data address of a JPEG picture. */
  readonly picture: string;
}

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

/** Something a person decided about what was found. */
export interface Decision {
  readonly at: string;
  readonly by: string;
  readonly what: 'accept' | 'refuse' | 'correct' | 'add' | 'sign' | 'note';
  /** Id of the thing decided on, or a question number `q1` … `q7`. */
  readonly about: string;
  readonly before?: unknown;
  readonly after?: unknown;
  readonly why?: string;
}
