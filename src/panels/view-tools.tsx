import { lengthUnit } from '../units/unit-in-use.ts';
import { useApp } from './app-context.ts';
import { setThickness, stepThickness, THICKNESS_LIMITS } from './section-thickness.ts';

/** What changes the view that is shown: the thickness of a section, the side an elevation is seen from. */
export function ViewTools() {
  const { store, board } = useApp();
  const line = store.sectionLine.value;
  const unit = lengthUnit(store.units.value);
  if (store.view.value === 'elevation') {
    return (
      <p class="view-tools">
        <button type="button" onClick={() => board.current?.turnElevation(-90)}>Turn back<kbd>[</kbd></button>
        <button type="button" onClick={() => board.current?.turnElevation(90)}>Turn on<kbd>]</kbd></button>
      </p>
    );
  }
  if (store.view.value !== 'section' || !line) return null;
  return (
    <p class="view-tools">
      <button type="button" onClick={() => stepThickness(store, -1)}>Thinner<kbd>[</kbd></button>
      <label>
        strip
        <input type="number" min={THICKNESS_LIMITS[0] / unit.metres} max={THICKNESS_LIMITS[1] / unit.metres} step="any" value={Number((line.thicknessM / unit.metres).toPrecision(3))} onChange={(event) => setThickness(store, event.currentTarget.valueAsNumber * unit.metres)} />
        {unit.word} thick
      </label>
      <button type="button" onClick={() => stepThickness(store, 1)}>Thicker<kbd>]</kbd></button>
    </p>
  );
}
