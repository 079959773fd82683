import type { Vector2, Vector3 } from '../geometry/vector.ts';
import type { Measured } from '../units/measured.ts';

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
