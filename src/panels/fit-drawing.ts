import type { PlaneCoordinates } from '../geometry/plane-coordinates.ts';
import { dot, type Vector2, type Vector3 } from '../geometry/vector.ts';
import { frameOf } from '../layout/edit-layout.ts';
import type { PickRay } from '../survey/measure/pick-ray.ts';
import type { FittingLines, FittingModule } from '../viewer/ink/fitting-lines.ts';
import { planeAlong } from '../viewer/pick-module.ts';
import { rayAt, type Projection } from '../viewer/projection.ts';
import type { App } from './app-context.ts';
import type { Store } from './store.ts';

/** What question 6 draws on the roof; null while another question is open or nothing fits yet. */
export function fittingLines(store: Store): FittingLines | null {
  const record = store.record.value;
  if (store.question.value !== 6 || !record) return null;
  const shade = store.fitting.shade.value?.images ?? null;
  if (!record.keepClear && !shade) return null;
  const chosen = store.fitting.module.value;
  return {
    shade, zones: record.keepClear?.zones.map(({ polygon }) => polygon) ?? [],
    modules: record.layout?.modules.map(({ id, plane, corners }) => ({ id, plane, corners, isChosen: id === chosen })) ?? [],
  };
}

/** A place was taken in the drawing while question 6 is open. @returns False when it means what it means elsewhere. */
export function takeFitting({ store, fitting }: Pick<App, 'store' | 'fitting'>, module: FittingModule | null, ray: PickRay): boolean {
  const { hand, module: chosen } = store.fitting;
  if (hand.value === 'place') {
    const found = planeAlong(store.record.value?.buildings.flatMap(({ roofPlanes }) => roofPlanes) ?? [], ray);
    if (found) void fitting.place(found.plane, found.at);
    else fitting.sayNoPlane();
    return true;
  }
  if (!module && chosen.value === null) return false;
  fitting.choose(module?.id ?? null);
  return module !== null;
}

const ARROWS: Readonly<Record<string, readonly [right: number, up: number]>> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };

/**
 * A key on the drawing while question 6 is open: arrows shift the chosen module the way they point in the picture, Delete
 * takes it away, Enter places one in the middle of the picture. @returns Whether it meant something.
 */
export function takeFittingKey({ store, fitting, board }: App, { key, shiftKey }: KeyboardEvent): boolean {
  const { hand, module } = store.fitting;
  const view = board.current?.view;
  if (store.question.value !== 6 || store.tool.value !== 'none' || !view) return false;
  if (key === 'Enter' && hand.value === 'place') return takeFitting({ store, fitting }, null, rayAt(view, view.width / 2, view.height / 2));
  const layout = store.record.value?.layout;
  const chosen = layout?.modules.find(({ id }) => id === module.value);
  if (!chosen) return false;
  if (key === 'Delete' || key === 'Backspace') void fitting.remove();
  else if (ARROWS[key]) {
    const plane = store.record.value!.buildings.flatMap(({ roofPlanes }) => roofPlanes).find(({ id }) => id === chosen.plane);
    if (!plane) return false;
    const [u, v] = alongPicture(frameOf(plane), view, ARROWS[key]);
    const step = shiftKey ? SHIFT_STEP / 10 : SHIFT_STEP;
    void fitting.shift([u * step, v * step]);
  } else return false;
  return true;
}

/** One press moves a module this far along the surface; with Shift a tenth of it. [m] */
export const SHIFT_STEP = 0.1;

/** Which of the four ways along a plane runs most nearly as an arrow points in the picture. */
function alongPicture({ u, v }: Pick<PlaneCoordinates, 'u' | 'v'>, { right, up }: Projection, [x, y]: readonly [number, number]): Vector2 {
  const seen = (way: Vector3): number => x * dot(way, right) + y * dot(way, up);
  const [across, upward] = [seen(u), seen(v)];
  return Math.abs(across) >= Math.abs(upward) ? [Math.sign(across), 0] : [0, Math.sign(upward)];
}
