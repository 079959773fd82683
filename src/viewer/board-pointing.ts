import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { snapAt, type Snap } from '../survey/measure/snap.ts';
import type { BoardEvents, BoardState } from './board-state.ts';
import { partAt } from './pick-part.ts';
import type { PickIndex } from './pick-index.ts';
import { pickPoint, pointsAbout } from './pick-point.ts';
import { project, rayAt, unproject, type Projection } from './projection.ts';
import type { CutPiece, SectionLine } from './section-cut.ts';
import { defaultThickness } from './section-start.ts';
import { sectionTargets } from './section-targets.ts';

/** A second tap this near means the same place. [px] */
const TAP_AGAIN = 28;

/** What there is to point at, as it stands now. */
export interface PointingGround {
  readonly state: BoardState;
  readonly view: Projection;
  readonly points: PickIndex | null;
  readonly cut: readonly CutPiece[];
}

/** What the pointer, a finger or the arrow keys point at, and what a tap there takes. */
export class Pointing {
  snap: Snap | null = null;
  private cursor: { x: number; y: number } | null = null;
  private sectionStart: Vector2 | null = null;

  /** @param ground  Read at every move. @param changed  What follows the pointer must be drawn anew. */
  constructor(private readonly ground: () => PointingGround, private readonly events: BoardEvents, private readonly changed: () => void) {}

  /** Another tool was taken up. */
  startOver(): void {
    this.snap = null;
    this.sectionStart = null;
  }

  hover(x: number, y: number, free: boolean): void {
    this.cursor = { x, y };
    this.point(x, y, free);
  }

  leave(): void {
    this.cursor = null;
    this.snap = null;
    this.events.onPointed({ snap: null, part: null, offMm: 0 });
    this.changed();
  }

  tap(x: number, y: number, free: boolean, byFinger = false): void {
    const { state, view } = this.ground();
    const { measuring, scene } = state;
    // A finger hides what it points at: its first tap shows what would be taken, a second one there takes it.
    const shown = this.snap && this.cursor && Math.hypot(this.cursor.x - x, this.cursor.y - y) < TAP_AGAIN;
    if (byFinger && measuring && measuring.tool !== 'section' && !shown) return this.hover(x, y, free);
    this.cursor = { x, y };
    if (measuring?.tool === 'section') return this.tapSection(x, y);
    if (measuring) {
      this.snap = this.snapUnder(x, y, free);
      if (this.snap) this.events.onTake(this.snap);
    } else if (scene) {
      this.events.onPart(partAt(scene, rayAt(view, x, y)));
    }
    this.changed();
  }

  /** Takes what the pointer was last moved to by keys. @returns False when there is no such place. */
  tapAtCursor(free: boolean): boolean {
    if (!this.cursor) return false;
    this.tap(this.cursor.x, this.cursor.y, free);
    return true;
  }

  nudge([dx, dy]: readonly [number, number], pixels: number): void {
    const { width, height } = this.ground().view;
    const from = this.cursor ?? { x: width / 2, y: height / 2 };
    this.cursor = { x: Math.min(width, Math.max(0, from.x + dx * pixels)), y: Math.min(height, Math.max(0, from.y + dy * pixels)) };
    this.point(this.cursor.x, this.cursor.y, false);
    this.changed();
  }

  /** The measured point under a pixel; null where none was measured. */
  pointUnder(x: number, y: number): Vector3 | null {
    const { points, state, view } = this.ground();
    if (!points) return null;
    const { spacingM, noiseM, name, sectionLine } = state;
    const bin = Math.max(4 * noiseM, spacingM);
    return pickPoint(points, rayAt(view, x, y), bin, name === 'section' && sectionLine ? sectionLine.thicknessM : null);
  }

  /** Points the detail circle shows: within its radius at its scale, and not far behind. */
  detail(): readonly Vector3[] {
    const { points, view, state } = this.ground();
    if (!points || !this.snap || !state.measuring) return [];
    const { at } = this.snap.pick;
    const [x, y] = project(view, at);
    return pointsAbout(points, { ...rayAt(view, x, y), origin: at }, 14, view.height / view.pixelsPerMetre / 8, 400);
  }

  /** The section line that is being drawn, from its first end to the pointer. */
  runningSection(): SectionLine | null {
    const { state, view } = this.ground();
    if (state.measuring?.tool !== 'section' || !this.sectionStart || !this.cursor) return null;
    const at = unproject(view, this.cursor.x, this.cursor.y);
    return { from: this.sectionStart, to: [at[0], at[1]], thicknessM: 0 };
  }

  private point(x: number, y: number, free: boolean): void {
    const { state, view } = this.ground();
    const ray = rayAt(view, x, y);
    if (state.measuring && state.measuring.tool !== 'section') {
      this.snap = this.snapUnder(x, y, free);
      this.events.onPointed({ snap: this.snap, part: null, offMm: (this.snap?.pixels ?? 0) * ray.metresPerPixel * 1000 });
      this.changed();
    } else {
      const part = state.scene && !state.measuring ? partAt(state.scene, ray) : null;
      this.events.onPointed({ snap: null, part, offMm: 0 });
      if (state.measuring?.tool === 'section') this.changed();
    }
  }

  private snapUnder(x: number, y: number, free: boolean): Snap | null {
    const { state, view, cut } = this.ground();
    const { targets, spacingM, noiseM, name, measuring } = state;
    if (measuring?.tool === 'region') return placeSnap(unproject(view, x, y));
    const point = this.pointUnder(x, y);
    const all = name === 'section' ? sectionTargets(cut) : (targets ?? { corners: [], edges: [], planes: [] });
    // A corner that is being moved must not catch the pointer again.
    const moved = measuring?.tool === 'corner' ? measuring.picks[0] : undefined;
    const usable = moved ? { ...all, corners: all.corners.filter(({ at }) => at !== moved.at) } : all;
    return snapAt(rayAt(view, x, y), usable, { snapping: !free, previous: this.snap, point, spacingM, noiseM });
  }

  private tapSection(x: number, y: number): void {
    const { state, view } = this.ground();
    const at = unproject(view, x, y);
    const place: Vector2 = [at[0], at[1]];
    if (!this.sectionStart) {
      this.sectionStart = place;
      return this.changed();
    }
    const from = this.sectionStart;
    if (Math.hypot(place[0] - from[0], place[1] - from[1]) < 0.2) return;
    this.sectionStart = null;
    this.events.onSection({ from, to: place, thicknessM: state.sectionLine?.thicknessM ?? defaultThickness(state.spacingM) });
  }
}

/** A place on the paper as such, on nothing. */
const placeSnap = (at: Vector3): Snap => ({ pick: { at, landedOn: 'typed', of: null, sigmaM: [0, 0, 0] }, name: 'this place', key: 'place', pixels: 0 });
