import type { PointBatch } from './point-batch.ts';
import { GrowingArray } from './growing-array.ts';

/** Which attributes a file gives its points. */
export interface CollectedAttributes {
  readonly colours: boolean;
  readonly intensity: boolean;
  readonly classification: boolean;
}

/** Gathers points row by row into the flat arrays of a batch. */
export class PointCollector {
  private readonly positions: GrowingArray<Float64Array<ArrayBuffer>>;
  private readonly colours: GrowingArray<Uint8Array<ArrayBuffer>> | null;
  private readonly intensity: GrowingArray<Uint16Array<ArrayBuffer>> | null;
  private readonly classification: GrowingArray<Uint8Array<ArrayBuffer>> | null;

  constructor(attributes: CollectedAttributes, expectedCount: number) {
    this.positions = new GrowingArray(Float64Array, 3 * expectedCount);
    this.colours = attributes.colours ? new GrowingArray(Uint8Array, 3 * expectedCount) : null;
    this.intensity = attributes.intensity ? new GrowingArray(Uint16Array, expectedCount) : null;
    this.classification = attributes.classification ? new GrowingArray(Uint8Array, expectedCount) : null;
  }

  get pointCount(): number {
    return this.positions.length / 3;
  }

  position(x: number, y: number, z: number): void {
    this.positions.push(x);
    this.positions.push(y);
    this.positions.push(z);
  }

  /** Red, green, blue of the point just added, 0 to 255; a share that is no number becomes middle grey. */
  colour(red: number, green: number, blue: number): void {
    this.colours?.push(toByte(red));
    this.colours?.push(toByte(green));
    this.colours?.push(toByte(blue));
  }

  /** Of the point just added, 0 to 65535. */
  intensityOf(value: number): void {
    this.intensity?.push(value >= 0 ? Math.min(65535, Math.round(value)) : 0);
  }

  classOf(value: number): void {
    this.classification?.push(value >= 0 && value <= 255 ? Math.round(value) : 0);
  }

  finish(): PointBatch {
    return {
      pointCount: this.pointCount,
      positions: this.positions.finish(),
      colours: this.colours?.finish() ?? null,
      intensity: this.intensity?.finish() ?? null,
      classification: this.classification?.finish() ?? null,
    };
  }
}

const MIDDLE_GREY = 128;

/** @param share  0 to 255. */
export const toByte = (share: number): number => (Number.isNaN(share) ? MIDDLE_GREY : Math.min(255, Math.max(0, Math.round(share))));
