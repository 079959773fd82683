/** Height of the highest surface on a plan raster: roofs, trees, ground. */
export interface SurfaceModel {
  /** Lower left corner, local frame. [m] */
  readonly origin: readonly [number, number];
  /** [m] */
  readonly cellSize: number;
  readonly columns: number;
  readonly rows: number;
  /** Row by row from the south; NaN where nothing was seen. [m] */
  readonly elevation: Float32Array;
}
