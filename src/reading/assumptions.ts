/**
 * What no cloud says of itself: how level, how true to scale, how well turned to north it is. Each is a 95 % half width
 * and stands in every number as a part of its own name, until control or tape readings replace it.
 */
export interface Assumptions {
  /**
   * Leveling of the survey where the roof stands. [degree] Default 0.02: 7 mm over 20 m, what a few good control points or RTK give.
   * A dome or bowl of the block has no share of its own: over one roof it is a tilt to within a millimetre, and no cloud tells the
   * two apart. A rise h of the middle over a rim R away leaves 2 h r / R² at r from the middle: 3 cm over 60 m (about what nadir and
   * oblique images without ground control are off in height, Štroner et al. 2021) is 0.03° half way out. Where checkpoints show more, enter more.
   */
  readonly tiltDeg: number;
  /** Relative error of lengths. [-] Default 0.0005: 5 mm on 10 m, common for a survey with control; without it, enter more. */
  readonly scale: number;
  /** Direction of grid north, meridian convergence included. [degree] Default 0.05. */
  readonly northDeg: number;
}

export const DEFAULT_ASSUMPTIONS: Assumptions = { tiltDeg: 0.02, scale: 0.0005, northDeg: 0.05 };

/** What was stated of the control of a survey, and the defaults for the rest. */
export const assumptionsWith = (stated: Partial<Assumptions> = {}): Assumptions => ({ ...DEFAULT_ASSUMPTIONS, ...stated });
