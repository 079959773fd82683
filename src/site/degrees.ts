import type { Vector3 } from '../geometry/vector.ts';
import type { KnownStatement } from './known-statement.ts';

/** Half a kilometre of latitude: a survey in degrees is not wider. [degree] */
const WIDEST = 0.05;

/**
 * Whether coordinates are longitudes and latitudes. A small cloud in metres about a local zero has numbers like them; so
 * without a statement they must also be far flatter than any site: metres of height over thousandths of plan.
 *
 * @param isStated  The file says that they are.
 */
export function looksLikeDegrees({ min, max }: { readonly min: Vector3; readonly max: Vector3 }, isStated: boolean): boolean {
  const [x, y] = [Math.max(-min[0], max[0]), Math.max(-min[1], max[1])];
  // Either order of the axes.
  if (!((x <= 360 && y <= 90) || (x <= 90 && y <= 360))) return false;
  if (isStated) return true;
  const plan = Math.max(max[0] - min[0], max[1] - min[1]);
  const isAway = Math.abs(min[0]) > 1 || Math.abs(min[1]) > 1;
  return isAway && plan < WIDEST && max[2] - min[2] > 20 * plan;
}

/** Why such a file is refused, and what to do. */
export function degreesRefusal(statement: KnownStatement | undefined): string {
  const found =
    statement?.kind === 'geocentric'
      ? `the file states geocentric coordinates (${statement.origin}: ${statement.label})`
      : statement
        ? `coordinates are longitude and latitude in degrees (${statement.origin}: ${statement.label})`
        : 'the coordinates look like longitude and latitude in degrees';
  return `${found}, in which lengths cannot be measured. Reproject the file to a projected system in metres or feet, such as the UTM zone of the site, and open that.`;
}
