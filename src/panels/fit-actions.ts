import { batch } from '@preact/signals';
import type { Vector3 } from '../geometry/vector.ts';
import { frameOf, moduleCorners, type LayoutEdit } from '../layout/edit-layout.ts';
import { USUAL_MODULE } from '../layout/module-spec.ts';
import { toPlaneCoordinates } from '../geometry/plane-coordinates.ts';
import type { RoofPlane } from '../roof/record.ts';
import type { FitHooks, FitSession, FitSubject } from '../survey/fit-session.ts';
import type { Actions } from './actions.ts';
import type { ShadeShown } from './fit-state.ts';
import type { Store } from './store.ts';

/** Answers question 6: modules and shade in other threads, changes by hand at once. */
export class FitActions {
  constructor(private readonly store: Store, private readonly actions: Actions, private readonly session: FitSession) {}

  /** Keep-clear zones, usable area and module places under the chosen rules. */
  async fit(): Promise<void> {
    await this.working('placing modules', async (hooks) => {
      const { keepClear, usable, layout } = await this.session.ask('fit', this.subject(), {}, hooks);
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
    if (known && known.buildings === buildings.value && known.wishes === fitting.wishes.value && wanted.every(({ id }) => has.has(id))) return;
    const of = { buildings: buildings.value, wishes: fitting.wishes.value };
    const done = await this.working('working out shade', async (hooks) => {
      fitting.made.value = { ...of, picture: await this.session.ask('shade', this.subject(), { buildings: asked }, hooks) };
    });
    if (!done) fitting.shown.value = 'none';
  }

  /** Takes a file of monthly irradiation; it is read when modules are placed next. */
  async openMonthly(file: File): Promise<void> {
    this.store.fitting.monthly.value = { name: file.name, text: await file.text() };
    this.actions.say('Place modules to use it.', `${file.name}:`);
  }

  choose(id: string | null): void {
    batch(() => {
      this.store.fitting.module.value = id;
      this.store.fitting.hand.value = 'choose';
    });
    const module = this.store.record.value?.layout?.modules.find((one) => one.id === id);
    if (module) this.actions.say(`${module.solarAccess === null ? 'solar access not worked out' : `solar access ${Math.round(100 * module.solarAccess)} %`}. Arrows shift it, Delete takes it away.`, `Module ${module.id}:`);
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
    this.actions.say('Click on a roof plane where its middle shall be. Esc leaves it.', 'Place a module.');
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
    try {
      const edited = await this.session.ask('edit', this.subject(), { usable, layout, edit });
      if (!edited.ok) {
        if (saysWhy) this.actions.say(`${edited.why[0]!.toUpperCase()}${edited.why.slice(1)}.`, 'Not there.');
        return false;
      }
      this.actions.do(title, { kind: 'set-part', part: 'layout', to: edited.layout });
      if (edit.kind === 'place') this.store.fitting.module.value = edited.layout.modules.at(-1)!.id;
      this.actions.say(`${edited.layout.count} modules, ${edited.layout.ratedPowerKw.toFixed(1)} kW rated. Undo brings it back.`);
      return true;
    } catch (error) {
      this.actions.fail(error);
      return false;
    }
  }

  private subject(): FitSubject {
    const { record, points, fitting } = this.store;
    return { record: record.value!, wishes: fitting.wishes.value, cloud: points.value?.cloud ?? null };
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
