import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import type { EdgeKind, ObstructionShape } from '../../roof/record.ts';

export { parseTruth } from './parse-truth.ts';

/**
 * What is really there: the file a record is judged against. JSON, source coordinates in metres (the frame's origin
 * plus the record's local coordinates), x east, y grid north, z up. `sample-data/README.md` states the conventions.
 */
export interface Truth {
  readonly schema: 'roofdatum-truth/1';
  /** Where it comes from: scene, seed, who measured. */
  readonly scene: { readonly kind: string; readonly seed: number; readonly note: string };
  readonly buildings: readonly TruthBuilding[];
  readonly planes: readonly TruthPlane[];
  readonly edges: readonly TruthEdge[];
  readonly obstructions: readonly TruthObstruction[];
  readonly parapets: readonly TruthParapet[];
  readonly drains: readonly TruthDrain[];
  /** Roof surfaces that no plane describes; planes found inside are counted apart, neither right nor wrong. */
  readonly curved: readonly { readonly id: string; readonly ring: readonly Vector2[] }[];
  /** Level ground around the buildings. [m] */
  readonly groundElevationM: number;
  readonly sampling: TruthSampling;
}

export interface TruthBuilding {
  readonly id: string;
  readonly groundElevationM: number;
}

/** Kind of roof the plane belongs to. */
export type RoofKind =
  | 'gable' | 'hip' | 'pyramid' | 'shed' | 'mansard' | 'flat' | 'sawtooth' | 'dormer' | 'other';

export interface TruthPlane {
  readonly id: string;
  readonly building: string;
  readonly roof: RoofKind;
  /** Unit, z >= 0. */
  readonly normal: Vector3;
  readonly pitchDeg: number;
  /** Bearing of steepest descent from GRID north; null on a level plane. */
  readonly azimuthGridDeg: number | null;
  /** Counter-clockwise from above, first corner not repeated, no corner in the middle of a straight side. */
  readonly ring: readonly Vector3[];
  /** Clockwise from above: where the roof is not there (a dormer), not where something stands on it. */
  readonly holes: readonly (readonly Vector3[])[];
  readonly slopeAreaM2: number;
  readonly planAreaM2: number;
}

export interface TruthEdge {
  readonly id: string;
  readonly kind: EdgeKind;
  readonly planes: readonly string[];
  readonly from: Vector3;
  readonly to: Vector3;
}

export interface TruthObstruction {
  readonly id: string;
  readonly plane: string;
  /** Trade name: chimney, air unit, flue, skylight, hatch, roof window, conduit. */
  readonly class: string;
  readonly shape: ObstructionShape;
  readonly footprint: readonly Vector2[];
  /** Least plan width. [m] */
  readonly widthM: number;
  /** Vertical, from the roof plane below the centre of the footprint to the middle of the top. [m] */
  readonly heightAboveRoofM: number;
}

export interface TruthParapet {
  readonly id: string;
  /** Along the inner face at roof level; a ring repeats its first corner at the end. */
  readonly path: readonly Vector3[];
  /** Top above the roof at the inner face, mean along the path. [m] */
  readonly heightAboveRoofM: number;
  /** Of a level top, so that the height of any part of it can be told; null where the top follows the roof. [m] */
  readonly topElevationM: number | null;
  readonly thicknessM: number;
}

export interface TruthDrain {
  readonly id: string;
  readonly at: Vector3;
}

/** What was done to the points. */
export interface TruthSampling {
  /** On a level surface. [m] */
  readonly spacingM: number;
  /** [m] */
  readonly groundSampleDistanceM: number;
  /** One sigma of independent noise along the normal; half of it sideways. [m] */
  readonly whiteSigmaM: number;
  /** Smooth noise along the normal, autocorrelation exp(-d²/length²) in plan. */
  readonly correlated: readonly { readonly sigmaM: number; readonly lengthM: number }[];
  /** Rise of the middle over the border of the scene. [m] */
  readonly domeM: number;
  /** Share of the points. */
  readonly outlierShare: number;
}
