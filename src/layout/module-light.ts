import { cross, normalize, subtract, type Vector3 } from '../geometry/vector.ts';
import type { ShadeScene, Solid } from '../sun/horizon.ts';
import { solarAccess, type ShadeCells } from '../sun/solar-access.ts';
import type { SunYear } from '../sun/sun-year.ts';
import type { PlacedModule } from './place-modules.ts';

/** Light on one module through a year. */
export interface ModuleLight {
  /** Shaded over unshaded irradiation of the year, 0 to 1. */
  readonly solarAccess: number;
  /** On the module's surface, with shade. [kWh/m²] */
  readonly yearlyKwhM2: number;
}

/** Positions looked at on a module, along its first side and across. A shadow's rim is then placed to a sixth of a side. */
const ALONG = 3;
const ACROSS = 4;
/** Screens are drawn this much lower than the edge they stand for, so that a module does not shade itself by rounding. [m] */
const BELOW_EDGE = 0.001;

/**
 * Light on modules, each looked at in a dozen positions. Modules raised on racks shade those behind: their upper edges
 * are put into the scene as screens, opaque down to the roof (racks are usually closed at the back against wind).
 *
 * @param among  All modules of their plane. Default: the ones asked for.
 */
export function moduleLight(scene: ShadeScene, modules: readonly PlacedModule[], year: SunYear, albedo: number, among = modules): ModuleLight[] {
  if (modules.length === 0) return [];
  const normals = modules.map((module) => moduleNormal(module));
  const { orientations, orientation } = distinct(normals);
  const perModule = ALONG * ACROSS;
  const cells: ShadeCells = {
    positions: new Float64Array(modules.length * perModule * 3), orientation: new Uint16Array(modules.length * perModule), orientations,
  };
  modules.forEach(({ corners }, m) => {
    for (let k = 0; k < perModule; k++) {
      const at = m * perModule + k;
      cells.positions.set(within(corners, ((k % ALONG) + 0.5) / ALONG, (Math.floor(k / ALONG) + 0.5) / ACROSS), at * 3);
      cells.orientation[at] = orientation[m]!;
    }
  });
  const raised = among.filter((module) => module.raisedM > 0);
  const full: ShadeScene = raised.length > 0 ? { ...scene, solids: [...scene.solids, ...raised.map((module) => upperEdge(module))] } : scene;
  const { monthlyKwhM2, yearly } = solarAccess(full, cells, year, { albedo });
  return modules.map((_, m) => {
    let access = 0;
    let light = 0;
    for (let k = 0; k < perModule; k++) {
      access += yearly[m * perModule + k]!;
      for (let month = 0; month < 12; month++) light += monthlyKwhM2[(m * perModule + k) * 12 + month]!;
    }
    return { solarAccess: access / perModule, yearlyKwhM2: light / perModule };
  });
}

/** Unit, upward. */
export const moduleNormal = ({ corners }: Pick<PlacedModule, 'corners'>): Vector3 => {
  const normal = normalize(cross(subtract(corners[1]!, corners[0]!), subtract(corners[3]!, corners[0]!)));
  return normal[2] < 0 ? [-normal[0], -normal[1], -normal[2]] : normal;
};

/** Modules of one plane or rack share their orientation; equal to a millionth counts as equal. */
function distinct(normals: readonly Vector3[]): { orientations: Vector3[]; orientation: number[] } {
  const orientations: Vector3[] = [];
  const known = new Map<string, number>();
  const orientation = normals.map((normal) => {
    const key = normal.map((part) => Math.round(part * 1e6)).join(' ');
    let index = known.get(key);
    if (index === undefined) {
      index = orientations.push(normal) - 1;
      known.set(key, index);
    }
    return index;
  });
  return { orientations, orientation };
}

function within(corners: readonly Vector3[], along: number, across: number): Vector3 {
  const [a, b, , d] = corners as readonly [Vector3, Vector3, Vector3, Vector3];
  return [0, 1, 2].map((i) => a[i]! + along * (b[i]! - a[i]!) + across * (d[i]! - a[i]!)) as unknown as Vector3;
}

function upperEdge({ plane, corners }: PlacedModule): Solid {
  const [a, b] = corners.toSorted((p, q) => q[2] - p[2]) as [Vector3, Vector3];
  return { id: `rack on ${plane}`, footprint: [[a[0], a[1]], [b[0], b[1]]], top: Math.min(a[2], b[2]) - BELOW_EDGE };
}
