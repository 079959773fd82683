import type { Vector3 } from '../geometry/vector.ts';

/** Points with their attributes; arrays of one length per point, an attribute the file lacks is null. */
export interface PointAttributes {
  /** Red, green, blue, `n × 3`, 0 to 255. */
  readonly colours: Uint8Array | null;
  readonly intensity: Uint16Array | null;
  /** Class numbers of the LAS standard. */
  readonly classification: Uint8Array | null;
}

/** Flat grid of square columns; a cell holds every point above its square. */
export interface CellGrid {
  /** Lower left corner in the local frame. [m] */
  readonly origin: readonly [number, number];
  /** [m] */
  readonly cellSize: number;
  readonly columns: number;
  readonly rows: number;
}

/**
 * The points of one cell, in thinning order: any prefix is an even sample of the cell. The order depends on the
 * points alone, never on the order they were read in.
 */
export interface Cell extends PointAttributes {
  readonly column: number;
  readonly row: number;
  /** What the positions are counted from, in the local frame. [m] */
  readonly origin: Vector3;
  readonly pointCount: number;
  /** x, y, z from `origin`, `n × 3`. [m] */
  readonly positions: Float32Array;
}

/** A survey's points in memory. Cells stand in row order and empty ones are left out. */
export interface Cloud {
  readonly grid: CellGrid;
  readonly cells: readonly Cell[];
  readonly pointCount: number;
  /** Local frame. [m] */
  readonly bounds: { readonly min: Vector3; readonly max: Vector3 };
}
