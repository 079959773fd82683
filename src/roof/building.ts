import type { Vector2 } from '../geometry/vector.ts';
import type { Measured } from '../units/measured.ts';
import type { RoofEdge } from './roof-edge.ts';
import type { RoofPlane } from './roof-plane.ts';
import type { LowPoint, Obstruction, Parapet } from './things.ts';

export interface Building {
  readonly id: string;
  /** z of the local frame, like every coordinate; the origin adds the rest. */
  readonly groundElevationM: Measured;
  readonly outline: readonly Vector2[];
  readonly roofPlanes: readonly RoofPlane[];
  /**
   * All its roof planes together, as measured or corrected. Much surer than the sum of planes that are each on their own: where two planes
   * border, what one gains the other loses. Of some of its planes see `slopeAreaOf`.
   */
  readonly roofArea?: { readonly slopeAreaM2: Measured; readonly planAreaM2: Measured };
  readonly edges: readonly RoofEdge[];
  readonly parapets: readonly Parapet[];
  readonly obstructions: readonly Obstruction[];
  readonly lowPoints: readonly LowPoint[];
}
