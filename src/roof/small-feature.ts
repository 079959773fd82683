import type { Vector3 } from '../geometry/vector.ts';
import type { Measured } from '../units/measured.ts';
import type { Resolvability } from './things.ts';

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
