import type { Vector3 } from '../geometry/vector.ts';
import type { Building } from './building.ts';
import type { AppliedCorrection } from './correction.ts';
import type { Decision } from './decision.ts';
import type { KeepClear, ModuleLayout, Usable } from './module-fit.ts';
import type { RecordReading } from './reading.ts';
import type { FeaturePhoto, SmallFeature } from './small-feature.ts';
import type { TapeCheck } from './tape-check.ts';

export type * from './building.ts';
export type * from './correction.ts';
export type * from './decision.ts';
export type * from './module-fit.ts';
export type * from './reading.ts';
export type * from './roof-edge.ts';
export type * from './roof-plane.ts';
export type * from './small-feature.ts';
export type * from './tape-check.ts';
export type * from './things.ts';

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
