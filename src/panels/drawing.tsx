import { effect } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { DrawingBoard } from '../viewer/board.ts';
import type { BoardState } from '../viewer/board-state.ts';
import type { LabelledPlane } from '../viewer/point-layer.ts';
import type { CorrectState } from '../survey/correct/correct-step.ts';
import { assumptionsOf } from '../survey/measure/model-parts.ts';
import { DEFAULT_ASSUMPTIONS } from '../reading/assumptions.ts';
import { withMeetings } from '../survey/correct/meeting-targets.ts';
import { useApp } from './app-context.ts';
import { fittingLines, takeFitting, takeFittingKey } from './fit-drawing.ts';
import { makeRoom } from './make-room.ts';
import type { SurveyPoints, Store, Tool } from './store.ts';
import { pointedWords, takeWords } from './spoken-words.ts';

/** The drawing itself, kept in step with the store. */
export function Drawing() {
  const app = useApp();
  const { store, actions } = app;
  const host = useRef<HTMLDivElement>(null);
  const stage = useRef<HTMLCanvasElement>(null);
  const ink = useRef<HTMLCanvasElement>(null);
  const overlay = useRef<HTMLCanvasElement>(null);

  useEffect(() => {
    const board = new DrawingBoard(host.current!, { stage: stage.current!, ink: ink.current!, overlay: overlay.current! }, boardState(store), {
      onPointed: ({ snap, part, offMm }) => {
        store.snap.value = snap;
        if (snap) store.toward.value = snap.pick.at;
        const words = snap ? takeWords(snap, offMm, store.compact.value, store.units.value) : part ? pointedWords(part, store) : null;
        if (words) store.spoken.value = words;
      },
      onTake: ({ pick }) => {
        if (store.tool.value === 'pin') actions.pinAt(pick.at, pick.landedOn === 'plane' ? pick.of : null);
        else if (store.tool.value === 'region') actions.takeRegionCorner(pick);
        else if (store.tool.value === 'correct') actions.correct({ kind: 'pick', pick });
        else actions.measure({ kind: 'pick', pick });
      },
      onPart: (part) => {
        actions.select(part);
        // A finger has nothing it hovers over to be told what it chose.
        if (part && store.compact.value) store.spoken.value = pointedWords(part, store, true);
      },
      onFitting: (module, ray) => takeFitting(app, module, ray),
      onSection: (line) => actions.cutAlong(line),
      onBox: (from, to) => actions.clipBetween(from, to, board.siteBox),
      onScale: (pixelsPerMetre) => (store.pixelsPerMetre.value = pixelsPerMetre),
    });
    app.board.current = board;
    if (!board.hasStage) actions.say('This browser gives no WebGL2, so points are not drawn. Everything else works.');
    const stopState = effect(() => board.setState(boardState(store)));
    const stopFit = effect(() => {
      if (store.fitAsked.value > 0) board.fit();
    });
    const stopSection = effect(() => {
      if (store.view.value === 'section' && !store.sectionLine.value && store.scene.value) store.sectionLine.value = board.sectionToStart();
    });
    const stopPoints = effect(() => showPoints(board, store, store.points.value));
    const stopPaper = effect(() => {
      // The style sheet follows the attribute at once; reading it here sees the new paper.
      document.documentElement.dataset['paper'] = store.paper.value;
      board.paperChanged();
    });
    // Whoever takes up a tool points next, also by keys; but nobody is taken away from a field.
    let tool = '';
    let held: Tool = 'none';
    const stopTool = effect(() => {
      const { measure, correct } = store;
      const next = [store.tool.value, measure.value.name === 'picking' && measure.value.tool, correct.value.name === 'correcting' && correct.value.tool].join(' ');
      if (next !== tool && store.tool.value !== 'none' && !document.activeElement?.closest('input, select, textarea')) host.current?.focus({ preventScroll: true });
      tool = next;
      makeRoom(store, held, store.tool.value);
      held = store.tool.value;
    });
    void document.fonts.ready.then(() => board.paperChanged());
    return () => {
      stopState();
      stopFit();
      stopSection();
      stopPoints();
      stopTool();
      stopPaper();
      board.dispose();
    };
  }, []);

  return (
    <div
      ref={host}
      class={`board tool-${store.tool.value}`}
      tabIndex={0}
      onKeyDownCapture={(event) => {
        if (!takeFittingKey(app, event)) return;
        event.preventDefault();
        event.stopPropagation();
      }}
      role="application"
      aria-label="Drawing of the roof. The same parts stand in the tables of questions 2 to 4. Arrows move, plus and minus zoom, 0 shows all."
    >
      <canvas ref={stage} aria-hidden="true" />
      <canvas ref={ink} aria-hidden="true" data-testid="ink" />
      <canvas ref={overlay} aria-hidden="true" />
    </div>
  );
}

