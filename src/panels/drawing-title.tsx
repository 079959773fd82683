import type { SectionLine } from '../viewer/section-cut.ts';
import { useApp } from './app-context.ts';
import { ViewTools } from './view-tools.tsx';
import { compassWord } from './words.ts';

/** What the drawing shows, at its upper left. */
export function DrawingTitle() {
  const { store, board } = useApp();
  const view = store.view.value;
  const building = store.building.value;
  const where = building ? `building ${building}` : 'the whole site';
  const titles = { plan: 'Plan', section: 'Section A–A', elevation: 'Elevation', free: 'Free view' } as const;
  // The scale changes whenever the picture does, which keeps this line in step with a turned elevation.
  void store.pixelsPerMetre.value;
  const from = board.current?.elevationFrom ?? 180;
  // Without a ground to count from, heights are elevations; the drawing does the same.
  const shown = store.scene.value?.buildings.filter(({ id }) => building === null || id === building) ?? [];
  const heights = shown.length === 1 || view === 'section' ? (shown.some(({ ground }) => ground.value !== null) ? 'heights above ground' : 'elevations, no ground was seen') : 'elevations';
  const notes = {
    plan: `${store.surveyName.value}: ${where}, seen from above, ${store.north.value} north up`,
    section: `${store.surveyName.value}: looking ${compassWord(lookOf(store.sectionLine.value))}, ${heights}`,
    elevation: `${store.surveyName.value}: ${where}, from the ${compassWord(from)}, ${heights}`,
    free: `${store.surveyName.value}: ${where}, parallel lines kept`,
  } as const;
  return (
    <div class="drawing-title">
      <h1>{titles[view]}</h1>
      <p>{notes[view]}</p>
      <ViewTools />
    </div>
  );
}

/** Bearing a section is looked along, its line running from left to right. [deg] */
function lookOf(line: SectionLine | null): number {
  if (!line) return 0;
  const [dx, dy] = [line.to[0] - line.from[0], line.to[1] - line.from[1]];
  return ((Math.atan2(-dy, dx) * 180) / Math.PI + 360) % 360;
}
