import type { Bounds3 } from './survey-file.ts';

/** Least and greatest coordinates of what was added; anything not finite is stepped over. */
export class BoundsCollector {
  private readonly min = [Infinity, Infinity, Infinity];
  private readonly max = [-Infinity, -Infinity, -Infinity];

  add(x: number, y: number, z: number): void {
    if (!Number.isFinite(x + y + z)) return;
    if (x < this.min[0]!) this.min[0] = x;
    if (x > this.max[0]!) this.max[0] = x;
    if (y < this.min[1]!) this.min[1] = y;
    if (y > this.max[1]!) this.max[1] = y;
    if (z < this.min[2]!) this.min[2] = z;
    if (z > this.max[2]!) this.max[2] = z;
  }

  /** null when nothing was added. */
  finish(): Bounds3 | null {
    if (this.min[0] === Infinity) return null;
    return { min: [this.min[0]!, this.min[1]!, this.min[2]!], max: [this.max[0]!, this.max[1]!, this.max[2]!] };
  }
}
