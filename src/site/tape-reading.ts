import type { Vector3 } from '../geometry/vector.ts';
import type { TapeDevice } from './tape-device.ts';

export type TapeKind = 'distance' | 'height-difference' | 'height-above-roof' | 'pitch' | 'checkpoint';
export const TAPE_KINDS: readonly TapeKind[] = ['distance', 'height-difference', 'height-above-roof', 'pitch', 'checkpoint'];

/** Something read on site with a tape, a level, an inclinometer or a receiver. */
export interface TapeReading {
  readonly id: string;
  readonly kind: TapeKind;
  /**
   * Approximate ends, source coordinates in metres; one end for a height above the roof or a pitch; empty: to be placed.
   * A checkpoint's first end is the surveyed place itself, a second one says where it lies in the model.
   */
  readonly ends: readonly Vector3[];
  /** As read, without any correction: metres for lengths and heights, degrees for a pitch, null for a checkpoint (its ends say all). */
  readonly value: number | null;
  /** A length as it was written down, with its unit, where metres are not what was read: `12' 4 1/2"`. */
  readonly written?: string;
  /** One sigma of the instrument and its use: metres, or degrees for a pitch. */
  readonly sigma: number;
  readonly by: string;
  readonly at: string;
  readonly note: string;
  readonly device?: TapeDevice;
  readonly conditions?: TapeConditions;
}

/** How a tape was used, as far as somebody wrote it down. What is absent is not corrected for. */
export interface TapeConditions {
  /** Of the tape itself. */
  readonly temperatureC?: number;
  readonly tensionN?: number;
  /** Free span between supports; a longer tape hangs in several. Absent: it lay on the roof. [m] */
  readonly spanM?: number;
  readonly massKgPerM?: number;
  readonly sectionMm2?: number;
  /** At which the tape is true; 20 °C and 50 N unless the tape says otherwise (2014/32/EU, annex X, chapter I, 1.1 and 1.2). */
  readonly standardTemperatureC?: number;
  readonly standardTensionN?: number;
  /** `level`: held level, plumbed down at one end, so it reads a distance in plan. Default: along the slope. */
  readonly held?: 'slope' | 'level';
  /** Rise from end to end, or slope angle: reduces a distance read along the slope to a level one. */
  readonly riseM?: number;
  readonly angleDeg?: number;
}
