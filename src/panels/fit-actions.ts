import { batch, effect, untracked } from '@preact/signals';
import type { Vector3 } from '../geometry/vector.ts';
import { frameOf, moduleCorners, type LayoutEdit } from '../layout/edit-layout.ts';
import { USUAL_MODULE } from '../layout/module-spec.ts';
import { toPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import { planesOfBuilding } from '../layout/building-patch.ts';
import { buildingStands } from '../layout/refit-building.ts';
import { parseRules } from '../layout/validate-rules.ts';
import type { ModuleLayout, RoofPlane } from '../roof/record.ts';
import type { SurveyCommand } from '../survey/commands.ts';
import type { FitWishes } from '../survey/fit-messages.ts';
import type { FitHooks, FitSession, FitSubject } from '../survey/fit-session.ts';
import type { Actions } from './actions.ts';
import { LayoutBook, staleBuildings, type MadeFor, type StaleBuilding } from './fit-following.ts';
import { nextTurn } from './next-turn.ts';
import type { ShadeShown } from './fit-state.ts';
import type { Store } from './store.ts';

/** When more buildings than this changed at once, modules wait until they are placed again. */
const MOST_FOLLOWED = 4;

/** Answers question 6: modules and shade in other threads, changes by hand and to the roof at once. */
export class FitActions {
  private readonly book = new LayoutBook();
  /** Wishes modules were placed by last, and in which survey. */
  private placed: { readonly survey: string | null; readonly wishes: FitWishes } | null = null;
  private isFollowing = false;

  constructor(private readonly store: Store, private readonly actions: Actions, private readonly session: FitSession) {
    effect(() => {
      if (store.record.value?.layout && store.busy.value === null) void untracked(() => this.follow());
      else store.fitting.stale.value = 0;
    });
  }

  /** Keep-clear zones, usable area and module places under the chosen rules. */
  async fit(): Promise<void> {
    await this.working('placing modules', async (hooks) => {
      const subject = this.subject(this.store.fitting.wishes.value);
      const made = this.madeNow(subject.wishes);
      const { keepClear, usable, layout } = await this.session.ask('fit', subject, {}, hooks);
      // Taking the answer in was work enough for one turn.
      await nextTurn();
      this.placed = { survey: this.store.surveyId.value, wishes: subject.wishes };
      this.book.enter(layout, made);
      this.store.fitting.module.value = null;
      this.actions.do('place modules', {
        kind: 'several',
        commands: [{ kind: 'set-part', part: 'keepClear', to: keepClear }, { kind: 'set-part', part: 'usable', to: usable }, { kind: 'set-part', part: 'layout', to: layout }],
      });
      this.actions.say('Local code and a licensed person decide about setbacks and fire access.', layout ? `${layout.count} modules.` : 'Usable area.');
    });
  }

  /** Shows shade on the roof; works it out first when it is not known for this roof and these wishes. */
  async showShade(shown: ShadeShown): Promise<void> {
    const { fitting, buildings, building } = this.store;
    fitting.shown.value = shown;
    fitting.playing.value = false;
    if (shown === 'none' || !buildings.value) return;
    const known = fitting.made.value;
    const asked = building.value === null ? buildings.value.map(({ id }) => id) : [building.value];
    const has = new Set(known?.picture.grids.map(({ plane }) => plane));
    const wanted = buildings.value.filter(({ id }) => asked.includes(id)).flatMap(({ roofPlanes }) => roofPlanes);
    const refused = [...this.store.refused.value].join(' ');
    if (known && known.buildings === buildings.value && known.refused === refused && known.wishes === fitting.wishes.value && wanted.every(({ id }) => has.has(id))) return;
    const of = { buildings: buildings.value, refused, wishes: fitting.wishes.value };
    const done = await this.working('working out shade', async (hooks) => {
      fitting.made.value = { ...of, picture: await this.session.ask('shade', this.subject(fitting.wishes.value), { buildings: asked }, hooks) };
    });
    if (!done) fitting.shown.value = 'none';
  }

  /** Takes a file of monthly irradiation; it is read when modules are placed next. */
  async openMonthly(file: File): Promise<void> {
    this.store.fitting.monthly.value = { name: file.name, text: await file.text() };
    this.actions.say('Place modules to use it.', `${file.name}:`);
  }

  /** Takes a file of a person's own rules, when it is one. */
  async openRules(file: File): Promise<void> {
    const text = await file.text();
    try {
      const { name, rules } = parseRules(text, file.name);
      this.store.fitting.ownRules.value = { name: file.name, text };
      this.actions.say(`${rules.length} rules of ${name}. Place modules to use them; local code and a licensed person decide.`, `${file.name}:`);
    } catch (error) {
      this.actions.fail(error);
    }
  }

  choose(id: string | null): void {
    batch(() => {
      this.store.fitting.module.value = id;
      this.store.fitting.hand.value = 'choose';
    });
    const module = this.store.record.value?.layout?.modules.find((one) => one.id === id);
    if (module) this.actions.say(`${module.solarAccess === null ? 'solar access not worked out' : `solar access ${Math.round(100 * module.solarAccess)} %`}. On the drawing arrows shift it by 10 cm, with Shift by 1 cm; Delete takes it away.`, `Module ${module.id}:`);
  }

  /** @param by  Along the surface, level and up the slope. [m] */
  async shift(by: readonly [number, number]): Promise<void> {
    const id = this.store.fitting.module.value;
    if (id !== null) await this.edit(`shift module ${id}`, { kind: 'move', id, by });
  }

  async remove(): Promise<void> {
    const id = this.store.fitting.module.value;
    if (id === null) return;
    await this.edit(`take module ${id} away`, { kind: 'remove', id });
    this.store.fitting.module.value = null;
  }

  startPlacing(): void {
    this.store.fitting.hand.value = 'place';
    this.actions.say('Click on a roof plane where its middle shall be, or on the drawing press Enter for the middle of the picture. Esc leaves it.', 'Place a module.');
  }

  sayNoPlane(): void {
    this.actions.say('There is no roof plane.', 'Not there.');
  }

  /** One more on the first free side of the chosen module. */
  async placeBeside(): Promise<void> {
    const { record, fitting } = this.store;
    const { usable, layout } = record.value ?? {};
    const chosen = layout?.modules.find(({ id }) => id === fitting.module.value);
    if (!usable || !layout || !chosen) return;
    const [a, b, , d] = chosen.corners as readonly [Vector3, Vector3, Vector3, Vector3];
    for (const [to, sign] of [[b, 1], [b, -1], [d, 1], [d, -1]] as const) {
      const side: Vector3 = [to[0] - a[0], to[1] - a[1], to[2] - a[2]];
      const size = Math.hypot(...side);
      // Two centimetres between them: the width of a clamp (common practice, no source).
      const by = (sign * (size + 0.02)) / size;
      const corners = chosen.corners.map((at): Vector3 => [at[0] + by * side[0], at[1] + by * side[1], at[2] + by * side[2]]);
      if (await this.edit('place a module', { kind: 'place', plane: chosen.plane, corners }, false)) return;
    }
    this.actions.say('No side of it is free.', 'Not there.');
  }

  /** A module with its middle at a place of a plane, lying as the others on that plane do. */
  async place(plane: RoofPlane, at: Vector3): Promise<void> {
    await this.edit('place a module', { kind: 'place', plane: plane.id, corners: this.cornersAt(plane, at) });
  }

  private cornersAt(plane: RoofPlane, at: Vector3): Vector3[] {
    const layout = this.store.record.value!.layout!;
    const { module } = this.store.fitting;
    const like = layout.modules.find(({ id, plane: of }) => id === module.value && of === plane.id) ?? layout.modules.find(({ plane: of }) => of === plane.id);
    if (like) {
      const [middle, foot] = [middleOf(like.corners), { ...plane }];
      const below = dropped(foot, middle);
      return like.corners.map((corner) => [0, 1, 2].map((axis) => corner[axis]! - below[axis]! + at[axis]!) as unknown as Vector3);
    }
    const { widthM, heightM } = layout.module ?? USUAL_MODULE;
    const [u, v] = toPlaneCoordinates(frameOf(plane), at);
    return moduleCorners(plane, [u - widthM / 2, v - heightM / 2], widthM, heightM);
  }

  /** @returns False when it cannot be; that is said, unless it is only a try. */
  private async edit(title: string, edit: LayoutEdit, saysWhy = true): Promise<boolean> {
    const { usable, layout } = this.store.record.value ?? {};
    if (!usable || !layout) return false;
    const { record } = this.store;
    const plane = edit.kind === 'place' ? edit.plane : layout.modules.find(({ id }) => id === edit.id)?.plane;
    const building = record.value!.buildings.find(({ roofPlanes }) => roofPlanes.some(({ id }) => id === plane))?.id;
    const summary = layout.buildings?.find(({ id }) => id === building);
    if (building === undefined || !summary) return false;
    const planes = planesOfBuilding(record.value!, building);
    const { assumptions: _, costs: __, changedSince: ___, ...rest } = layout;
    const own = { ...rest, modules: layout.modules.filter((one) => planes.has(one.plane)), buildings: [summary], count: summary.count, upperBound: summary.upperBound, ratedPowerKw: summary.ratedPowerKw, yearlyEnergyKwh: summary.yearlyEnergyKwh };
    try {
      const made = this.madeOf(layout);
      const asked = { building, usable: { ...usable, planes: usable.planes.filter(({ id }) => id === plane) }, layout: own, edit };
      const edited = await this.session.ask('edit', this.subject(made.wishes), asked);
      if (!edited.ok) {
        if (saysWhy) this.actions.say(`${edited.why[0]!.toUpperCase()}${edited.why.slice(1)}.`, 'Not there.');
        return false;
      }
      if (this.store.record.value?.layout !== layout) return false;
      // What a hand did stands, whatever else was being worked out.
      this.change({ ...made, first: [] }, () => this.actions.do(title, { kind: 'patch-fit', patch: edited.patch }));
      if (edit.kind === 'place') this.store.fitting.module.value = edited.patch.modules.at(-1)!.id;
      this.sayCount('');
      return true;
    } catch (error) {
      this.actions.fail(error);
      return false;
    }
  }

  /** Places modules again on roofs that changed since, as part of the step that changed them: at once, then with the light on them. */
  private async follow(): Promise<void> {
    const { store, actions } = this;
    const { layout, buildings } = store.record.peek()!;
    const made = this.madeOf(layout!);
    const stale = staleBuildings(store.record.peek()!, store.refused.peek(), made);
    const canFollow = made.wishes !== null && stale.length <= MOST_FOLLOWED;
    store.fitting.stale.value = canFollow ? 0 : stale.length;
    if (this.isFollowing || !canFollow || stale.length + made.first.length === 0) return;
    this.isFollowing = true;
    try {
      const { commands, now } = stale.length > 0 ? await this.firstAnswers(stale, made) : await this.wholeAnswers(made);
      // Something else may have happened meanwhile: then all is looked at again.
      if (store.record.peek()?.layout === layout && store.record.peek()?.buildings === buildings) {
        this.change(now, () => actions.doWithLast('place modules again', { kind: 'several', commands }));
        if (stale.length > 0) this.sayCount(`${store.history.peek()!.steps[store.history.peek()!.done - 1]!.title}. `);
      }
    } catch (error) {
      actions.fail(error);
      return;
    } finally {
      this.isFollowing = false;
    }
    if (store.record.peek()?.layout) await this.follow();
  }

  private async firstAnswers(stale: readonly StaleBuilding[], made: MadeFor): Promise<{ commands: SurveyCommand[]; now: MadeFor }> {
    const now = this.madeNow(made.wishes);
    const first: MadeFor['first'][number][] = [];
    const commands: SurveyCommand[] = [];
    for (const { id, gone } of stale) {
      const stands = gone === null ? null : buildingStands(this.store.record.peek()!, id);
      const { patch, isWhole } = await this.session.ask('refit', this.subject(made.wishes), { building: id, gone, stands, isFirst: true });
      commands.push({ kind: 'patch-fit', patch });
      if (!isWhole && stands) first.push({ id, gone, stands });
    }
    return { commands, now: { ...now, first } };
  }

  private async wholeAnswers(made: MadeFor): Promise<{ commands: SurveyCommand[]; now: MadeFor }> {
    const commands: SurveyCommand[] = [];
    for (const { id, gone, stands } of made.first) {
      const { patch } = await this.session.ask('refit', this.subject(made.wishes), { building: id, gone, stands, isFirst: false });
      commands.push({ kind: 'patch-fit', patch });
    }
    return { commands, now: { ...made, first: [] } };
  }

  /** Makes a change that yields a new layout, and remembers what that was made for before anything looks at it. */
  private change(made: MadeFor, make: () => void): void {
    batch(() => {
      make();
      this.book.enter(this.store.record.value?.layout, made);
    });
  }

  private sayCount(before: string): void {
    const layout = this.store.record.value!.layout!;
    this.actions.say(`${before}${layout.count} modules, ${layout.ratedPowerKw.toFixed(1)} kW rated. Undo brings it back.`);
  }

  private madeNow(wishes: FitWishes | null): MadeFor {
    return { buildings: this.store.record.peek()!.buildings, refused: this.store.refused.peek(), wishes, first: [] };
  }

  /** A layout met for the first time is taken for one of the roof as it is; one that was done again, for one by the wishes of before. */
  private madeOf(layout: ModuleLayout): MadeFor {
    const made = this.book.of(layout) ?? this.madeNow(this.placed?.survey === this.store.surveyId.peek() ? this.placed!.wishes : null);
    this.book.enter(layout, made);
    return made;
  }

  /** @param wishes  Null: as the form stands. */
  private subject(wishes: FitWishes | null): FitSubject {
    const { record, points, fitting } = this.store;
    return { record: record.value!, wishes: wishes ?? fitting.wishes.value, cloud: points.value?.cloud ?? null };
  }

  /** @returns False when it was stopped or failed; that was said. */
  private async working(stage: string, work: (hooks: FitHooks) => Promise<void>): Promise<boolean> {
    const { busy, record } = this.store;
    if (!record.value) return false;
    const stop = new AbortController();
    const show = (fraction: number): void => void (busy.value = { stage, fraction, cancel: () => stop.abort() });
    show(0);
    try {
      await work({ signal: stop.signal, onProgress: show });
      return true;
    } catch (error) {
      this.actions.fail(error);
      return false;
    } finally {
      busy.value = null;
    }
  }
}

function middleOf(corners: readonly Vector3[]): Vector3 {
  const sum = corners.reduce((total, at) => [total[0]! + at[0], total[1]! + at[1], total[2]! + at[2]], [0, 0, 0]);
  return [sum[0]! / corners.length, sum[1]! / corners.length, sum[2]! / corners.length];
}

/** Foot of a place on a plane, along the plane's normal. */
function dropped({ normal, offset }: RoofPlane, at: Vector3): Vector3 {
  const above = normal[0] * at[0] + normal[1] * at[1] + normal[2] * at[2] + offset;
  return [at[0] - above * normal[0], at[1] - above * normal[1], at[2] - above * normal[2]];
}
