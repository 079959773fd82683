import type { Vector3 } from '../geometry/vector.ts';

export type TapeKind = 'distance' | 'height-difference' | 'height-above-roof' | 'pitch' | 'checkpoint';
export const TAPE_KINDS: readonly TapeKind[] = ['distance', 'height-difference', 'height-above-roof', 'pitch', 'checkpoint'];

/** Something read on site with a tape, a level, an inclinometer or a receiver. */
export interface TapeReading {
  readonly id: string;
  readonly kind: TapeKind;
  /** Approximate ends, source coordinates in metres; one end for a height above the roof, a pitch or a checkpoint; empty: to be placed. */
  readonly ends: readonly Vector3[];
  /** Metres for lengths and heights, degrees for a pitch, null for a checkpoint (its ends say all). */
  readonly value: number | null;
  /** One sigma of the instrument and its use: metres, or degrees for a pitch. */
  readonly sigma: number;
  readonly by: string;
  readonly at: string;
  readonly note: string;
}
