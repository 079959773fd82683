import type { PointAttributes } from '../cloud/cloud.ts';

/** Points as they stand in a file: source coordinates, source unit, source order. */
export interface PointBatch extends PointAttributes {
  readonly pointCount: number;
  /** x, y, z, `n × 3`, exact to the file. */
  readonly positions: Float64Array;
}
