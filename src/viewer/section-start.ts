import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { lineAcross } from './cameras.ts';
import type { Bounds } from './projection.ts';
import type { RoofScene, ScenePlane } from './scene.ts';
import type { SectionLine } from './section-cut.ts';

/** Wide enough for a clear line of points, narrow enough not to smear a slope. [m] */
export const defaultThickness = (spacingM: number): number => Math.min(1, Math.max(0.1, 8 * spacingM));

/** Steeper than this a plane says which way a roof falls: sine of 3°. */
const SLOPING = 0.052;

/**
 * A line through the roomiest place of the largest plane shown: down its fall when it slopes, else across its longest side.
 * The end with the smaller easting stands left.
 */
export function sectionAcross(scene: RoofScene | null, building: string | null, bounds: Bounds, spacingM: number): SectionLine {
  const planes = scene?.planes.filter((plane) => building === null || plane.building === building) ?? [];
  const largest = largestOf(planes.filter(isSloping)) ?? largestOf(planes);
  const [x, y] = largest ? (isSloping(largest) ? [largest.plane.normal[0], largest.plane.normal[1]] : acrossLongestSide(largest.plane.outline)) : [1, 0];
  const run = Math.hypot(x, y) || 1;
  const along: Vector2 = x < 0 ? [-x / run, -y / run] : [x / run, y / run];
  const through = largest?.label().at ?? [(bounds.min[0] + bounds.max[0]) / 2, (bounds.min[1] + bounds.max[1]) / 2];
  return lineAcross(bounds, [through[0], through[1]], along, defaultThickness(spacingM));
}

const isSloping = ({ plane }: ScenePlane): boolean => Math.hypot(plane.normal[0], plane.normal[1]) > SLOPING;

const largestOf = (planes: readonly ScenePlane[]): ScenePlane | undefined =>
  planes.toSorted((a, b) => (b.plane.planAreaM2.value ?? 0) - (a.plane.planAreaM2.value ?? 0))[0];

function acrossLongestSide(outline: readonly Vector3[]): [number, number] {
  let longest: [number, number] = [0, 0];
  outline.forEach(([x, y], i) => {
    const next = outline[(i + 1) % outline.length]!;
    const side: [number, number] = [next[0] - x, next[1] - y];
    if (Math.hypot(...side) > Math.hypot(...longest)) longest = side;
  });
  return [longest[1], -longest[0]];
}
