import { emptySurface, type PlanBox, type SurfaceModel } from './surface-model.ts';
import { tidySurface } from './tidy-surface.ts';

/** Cells with this many points take the second highest: one stray point in the air is no roof. */
const STRAY_ALLOWED_FROM = 3;

/**
 * Makes a surface of points that come in any order: of each cell the highest but one, or the highest where a cell holds one
 * or two points.
 */
export class SurfaceRaiser {
  private readonly surface: SurfaceModel;
  private readonly second: Float32Array;
  private readonly counts: Uint8Array;

  /** @param cellSize  [m]; see `cellSizeFor`. */
  constructor(box: PlanBox, cellSize: number) {
    this.surface = emptySurface(...box, cellSize);
    this.second = new Float32Array(this.surface.elevation.length).fill(-Infinity);
    this.counts = new Uint8Array(this.surface.elevation.length);
  }

  /** Where the cells lie. */
  get cells(): Pick<SurfaceModel, 'origin' | 'cellSize' | 'columns' | 'rows'> {
    const { origin, cellSize, columns, rows } = this.surface;
    return { origin, cellSize, columns, rows };
  }

  /** @param cells  Number of the cell each point falls in. @param heights  Its height, local frame. [m] */
  add(cells: Uint32Array, heights: Float32Array): void {
    const { second, counts } = this;
    const highest = this.surface.elevation;
    for (let i = 0; i < cells.length; i++) {
      const at = cells[i]!;
      const z = heights[i]!;
      if (!(highest[at]! >= z)) {
        if (counts[at]! > 0) second[at] = highest[at]!;
        highest[at] = z;
      } else if (z > second[at]!) second[at] = z;
      if (counts[at]! < STRAY_ALLOWED_FROM) counts[at]!++;
    }
  }

  /** The surface, with gaps closed and spikes taken out. No more points can be added. */
  finish(): SurfaceModel {
    const { elevation } = this.surface;
    for (let at = 0; at < elevation.length; at++) if (this.counts[at]! >= STRAY_ALLOWED_FROM) elevation[at] = this.second[at]!;
    return tidySurface(this.surface);
  }
}
