import type { Vector3 } from '../geometry/vector.ts';
import type { TapeReading } from '../site/tape-reading.ts';
import type { Measured } from '../units/measured.ts';

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
