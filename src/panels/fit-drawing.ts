import type { PickRay } from '../survey/measure/pick-ray.ts';
import type { FittingLines, FittingModule } from '../viewer/ink/fitting-lines.ts';
import { planeAlong } from '../viewer/pick-module.ts';
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
export function takeFitting({ store, fitting }: App, module: FittingModule | null, ray: PickRay): boolean {
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
