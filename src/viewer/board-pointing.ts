import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { snapAt, type Snap } from '../survey/measure/snap.ts';
import type { BoardEvents, BoardState } from './board-state.ts';
import { boxBetween, type ClipBox } from './clip-box.ts';
import { moduleUnder } from './pick-module.ts';
import { partAt } from './pick-part.ts';
import { needsNoHeight, nudged, placeInSight, type Offset } from './nudge.ts';
import type { PickIndex } from './pick-index.ts';
import { pickPoint, pointsAbout } from './pick-point.ts';
import { placesAsked } from './places-asked.ts';
import { project, rayAt, unproject, type Projection } from './projection.ts';
import type { CutPiece, SectionLine } from './section-cut.ts';
import { defaultThickness } from './section-start.ts';
import { sectionTargets } from './section-targets.ts';

/** A second tap this near means the same place. [px] */
const TAP_AGAIN = 28;
/** A section line or a box is at least this long. [m] */
const SHORTEST_M = 0.2;

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
  /** How far keys moved the place that would be taken. [m] */
  private offset: Offset = [0, 0];
  /** First end of a section line, or first corner of a clip box. */
  private placeStart: Vector2 | null = null;
  private isDragging = false;

  /** @param ground  Read at every move. @param changed  What follows the pointer must be drawn anew. */
  constructor(private readonly ground: () => PointingGround, private readonly events: BoardEvents, private readonly changed: () => void) {}

  /** Another tool was taken up. */
  startOver(): void {
    this.snap = null;
    this.offset = [0, 0];
    this.placeStart = null;
  }

  hover(x: number, y: number, free: boolean): void {
    this.cursor = { x, y };
    this.offset = [0, 0];
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
    if (byFinger && measuring && !isPlaced(measuring.tool) && !shown) return this.hover(x, y, free);
    if (this.cursor?.x !== x || this.cursor.y !== y) this.offset = [0, 0];
    this.cursor = { x, y };
    if (measuring && isPlaced(measuring.tool)) return this.tapPlace(x, y);
    if (measuring) {
      this.snap = this.snapUnder(x, y, free);
      this.offset = [0, 0];
      if (this.snap) this.events.onTake(this.snap);
    } else if (scene) {
      const ray = rayAt(view, x, y);
      const module = moduleUnder(state.fitting?.modules ?? [], view, x, y);
      if (!state.fitting || !this.events.onFitting(module, ray)) this.events.onPart(partAt(scene, ray));
    }
    this.changed();
  }

  /** Takes what the pointer was last moved to by keys. @returns False when there is no such place. */
  tapAtCursor(free: boolean): boolean {
    if (!this.cursor) return false;
    this.tap(this.cursor.x, this.cursor.y, free);
    return true;
  }

  /** Moves what would be taken across the picture. [m] */
  nudge([dx, dy]: readonly [number, number], metres: number): void {
    if (!this.cursor) return this.leap([0, 0], 0);
    this.offset = [this.offset[0] + dx * metres, this.offset[1] - dy * metres];
    this.point(this.cursor.x, this.cursor.y, false);
  }

  /** Points at the next place in sight that the tool at hand asks for. */
  stepToPlace(by: 1 | -1): void {
    const { state, view, cut } = this.ground();
    const targets = state.name === 'section' ? sectionTargets(cut) : state.targets;
    const place = placeInSight(targets && state.measuring ? placesAsked(state.measuring, targets) : [], view, this.cursor, by);
    if (place) this.hover(place.x, place.y, false);
  }

  /** Moves the pointer itself. [px] */
  leap([dx, dy]: readonly [number, number], pixels: number): void {
    const { width, height } = this.ground().view;
    const from = this.cursor ?? { x: width / 2, y: height / 2 };
    this.cursor = { x: Math.min(width, Math.max(0, from.x + dx * pixels)), y: Math.min(height, Math.max(0, from.y + dy * pixels)) };
    this.offset = [0, 0];
    this.point(this.cursor.x, this.cursor.y, false);
    this.changed();
  }

  /** The measured point under a pixel; null where none was measured. */
  pointUnder(x: number, y: number): Vector3 | null {
    const { points, state, view } = this.ground();
    if (!points) return null;
    const { spacingM, noiseM, name, sectionLine } = state;
    const bin = Math.max(4 * noiseM, spacingM);
    return pickPoint(points, rayAt(view, x, y), bin, name === 'section' && sectionLine ? sectionLine.thicknessM : null, state.clip);
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
    const to = this.runningPlace('section');
    return to && { from: this.placeStart!, to, thicknessM: 0 };
  }

  /** The clip box that is being drawn, from its first corner to the pointer. */
  runningBox(heights: ClipBox): ClipBox | null {
    const to = this.runningPlace('clip');
    return to && boxBetween(this.placeStart!, to, heights);
  }

  /** A clip box may be drawn in one stroke as well as by two taps. @returns Whether the drag is one. */
  dragPlace(dx: number, dy: number): boolean {
    const { state, view } = this.ground();
    if (state.measuring?.tool !== 'clip' || !this.cursor) return false;
    if (!this.placeStart) {
      const at = unproject(view, this.cursor.x, this.cursor.y);
      this.placeStart = [at[0], at[1]];
      this.isDragging = true;
    }
    this.cursor = { x: this.cursor.x + dx, y: this.cursor.y + dy };
    this.changed();
    return true;
  }

  /** Fingers and buttons are lifted. */
  rest(): void {
    if (this.isDragging && this.cursor) this.tapPlace(this.cursor.x, this.cursor.y);
    this.isDragging = false;
  }

  private runningPlace(tool: 'section' | 'clip'): Vector2 | null {
    const { state, view } = this.ground();
    if (state.measuring?.tool !== tool || !this.placeStart || !this.cursor) return null;
    const at = unproject(view, this.cursor.x, this.cursor.y);
    return [at[0], at[1]];
  }

  private point(x: number, y: number, free: boolean): void {
    const { state, view } = this.ground();
    const ray = rayAt(view, x, y);
    if (state.measuring && !isPlaced(state.measuring.tool)) {
      this.snap = this.snapUnder(x, y, free);
      this.events.onPointed({ snap: this.snap, part: null, offMm: (this.snap?.pixels ?? 0) * ray.metresPerPixel * 1000 });
      this.changed();
    } else {
      const part = state.scene && !state.measuring ? partAt(state.scene, ray) : null;
      this.events.onPointed({ snap: null, part, offMm: 0 });
      if (state.measuring) this.changed();
    }
  }

  private snapUnder(x: number, y: number, free: boolean): Snap | null {
    const { state, view } = this.ground();
    const snap = this.bareSnapUnder(x, y, free) ?? (state.name === 'plan' && needsNoHeight(state.measuring?.tool) ? placeSnap(unproject(view, x, y)) : null);
    return snap && nudged(snap, view, this.offset, state.targets);
  }

  private bareSnapUnder(x: number, y: number, free: boolean): Snap | null {
    const { state, view, cut } = this.ground();
    const { targets, spacingM, noiseM, name, measuring } = state;
    if (measuring?.tool === 'region') return placeSnap(unproject(view, x, y));
    const point = this.pointUnder(x, y);
    const all = name === 'section' ? sectionTargets(cut) : (targets ?? { corners: [], edges: [], planes: [] });
    // A corner that is being moved must not catch the pointer again.
    const moved = measuring?.tool === 'move-corner' ? measuring.picks[0] : undefined;
    const usable = moved ? { ...all, corners: all.corners.filter(({ at }) => at !== moved.at) } : all;
    return snapAt(rayAt(view, x, y), usable, { snapping: !free, previous: this.snap, point, spacingM, noiseM });
  }

  private tapPlace(x: number, y: number): void {
    const { state, view } = this.ground();
    const at = unproject(view, x, y);
    const place: Vector2 = [at[0], at[1]];
    const from = this.placeStart;
    if (!from) {
      this.placeStart = place;
      return this.changed();
    }
    if (Math.hypot(place[0] - from[0], place[1] - from[1]) < SHORTEST_M) return;
    this.placeStart = null;
    if (state.measuring?.tool === 'clip') this.events.onBox(from, place);
    else this.events.onSection({ from, to: place, thicknessM: state.sectionLine?.thicknessM ?? defaultThickness(state.spacingM) });
  }
}

/** Tools that take places on the paper, and not what lies there. */
const isPlaced = (tool: string): boolean => tool === 'section' || tool === 'clip';

/** A place on the paper as such, on nothing. */
const placeSnap = (at: Vector3): Snap => ({ pick: { at, landedOn: 'typed', of: null, sigmaM: [0, 0, 0] }, name: 'this place', key: 'place', pixels: 0 });
