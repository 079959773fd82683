import { effect } from '@preact/signals';
import type { Vector3 } from '../geometry/vector.ts';
import { isKnown } from '../units/measured.ts';
import type { Building, RecordPick, RoofPlane } from '../roof/record.ts';
import type { SurveyCommand } from '../survey/commands.ts';
import { edgesAlong } from '../survey/correct/edges-along.ts';
import type { LabelEdit } from '../survey/correct/label-edit.ts';
import { cellsFor, refitOrder, standingCommands, standingEdits, type OpenSurvey } from '../survey/correct/refit-order.ts';
import { shownLabels, type StandingRefit } from '../survey/correct/shown-labels.ts';
import { InputError } from '../units/input-error.ts';
import { plainReading } from '../units/written-reading.ts';
import { BuildingActions } from './building-actions.ts';

/** Measures buildings again after something was said of their points, and shows the points as they are labelled then. */
export abstract class RefitActions extends BuildingActions {
  /** Refits by building and by what was said of its points, to show the labels of any state again. */
  private readonly refits = new Map<string, StandingRefit>();
  private shown: { readonly surveyed: OpenSurvey; readonly key: string } | null = null;

  constructor(...given: ConstructorParameters<typeof BuildingActions>) {
    super(...given);
    // Steps taken back and points that arrive late: labels are shown as they stand after every correction.
    effect(() => {
      if (this.store.history.value && this.store.points.value?.surveyed) queueMicrotask(() => void this.showLabels());
    });
  }

  protected async markParapet(picks: readonly RecordPick[]): Promise<void> {
    const building = this.buildingOfPicks(picks);
    const open = this.openSurvey();
    const { history } = this.store;
    if (!building || !history.value || !open) return;
    const first = picks[0]!;
    const path = picks.map(({ at }): Vector3 => at);
    // Closed at its first place, it runs round the roof.
    if (picks.length > 3 && Math.hypot(first.at[0] - picks.at(-1)!.at[0], first.at[1] - picks.at(-1)!.at[1]) < 0.05) path[path.length - 1] = path[0]!;
    try {
      const state = history.value;
      const order = refitOrder(state, open, building.id, null);
      const { parapet } = await this.working('measuring the parapet', (signal) => this.engine.parapet(cellsFor(order, state, open), order, path, signal));
      if (history.value !== state) return this.say('The roof was changed meanwhile. Draw it again.');
      const id = this.freshId(building, 'w');
      const edges = edgesAlong(building, parapet.path);
      this.changeBuilding(building, [{ kind: 'add-parapet', building: building.id, parapet: { id, ...parapet }, edges }], {
        title: 'mark a parapet',
        decision: { what: 'add', about: id, before: { edges: edges.map((edge) => building.edges.find((candidate) => candidate.id === edge)) }, after: { parapet: { id, ...parapet }, edges } },
        select: { kind: 'parapet', id },
        said: isKnown(parapet.heightAboveRoofM) ? `Parapet marked, height above roof ${plainReading(parapet.heightAboveRoofM, 'length', this.store.units.value)}.` : `Parapet marked. Its height is open, ${parapet.heightAboveRoofM.why}: type it in the table.`,
      });
    } catch (error) {
      this.fail(error);
    }
  }

