import type { Region } from '../../geometry/region.ts';

/** A rectangle that may be placed any number of times: one module, or one unit of a rack. */
export interface PackShape {
  /** Along x. [m] */
  readonly width: number;
  /** Along y. [m] */
  readonly height: number;
  /** Modules in it: 2 for an east-west pair. */
  readonly modules: number;
}

export interface PackProblem {
  /** Free area, flat coordinates. [m] */
  readonly region: Region;
  readonly shapes: readonly PackShape[];
  /** Least distance between neighbours along x. [m] */
  readonly gapX: number;
  /** Least distance between neighbours along y. [m] */
  readonly gapY: number;
}

/** A placed rectangle, by its lower left corner. */
export interface PlacedRectangle {
  readonly x: number;
  readonly y: number;
  /** Index into the problem's shapes. */
  readonly shape: number;
}

/** Clipping range in extended coordinates: every rectangle occupies its own size plus one gap to the right and above. */
export interface PackRange {
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
}

/**
 * Distance kept between any rectangle and the rim of the free area, so that no rounding of a written coordinate lets a
 * module touch a keep-clear zone. [m]
 */
export const RIM_CLEARANCE = 1e-4;
