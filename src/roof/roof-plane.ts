import type { Vector3 } from '../geometry/vector.ts';
import type { Measured } from '../units/measured.ts';

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
