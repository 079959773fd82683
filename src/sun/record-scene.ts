import { ringContains } from '../geometry/polygon.ts';
import type { Building, Obstruction, Parapet, RoofPlane, RoofRecord } from '../roof/record.ts';
import { isKnown } from '../units/measured.ts';
import type { ShadeScene, Solid } from './horizon.ts';
import { reliefOf } from './relief.ts';
import { surfaceOfRecord, surfaceWindow, withoutSolids, withRoofPlanes, type PlanBox, type SurfaceModel } from './surface-model.ts';

/** Cloud heights this near a roof plane are the plane: five sigma of its noise, but not less. [m] */
const LEAST_TOLERANCE = 0.08;

/**
 * What throws shade on the roofs of a record: its obstructions and parapets as solids with exact rims, everything else
 * (roofs, trees, neighbours) as a raster.
 *
 * @param surface  Of the measured cloud. Without it the raster holds the record's own roof planes: trees and buildings
 *   outside the record then throw no shade.
 */
export function recordScene(record: RoofRecord, surface?: SurfaceModel): ShadeScene {
  const solids = record.buildings.flatMap((building) => buildingSolids(building));
  const tolerance = Math.max(LEAST_TOLERANCE, 5 * record.sampling.noiseM);
  const shading = surface ? withRoofPlanes(withoutSolids(surface, solids), record.buildings, tolerance) : surfaceOfRecord(record);
  return { solids, surface: shading };
}

/** The same scene with its surface made ready, for looking from it more than once. */
export const readyScene = (scene: ShadeScene): ShadeScene => (scene.surface && !scene.relief ? { ...scene, relief: reliefOf(scene.surface) } : scene);

/** A scene as seen from a box in plan: its surface and the solids near enough to throw shade there. */
export function sceneNear({ solids, surface }: ShadeScene, box: PlanBox, reach: number): ShadeScene {
  const isNear = ({ footprint }: Solid): boolean => footprint.some(([x, y]) => x > box[0] - reach && x < box[2] + reach && y > box[1] - reach && y < box[3] + reach);
  return { solids: solids.filter(isNear), surface: surface && surfaceWindow(surface, box, reach) };
}

function buildingSolids(building: Building): Solid[] {
  return [
    ...building.obstructions.flatMap((one) => obstructionSolid(one, building)),
    ...building.parapets.flatMap((one) => parapetScreens(one, building)),
  ];
}

/** An obstruction of unknown height throws no shade as a solid; where a cloud was measured it stays in the raster. */
function obstructionSolid(one: Obstruction, building: Building): Solid[] {
  const plane = building.roofPlanes.find((candidate) => candidate.id === one.onPlane);
  if (!plane || !isKnown(one.heightAboveRoofM) || one.heightAboveRoofM.value <= 0) return [];
  const x = one.footprint.reduce((sum, at) => sum + at[0], 0) / one.footprint.length;
  const y = one.footprint.reduce((sum, at) => sum + at[1], 0) / one.footprint.length;
  return [{ id: one.id, footprint: one.footprint, top: elevation(plane, x, y) + one.heightAboveRoofM.value }];
}

/** Screens along the inner face: seen from the roof, that is where a parapet's upper rim stands highest. */
function parapetScreens(parapet: Parapet, building: Building): Solid[] {
  if (!isKnown(parapet.heightAboveRoofM)) return [];
  const height = parapet.heightAboveRoofM.value;
  return parapet.path.slice(1).map((to, i): Solid => {
    const from = parapet.path[i]!;
    const x = (from[0] + to[0]) / 2;
    const y = (from[1] + to[1]) / 2;
    const plane = planeUnder(building, x, y, (from[2] + to[2]) / 2);
    const roof = plane ? elevation(plane, x, y) : (from[2] + to[2]) / 2;
    return { id: parapet.id, footprint: [[from[0], from[1]], [to[0], to[1]]], top: roof + height };
  });
}

/** The roof plane a parapet stands by: one within half a metre in plan, the nearest in height to its path. */
function planeUnder(building: Building, x: number, y: number, z: number): RoofPlane | null {
  let nearest: RoofPlane | null = null;
  let least = Infinity;
  for (const plane of building.roofPlanes) {
    const near = [[0, 0], [0.5, 0], [-0.5, 0], [0, 0.5], [0, -0.5]] as const;
    if (!near.some(([dx, dy]) => ringContains(plane.outline, [x + dx, y + dy]))) continue;
    const off = Math.abs(elevation(plane, x, y) - z);
    if (off < least) {
      least = off;
      nearest = plane;
    }
  }
  return nearest;
}

const elevation = ({ normal, offset }: RoofPlane, x: number, y: number): number =>
  -(normal[0] * x + normal[1] * y + offset) / normal[2];
