import type { Vector3 } from '../geometry/vector.ts';

/** One connected flat patch of a roof, as growing and fitting leave it. */
export interface RoofSegment {
  /** 1, 2, 3 …; the number that `labels` carries. */
  readonly label: number;
  /** Index of the building it belongs to. */
  readonly building: number;
  /** Unit, z >= 0, local frame. */
  readonly normal: Vector3;
  /** normal · p + offset = 0. [m] */
  readonly offset: number;
  readonly centroid: Vector3;
  readonly pointCount: number;
  /** Robust one-sigma residual along the normal. [m] */
  readonly residualRms: number;
  /** True when one flat plane does not describe it (a vault, a warped roof). */
  readonly curved: boolean;
  /** Area of the voxels it fills, seen along its normal; a first guess until the outline is measured. [m²] */
  readonly roughSlopeArea: number;
}

/** Ground height on a plan raster; NaN inside the working array where no ground was seen nor could be filled in. */
export interface GroundModel {
  /** Lower left corner, local frame. [m] */
  readonly origin: readonly [number, number];
  /** [m] */
  readonly cellSize: number;
  readonly columns: number;
  readonly rows: number;
  /** Row by row from the south. [m] */
  readonly elevation: Float32Array;
  /** False when the cloud shows no ground at all. */
  readonly seen: boolean;
}

export interface BuildingRegion {
  readonly index: number;
  /** Labels of its segments. */
  readonly segments: readonly number[];
}

/** Two neighbouring planes at a shallow angle that might have been one: why they are two. */
export interface Separation {
  /** Labels, the smaller first. */
  readonly first: number;
  readonly second: number;
  /** Growth of the squared error if one plane stood for both, over the variance of independent errors: chi-squared with 3 degrees of freedom if they were one. */
  readonly chiSquared: number;
  /** Independent errors behind it: points of both over the points that share one. */
  readonly independentCount: number;
}

/** A plane that was joined from patches that the data could not tell apart, or that differ by less than is ever built. */
export interface Join {
  readonly label: number;
  /** Patches it was joined from. */
  readonly patches: number;
  /** Of the least likely of those joins: chi-squared with 3 degrees of freedom if the two were one plane. */
  readonly chiSquared: number;
}

/** What finding planes leaves behind for everything that follows. */
export interface Segmentation {
  readonly segments: readonly RoofSegment[];
  readonly buildings: readonly BuildingRegion[];
  /** Labels of the flat strips that stand for one curved surface (a vault), for each such surface. */
  readonly curvedSurfaces: readonly (readonly number[])[];
  readonly separations: readonly Separation[];
  readonly joins: readonly Join[];
  readonly ground: GroundModel;
  /**
   * One array per cell of the cloud, aligned with its points: 0 for a point on no roof plane, else a segment's label.
   */
  readonly labels: readonly Uint16Array[];
  /** [m] */
  readonly pointSpacing: number;
  /** One sigma of points about their local plane. [m] */
  readonly noise: number;
}
