import type { Vector2 } from '../geometry/vector.ts';
import type { Building } from '../roof/record.ts';
import { isKnown, missing, type Measured } from '../units/measured.ts';
import type { RuleContext } from './keep-clear-zones.ts';

/**
 * What rules ask about a building as a whole.
 *
 * @param heightM  The user's height above ground, where given; else it is taken from the record.
 */
export function ruleContext(building: Building, heightM: number | null, moduleShare: number, dimPlanes: RuleContext['dimPlanes']): RuleContext {
  const { least, long } = sides(building.outline.length >= 3 ? building.outline : cornersOf(building));
  return {
    leastWidthM: least,
    longSideM: long,
    heightM: heightM === null ? meanHeight(building) : { value: heightM, u95: 0 },
    moduleShare,
    planeCount: building.roofPlanes.length,
    dimPlanes,
  };
}

const cornersOf = (building: Building): Vector2[] =>
  building.roofPlanes.flatMap((plane) => plane.outline.map((at): Vector2 => [at[0], at[1]]));

/** Mean of eave and top height above ground (ASCE 7 takes the mean roof height, the eave height on flat roofs). */
function meanHeight(building: Building): Measured {
  const ground = building.groundElevationM;
  if (!isKnown(ground)) return missing(`height above ground unknown: ${ground.why}`);
  let low = Infinity;
  let high = -Infinity;
  for (const plane of building.roofPlanes) {
    for (const corner of plane.outline) {
      low = Math.min(low, corner[2]);
      high = Math.max(high, corner[2]);
    }
  }
  if (!(high >= low)) return missing('no roof planes');
  return { value: (low + high) / 2 - ground.value, u95: ground.u95 };
}

/** Sides of the smallest rectangle about a building, by trying every direction a side of the outline runs in. */
function sides(corners: readonly Vector2[]): { least: number; long: number } {
  let best = { least: 0, long: 0 };
  let leastArea = Infinity;
  corners.forEach((to, i) => {
    const from = corners[(i + corners.length - 1) % corners.length]!;
    const size = Math.hypot(to[0] - from[0], to[1] - from[1]);
    if (size === 0) return;
    const x = (to[0] - from[0]) / size;
    const y = (to[1] - from[1]) / size;
    const along = corners.map((at) => at[0] * x + at[1] * y);
    const across = corners.map((at) => at[1] * x - at[0] * y);
    const a = Math.max(...along) - Math.min(...along);
    const b = Math.max(...across) - Math.min(...across);
    if (a * b < leastArea) {
      leastArea = a * b;
      best = { least: Math.min(a, b), long: Math.max(a, b) };
    }
  });
  return best;
}
