import { useRef } from 'preact/hooks';
import type { RoofRecord } from '../roof/record.ts';
import { shortLength } from '../units/unit-in-use.ts';
import type { UnitChoice } from '../units/written-reading.ts';
import { scaleDenominator } from '../viewer/projection.ts';
import { POINT_MODES, type PointMode } from '../viewer/point-shader.ts';
import { useApp } from './app-context.ts';
import { LayersCell } from './layers-dialog.tsx';
import { HistoryDialog } from './history-dialog.tsx';
import type { PaperName } from './store.ts';
import { SurveyMenu } from './survey-menu.tsx';

const UNIT_CHOICES: readonly { readonly name: string; readonly units: UnitChoice }[] = [
  { name: 'm, degrees', units: { length: 'm', pitch: 'deg' } },
  { name: 'm, per cent', units: { length: 'm', pitch: 'percent' } },
  { name: 'mm, degrees', units: { length: 'mm', pitch: 'deg' } },
  { name: 'ft in, rise in 12', units: { length: 'ft-in', pitch: 'in-12' } },
];

const MODE_WORDS: Readonly<Record<PointMode, string>> = {
  ink: 'ink', colour: 'colour', elevation: 'elevation', plane: 'roof plane', residual: 'residual', intensity: 'intensity', class: 'class',
};

/** Status and settings in one. A cell is blank until it is true. */
export function TitleBlock() {
  return <div class="title-block"><SurveyMenu /><TitleCells /></div>;
}

/** All of the title block but the survey's name. */
export function TitleCells() {
  const { store, actions } = useApp();
  const record = store.record.value;
  const history = store.history.value;
  const dialog = useRef<HTMLDialogElement>(null);
  const lastStep = history && history.done > 0 ? history.steps[history.done - 1]!.title : '';
  const scale = record && store.view.value !== 'free' && store.pixelsPerMetre.value > 0 ? `1 : ${Math.round(scaleDenominator(store.pixelsPerMetre.value))}` : record ? 'free' : '';
  return (
    <>
      <LayersCell />
      <Cell name="scale" value={scale} />
      <UnitCell />
      <PointsCell />
      <label class="cell">
        <span class="cell-name">paper</span>
        <select value={store.paper.value} onChange={(event) => actions.choosePaper(event.currentTarget.value as PaperName)}>
          <option value="film">film</option>
          <option value="vandyke">Van Dyke</option>
        </select>
      </label>
      <Cell name="spacing, noise" value={record ? samplingWords(record, store.units.value) : ''} />
      <Cell name="north" value={record ? northWords(store.north.value, record.frame.gridToTrueDeg) : ''} />
      <Cell name="saved here" value={store.savedAt.value ? clock(store.savedAt.value) : ''} />
      <button type="button" class="cell menu" aria-haspopup="dialog" onClick={() => dialog.current?.showModal()}>
        <span class="cell-name">last step</span>
        <span class="cell-value">{lastStep}</span>
      </button>
      <HistoryDialog dialog={dialog} />
    </>
  );
}

function Cell({ name, value }: { readonly name: string; readonly value: string }) {
  return <div class="cell"><span class="cell-name">{name}</span><span class="cell-value">{value}</span></div>;
}

function UnitCell() {
  const { store, actions } = useApp();
  const at = UNIT_CHOICES.findIndex(({ units }) => units.length === store.units.value.length && units.pitch === store.units.value.pitch);
  return (
    <label class="cell">
      <span class="cell-name">unit</span>
      <select value={String(at)} onChange={(event) => actions.chooseUnits(UNIT_CHOICES[Number(event.currentTarget.value)]!.units)}>
        {UNIT_CHOICES.map(({ name }, i) => <option key={name} value={String(i)}>{name}</option>)}
      </select>
    </label>
  );
}

/** What the points are coloured by; ways the file has no data for cannot be chosen. */
function PointsCell() {
  const { store } = useApp();
  const [first] = store.points.value?.cloud.cells ?? [];
  const has: Record<PointMode, boolean> = {
    ink: true, elevation: true, colour: first?.colours != null, intensity: first?.intensity != null, class: first?.classification != null,
    plane: store.points.value?.labels != null, residual: store.points.value?.labels != null,
  };
  const value = store.layers.value.points ? store.pointMode.value : 'none';
  const choose = (chosen: string): void => {
    store.layers.value = { ...store.layers.value, points: chosen !== 'none' };
    if (chosen !== 'none') store.pointMode.value = chosen as PointMode;
  };
  return (
    <label class="cell">
      <span class="cell-name">points by</span>
      <select value={value} disabled={!first} onChange={(event) => choose(event.currentTarget.value)}>
        {POINT_MODES.map((mode) => <option key={mode} value={mode} disabled={!has[mode]}>{MODE_WORDS[mode]}</option>)}
        <option value="none">not shown</option>
      </select>
    </label>
  );
}

/** Both in one unit where they fit it. */
function samplingWords({ sampling: { pointSpacingM, noiseM }, buildings }: RoofRecord, units: UnitChoice): string {
  if (buildings.length === 0) return `${shortLength(pointSpacingM, units)}, not known`;
  const [spacing, noise] = [shortLength(pointSpacingM, units), shortLength(noiseM, units)];
  const unit = noise.slice(noise.indexOf(' '));
  return spacing.endsWith(unit) ? `${spacing.slice(0, -unit.length)}, ${noise}` : `${spacing}, ${noise}`;
}

const northWords = (north: 'true' | 'grid', gridToTrueDeg: number): string => (north === 'grid' ? 'grid' : `grid ${gridToTrueDeg >= 0 ? '+' : '−'} ${Math.abs(gridToTrueDeg).toFixed(2)}°`);
const clock = (iso: string): string => new Date(iso).toLocaleTimeString('en-GB');

export { clock };
