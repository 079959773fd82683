import { planeHeightSigma } from '../../survey/measure/pick-sigma.ts';
import type { EdgeKind } from '../../roof/record.ts';
import { once } from '../once.ts';
import type { RoofScene, SceneEdge, ScenePlane } from '../scene.ts';
import type { InkFrame } from './frame.ts';
import { ranked, type Level } from './level-marks.ts';

const SIGMAS_IN_95 = 1.96;
/** An edge that rises more than this from end to end has no level of its own. [m per m] */
const LEVEL_SLOPE = 0.03;
/** Kinds whose height is asked for, the more important first. */
const RANKED: readonly EdgeKind[] = ['ridge', 'eave', 'parapet', 'abutment'];

/** Levels by scene: they are the same from every side, and of a site there are thousands. */
const known = new WeakMap<RoofScene, { readonly building: string | null; readonly levels: readonly Level[] }>();

/** Levels of ridges, eaves and tops of walls of what is shown, for an elevation; the highest rank first. */
export function elevationLevels(frame: InkFrame, scene: RoofScene): readonly Level[] {
  const before = known.get(scene);
  if (before?.building === frame.building) return before.levels;
  const levels = ranked(findLevels(frame, scene));
  known.set(scene, { building: frame.building, levels });
  return levels;
}

function findLevels(frame: InkFrame, scene: RoofScene): Level[] {
  const planes = new Map(scene.planes.map((plane) => [plane.id, plane]));
  const levels: Level[] = [];
  const several = frame.building === null && scene.buildings.length > 1;
  for (const edge of scene.edges) {
    if (frame.building !== null && edge.building !== frame.building) continue;
    const rank = RANKED.indexOf(edge.kind);
    const run = Math.hypot(edge.to[0] - edge.from[0], edge.to[1] - edge.from[1]);
    if (rank < 0 || Math.abs(edge.to[2] - edge.from[2]) > LEVEL_SLOPE * Math.max(run, 0.01)) continue;
    const name = `${several ? `${edge.building} ` : ''}${edge.kind} ${edge.name}`;
    levels.push({ name, z: (edge.from[2] + edge.to[2]) / 2, u95: once(() => heightSigma(frame, planes, edge) * SIGMAS_IN_95), rank: RANKED.length - rank });
  }
  for (const { parapet, building, name } of scene.parapets) {
    const height = parapet.heightAboveRoofM;
    const foot = parapet.path[0];
    if ((frame.building !== null && building !== frame.building) || height.value === null || !foot) continue;
    levels.push({ name: `${several ? `${building} ` : ''}top of ${name}`, z: foot[2] + height.value, u95: () => height.u95, rank: 2 });
  }
  return levels;
}

function heightSigma(frame: InkFrame, byId: ReadonlyMap<string, ScenePlane>, { planes, from, to }: SceneEdge): number {
  const plane = planes.map((id) => byId.get(id)).find((known) => known !== undefined);
  if (!plane) return frame.noiseM;
  const target = { ...plane.plane, name: plane.name, evidence: plane.plane.evidence ?? null };
  return Math.max(...[from, to].map((at) => planeHeightSigma(target, at, { spacingM: 0, noiseM: frame.noiseM })));
}
