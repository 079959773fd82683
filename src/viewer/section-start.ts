import type { Vector3 } from '../geometry/vector.ts';
import { firstSection } from './cameras.ts';
import type { Bounds } from './projection.ts';
import type { RoofScene } from './scene.ts';
import type { SectionLine } from './section-cut.ts';

/** Wide enough for a clear line of points, narrow enough not to smear a slope. [m] */
export const defaultThickness = (spacingM: number): number => Math.min(1, Math.max(0.1, 8 * spacingM));

/** A line through the middle of what is shown, down the fall of its first sloping plane, from left to right on the page. */
export function sectionAcross(scene: RoofScene | null, building: string | null, bounds: Bounds, spacingM: number): SectionLine {
  const plane = scene?.planes.find((candidate) => candidate.fall !== null && (building === null || candidate.building === building));
  const fall = plane?.fall;
  const run = fall ? Math.hypot(fall[0], fall[1]) : 0;
  const across: Vector3 = fall && run > 0.05 ? [fall[0] / run, fall[1] / run, 0] : [1, 0, 0];
  // The end with the smaller easting stands left.
  const turned: Vector3 = across[0] < 0 ? [-across[0], -across[1], 0] : across;
  return firstSection(bounds, turned, defaultThickness(spacingM));
}
