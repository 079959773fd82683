import type { Radians } from '../units/quantity.ts';
import type { Vector3 } from '../geometry/vector.ts';

/** Right-handed frame near the building: x east, y grid north, z up, metres. Local + origin = source coordinates in metres. */
export interface LocalFrame {
  /** Float64. [m] */
  readonly origin: Vector3;
  /** Angle to add to a grid bearing to get a true bearing (the meridian convergence, positive where grid north lies east of true north). */
  readonly gridToTrue: Radians;
  /** Grid distance over ground distance at the site: divide a grid length by it to get a ground length. [-] */
  readonly scaleFactor: number;
}

/** How stored numbers become metres in the local frame: axis order, unit, origin. */
export interface SourceToLocal {
  /** Which source axis points up. */
  readonly up: 'z' | 'y';
  /** Metres in one horizontal source unit, and in one vertical one. */
  readonly unitToMetre: number;
  readonly verticalUnitToMetre: number;
  readonly frame: LocalFrame;
}