function boardState(store: Store): BoardState {
  const record = store.record.value;
  const tool = store.tool.value;
  return {
    name: store.view.value,
    scene: store.scene.value,
    // Worked out only once something is measured.
    targets: tool === 'none' ? null : correctionTargets(store),
    names: store.names.value,
    building: store.building.value,
    selection: store.selection.value,
    units: store.units.value,
    gridToTrueDeg: record?.frame.gridToTrueDeg ?? 0,
    spacingM: record?.sampling.pointSpacingM ?? 0.05,
    noiseM: record?.sampling.noiseM ?? 0.01,
    assumptions: record ? assumptionsOf(record) : DEFAULT_ASSUMPTIONS,
    zeroElevationM: record?.frame.origin[2] ?? 0,
    sectionLine: store.sectionLine.value,
    readings: store.readings.value,
    measuring: measuringOf(store),
    // Module places are hatched and tinted; a stipple under them would only be in the way.
    layers: isFitting(store) ? { ...store.layers.value, points: store.layers.value.points && store.pointMode.value !== 'ink' } : store.layers.value,
    fitting: fittingLines(store),
    clip: store.clip.value,
    pointMode: store.pointMode.value,
    compact: store.compact.value,
  };
}

/** What the pointer takes part in: a measurement, a correction, or a place that is asked for. */
function measuringOf({ tool, measure, correct, regionCorners }: Store): BoardState['measuring'] {
  switch (tool.value) {
    case 'none':
      return null;
    case 'measure':
      return measure.value.name === 'picking' ? { tool: measure.value.tool, picks: measure.value.picks } : null;
    case 'correct':
      return correct.value.name === 'correcting' ? { tool: correct.value.tool, picks: correct.value.picks } : null;
    default:
      return { tool: tool.value, picks: tool.value === 'region' ? regionCorners.value : [] };
  }
}

/** Corners that are placed anew may also be put where planes meet. */
function correctionTargets({ targets, correct, record }: Store): BoardState['targets'] {
  const { value } = targets;
  if (!value || !record.value || correct.value.name !== 'correcting' || !PLACES_CORNERS.has(correct.value.tool) || correct.value.picks.length === 0) return value;
  return withMeetings(value, record.value.buildings.find(({ roofPlanes, edges }) => [roofPlanes, edges].some((list) => list.some(({ id }) => id === firstOf(correct.value)))) ?? null);
}

const PLACES_CORNERS: ReadonlySet<string> = new Set(['move-corner', 'add-corner']);
const firstOf = (state: CorrectState): string | null => (state.name === 'correcting' ? (state.picks[0]?.of ?? null) : null);

const isFitting = (store: Store): boolean => store.question.value === 6 && (store.record.value?.keepClear != null || store.fitting.shade.value !== null);

function showPoints(board: DrawingBoard, store: Store, points: SurveyPoints | null): void {
  const record = store.record.peek();
  const planes = new Map(record?.buildings.flatMap(({ roofPlanes }) => roofPlanes.map((plane) => [plane.id, plane] as const)));
  // Label 0 is no plane; the layer counts planes from label 1.
  const labelled = points?.planeIds.slice(1).map((id): LabelledPlane | null => (id ? (planes.get(id) ?? null) : null)) ?? [];
  board.setPoints(points && { survey: points.survey, cloud: points.cloud, labels: points.labels, meshes: points.meshes, planes: labelled, noiseM: record?.sampling.noiseM ?? 0.01 });
}
