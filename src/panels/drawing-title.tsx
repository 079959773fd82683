import { useApp } from './app-context.ts';
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
  const notes = {
    plan: `${store.surveyName.value}: ${where}, seen from above, true north up`,
    section: `${store.surveyName.value}: strip ${((store.sectionLine.value?.thicknessM ?? 0) * 100).toFixed(0)} cm thick, heights above ground`,
    elevation: `${store.surveyName.value}: ${where}, from the ${compassWord(from)}`,
    free: `${store.surveyName.value}: ${where}, parallel lines kept`,
  } as const;
  return (
    <div class="drawing-title">
      <h1>{titles[view]}</h1>
      <p>{notes[view]}</p>
    </div>
  );
}
