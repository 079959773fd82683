import type { Store } from './store.ts';

/** Thinnest and thickest strip of points a section shows. [m] */
export const THICKNESS_LIMITS = [0.02, 20] as const;

/** Sets how thick a strip of points the section shows; within limits, and nothing where no section is drawn. [m] */
export function setThickness({ sectionLine }: Store, thicknessM: number): void {
  if (!sectionLine.value || !(thicknessM > 0)) return;
  sectionLine.value = { ...sectionLine.value, thicknessM: Math.min(THICKNESS_LIMITS[1], Math.max(THICKNESS_LIMITS[0], thicknessM)) };
}

/** One step thinner (−1) or thicker (1). */
export function stepThickness(store: Store, by: -1 | 1): void {
  const { sectionLine } = store;
  if (sectionLine.value) setThickness(store, sectionLine.value.thicknessM * (by < 0 ? 1 / 1.5 : 1.5));
}
