import type { BoardState } from './board-state.ts';
import type { ClipBox } from './clip-box.ts';
import type { RoofScene } from './scene.ts';

/** Kept free round a building that is seen alone, for what hangs over and stands up. [m] */
const MARGIN_M = 1;

/** Parts of scenes by building, so that a part is the same object from frame to frame. */
const partsOf = new WeakMap<RoofScene, Map<string, RoofScene>>();

/** An elevation shows the chosen building alone: what stands before it would only hide it. */
const isAlone = ({ name, building, scene }: BoardState): boolean => name === 'elevation' && building !== null && (scene?.buildings.some(({ id }) => id === building) ?? false);

/** What of a roof scene the view shows. */
export function shownScene(state: BoardState): RoofScene | null {
  return state.scene && isAlone(state) ? partOf(state.scene, state.building!) : state.scene;
}

/** Where points are shown: inside the box a person set, else round a building seen alone; null for everywhere. */
export function shownBox(state: BoardState): ClipBox | null {
  if (state.clip || !isAlone(state)) return state.clip;
  const { min, max } = shownScene(state)!.bounds!;
  return { min: [min[0] - MARGIN_M, min[1] - MARGIN_M, min[2] - MARGIN_M], max: [max[0] + MARGIN_M, max[1] + MARGIN_M, max[2] + 3 * MARGIN_M] };
}

/** A state as the pointer meets it: only what is shown can be pointed at. */
export function pointedState(state: BoardState): BoardState {
  if (!isAlone(state)) return state;
  const { targets, building } = state;
  const own = (id: string | null): boolean => id?.startsWith(`${building}.`) ?? false;
  return {
    ...state,
    scene: shownScene(state),
    clip: shownBox(state),
    targets: targets && { corners: targets.corners.filter(({ of }) => own(of)), edges: targets.edges.filter(({ id }) => own(id)), planes: targets.planes.filter(({ id }) => own(id)) },
  };
}

function partOf(scene: RoofScene, building: string): RoofScene {
  const known = partsOf.get(scene) ?? new Map<string, RoofScene>();
  partsOf.set(scene, known);
  const part = known.get(building) ?? makePart(scene, building);
  known.set(building, part);
  return part;
}

function makePart(scene: RoofScene, building: string): RoofScene {
  const own = <Part extends { readonly building: string }>(parts: readonly Part[]): Part[] => parts.filter((part) => part.building === building);
  const buildings = scene.buildings.filter(({ id }) => id === building);
  return {
    buildings,
    planes: own(scene.planes),
    edges: own(scene.edges),
    things: own(scene.things),
    parapets: own(scene.parapets),
    lowPoints: own(scene.lowPoints),
    features: scene.features,
    bounds: buildings[0]!.bounds,
  };
}