  /** Points were given to other planes: the building is measured again elsewhere, then stands in one step. */
  protected async refit(building: Building | null, edit: LabelEdit, title: string, old: readonly RoofPlane[], said: (made: readonly RoofPlane[], of: Building) => string): Promise<void> {
    const { history } = this.store;
    const open = this.openSurvey();
    if (!history.value || !open) return;
    const state = history.value;
    try {
      const id = building?.id ?? newBuildingId(standingCommands(state), state.base.buildings);
      const order = refitOrder(state, open, id, edit);
      const cells = cellsFor(order, state, open);
      const { refit } = await this.working('measuring the roof again', (signal) => this.engine.refit(cells, order, signal));
      if (history.value !== state) return this.say('The roof was changed meanwhile. Nothing was done; try again.');
      const made = refit.made.map((plane) => refit.building.roofPlanes.find((candidate) => candidate.id === plane)!);
      const lost = refit.lost.length > 0 ? ` Given up: ${refit.lost.join(' ')}` : '';
      this.refits.set(refitKey(id, order.edits), { refit, cells: cells.map(({ column, row }) => `${column},${row}`), ownLabels: [...order.ownLabels] });
      this.changeTo(refit.building, [{ kind: 'refit-building', edit, to: refit.building }], {
        title,
        decision: { what: old.length > 0 ? 'correct' : 'add', about: made[0]?.id ?? id, ...(old.length > 0 ? { before: { roofPlanes: old } } : {}), after: { roofPlanes: made.map(({ id: plane, pitchDeg, slopeAreaM2 }) => ({ id: plane, pitchDeg, slopeAreaM2 })), ...(refit.lost.length > 0 ? { givenUp: refit.lost } : {}) } },
        select: made[0] ? { kind: 'plane', id: made[0].id } : null,
        said: `${said(made, refit.building)}${lost}`,
      });
    } catch (error) {
      this.fail(error);
    }
  }

  private async working<T>(stage: string, work: (signal: AbortSignal) => Promise<T>): Promise<T> {
    const { busy } = this.store;
    const stop = new AbortController();
    busy.value = { stage, fraction: 0.5, cancel: () => stop.abort() };
    try {
      return await work(stop.signal);
    } finally {
      busy.value = null;
    }
  }

  private openSurvey(): OpenSurvey | null {
    const surveyed = this.store.points.value?.surveyed;
    if (surveyed) return surveyed;
    this.say('The points of this survey are not open, and planes are made of points. Open the files it was made from.');
    return null;
  }

  /** Shows labels as they stand; those of a state that was not seen yet are made again elsewhere. */
  private async showLabels(): Promise<void> {
    const { history, points } = this.store;
    const [state, shown] = [history.value, points.value];
    if (!state || !shown?.surveyed) return;
    const { surveyed } = shown;
    const edited = state.record.buildings.filter(({ id }) => standingEdits(state, id).length > 0);
    const key = edited.map(({ id }) => refitKey(id, standingEdits(state, id))).join('\n');
    if (this.shown?.surveyed === surveyed ? this.shown.key === key : key === '') return;
    try {
      const standing: StandingRefit[] = [];
      for (const building of edited) standing.push(await this.standingRefit(building, surveyed));
      if (history.value !== state || points.value !== shown) return;
      this.shown = { surveyed, key };
      points.value = { ...shown, ...shownLabels(surveyed, surveyed.planeIds, standing) };
    } catch (error) {
      // The record stands as it was saved; only the colours of points are those of the survey.
      if (error instanceof InputError) return this.say('The points are shown as they were found, not as corrected.');
      this.fail(error);
    }
  }

  private async standingRefit(building: Building, open: OpenSurvey): Promise<StandingRefit> {
    const state = this.store.history.value!;
    const order = refitOrder(state, open, building.id, null);
    const key = refitKey(building.id, order.edits);
    const known = this.refits.get(key);
    if (known) return known;
    const cells = cellsFor(order, state, open);
    const { refit } = await this.engine.refit(cells, order, new AbortController().signal);
    const made: StandingRefit = { refit, cells: cells.map(({ column, row }) => `${column},${row}`), ownLabels: [...order.ownLabels] };
    this.refits.set(key, made);
    return made;
  }

  protected planeWords(made: readonly RoofPlane[]): string {
    const { units } = this.store;
    return `${made.map(({ pitchDeg, slopeAreaM2 }) => `pitch ${plainReading(pitchDeg, 'pitch', units.value)}, ${plainReading(slopeAreaM2, 'area', units.value)}`).join('; ')}.`;
  }
}

const refitKey = (building: string, edits: readonly LabelEdit[]): string => `${building} ${JSON.stringify(edits)}`;

function newBuildingId(commands: readonly SurveyCommand[], base: readonly Building[]): string {
  const ids = [...base.map(({ id }) => id), ...commands.flatMap((command) => (command.kind === 'refit-building' ? [command.to.id] : []))];
  return `b${1 + Math.max(0, ...ids.map((id) => Number(/^b(\d+)$/.exec(id)?.[1] ?? 0)))}`;
}
