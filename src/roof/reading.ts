import type { Vector3 } from '../geometry/vector.ts';
import type { Measured } from '../units/measured.ts';

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
