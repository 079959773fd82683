import type { Cloud } from '../cloud/cloud.ts';
import type { Vector2, Vector3 } from '../geometry/vector.ts';
import { snapAt, type Snap } from '../survey/measure/snap.ts';
import type { BoardEvents, BoardState } from './board-state.ts';
import { listen } from './board-input.ts';
import { FrameBudget } from './frame-budget.ts';
import { HiddenLines } from './hidden-lines.ts';
import { drawInk, drawOverlay } from './ink/draw-ink.ts';
import type { InkFrame } from './ink/frame.ts';
import { readPaper, type Paper } from './paper.ts';
import { partAt } from './pick-part.ts';
import { pickPoint, pointsAbout } from './pick-point.ts';
import { penOf, prepareCanvas } from './prepare-canvas.ts';
import type { LabelledPlane } from './point-layer.ts';
import type { PointMode } from './point-shader.ts';
import { panBy, project, rayAt, unproject, zoomAt, type Bounds, type Projection } from './projection.ts';
import type { RoofScene } from './scene.ts';
import { cutScene, type CutPiece, type SectionLine } from './section-cut.ts';
import { sectionTargets } from './section-targets.ts';
import { defaultThickness, sectionAcross } from './section-start.ts';
import { Stage } from './stage.ts';
import { ViewBook, type ViewSetting } from './view-book.ts';

/** A view that has not moved for this long is at rest, and is drawn with all its points. */
const SETTLE_MS = 140;
/** A second tap this near means the same place. [px] */
const TAP_AGAIN = 28;

/** The drawing: points and surfaces below, ink above, and what pointer and keys do to it. Draws only when something changed. */
export class DrawingBoard {
  private readonly stage: Stage | null;
  private readonly ink: CanvasRenderingContext2D;
  private readonly overlay: CanvasRenderingContext2D;
  private readonly stopListening: () => void;
  private readonly resizing: ResizeObserver;
  private readonly views: ViewBook;
  private paper: Paper;
  private cloud: Cloud | null = null;
  private cut: readonly CutPiece[] = [];
  private hidden: { readonly key: string; readonly scene: RoofScene; readonly lines: HiddenLines } | null = null;
  private snap: Snap | null = null;
  private cursor: { x: number; y: number } | null = null;
  private sectionStart: Vector2 | null = null;
  private frameAsked = 0;
  private onlyOverlay = true;
  private settleTimer = 0;
  private movingUntil = 0;
  private toldScale = 0;
  private readonly budget = new FrameBudget();
  /** Frames so far and points in the last one; they stand on the element with the view, for tests and for the curious. */
  private pointsDrawn = 0;
  private framesDrawn = 0;

  constructor(private readonly host: HTMLElement, stageCanvas: HTMLCanvasElement, private readonly inkCanvas: HTMLCanvasElement, private readonly overlayCanvas: HTMLCanvasElement, private state: BoardState, private readonly events: BoardEvents) {
    this.views = new ViewBook(() => host.getBoundingClientRect());
    this.stage = startStage(stageCanvas);
    this.ink = penOf(inkCanvas);
    this.overlay = penOf(overlayCanvas);
    this.paper = readPaper(host);
    this.stopListening = listen(host, {
      hover: (x, y, free) => this.hover(x, y, free),
      leave: () => this.leave(),
      tap: (x, y, free, byFinger) => this.tap(x, y, free, byFinger),
      doubleTap: (x, y) => this.centreOn(x, y),
      drag: (dx, dy) => this.drag(dx, dy),
      slide: (dx, dy) => this.move(panBy(this.view, dx, dy)),
      zoom: (factor, x, y) => this.move(zoomAt(this.view, factor, x, y)),
      rest: () => this.invalidate(),
      key: (event) => this.key(event),
    });
    this.resizing = new ResizeObserver(() => this.resize());
    this.resizing.observe(host);
  }

  get hasStage(): boolean {
    return this.stage !== null;
  }

  dispose(): void {
    this.stopListening();
    this.resizing.disconnect();
    cancelAnimationFrame(this.frameAsked);
    clearTimeout(this.settleTimer);
    this.stage?.dispose();
  }

  setState(state: BoardState): void {
    const before = this.state;
    this.state = state;
    const sceneChanged = before.scene !== state.scene;
    if (sceneChanged) this.stage?.surfaces.setScene(state.scene);
    if (sceneChanged || before.sectionLine !== state.sectionLine) {
      this.cut = state.scene && state.sectionLine ? cutScene(state.scene, state.sectionLine) : [];
    }
    if (before.sectionLine !== state.sectionLine) this.views.forget('section');
    if (before.gridToTrueDeg !== state.gridToTrueDeg) this.views.forget('plan');
    if (sceneChanged && !before.scene?.bounds && state.scene?.bounds) this.views.forget();
    if (before.measuring?.tool !== state.measuring?.tool) {
      this.snap = null;
      this.sectionStart = null;
    }
    this.invalidate();
  }

  setCloud(cloud: Cloud | null, labels: readonly Uint16Array[] | null, planes: readonly (LabelledPlane | null)[], noiseM: number): void {
    if (!this.cloud && cloud) this.views.forget();
    this.cloud = cloud;
    this.stage?.points.setCloud(cloud, labels, planes, noiseM);
    this.invalidate();
  }

  /** The style sheet's tokens changed: another paper, or larger text. */
  paperChanged(): void {
    this.paper = readPaper(this.host);
    this.invalidate();
  }

  /** Fills the picture with the shown building, or the site. */
  fit(): void {
    const bounds = this.bounds();
    if (bounds) this.move(this.views.whole(this.setting(), bounds));
  }

  turnElevation(byDeg: number): void {
    this.views.turnElevation(byDeg);
    this.invalidate();
  }

  get elevationFrom(): number {
    return this.views.elevationFrom;
  }

  /** The picture as it stands, for anything that must agree with it. */
  get view(): Projection {
    return this.views.view(this.setting());
  }

  private setting(): ViewSetting {
    const { name, gridToTrueDeg, sectionLine, compact } = this.state;
    return { name, gridToTrueDeg, section: sectionLine, compact, bounds: this.bounds() };
  }

  private bounds(): Bounds | null {
    const { scene, building } = this.state;
    const chosen = scene?.buildings.find(({ id }) => id === building);
    return chosen?.bounds ?? scene?.bounds ?? this.cloud?.bounds ?? null;
  }

  private resize(): void {
    this.views.resize();
    this.invalidate();
  }

  private move(view: Projection): void {
    this.views.set(this.state.name, view);
    this.movingUntil = performance.now() + SETTLE_MS;
    this.invalidate();
  }

  private drag(dx: number, dy: number): void {
    if (this.state.name !== 'free') return this.move(panBy(this.view, dx, dy));
    this.move(this.views.orbit(this.setting(), dx, dy));
  }

  private centreOn(x: number, y: number): void {
    if (this.state.measuring) return;
    const point = this.pointUnder(x, y) ?? unproject(this.view, x, y);
    this.move({ ...zoomAt(this.view, 1.6, x, y), centre: point });
  }

  private hover(x: number, y: number, free: boolean): void {
    this.cursor = { x, y };
    this.point(x, y, free);
  }

  private leave(): void {
    this.cursor = null;
    this.snap = null;
    this.events.onPointed({ snap: null, part: null, offMm: 0 });
    this.invalidate(true);
  }

  private point(x: number, y: number, free: boolean): void {
    const ray = rayAt(this.view, x, y);
    if (this.state.measuring && this.state.measuring.tool !== 'section') {
      this.snap = this.snapUnder(x, y, free);
      this.events.onPointed({ snap: this.snap, part: null, offMm: (this.snap?.pixels ?? 0) * ray.metresPerPixel * 1000 });
      this.invalidate(true);
    } else {
      const part = this.state.scene && !this.state.measuring ? partAt(this.state.scene, ray) : null;
      this.events.onPointed({ snap: null, part, offMm: 0 });
      if (this.state.measuring?.tool === 'section') this.invalidate(true);
    }
  }

  private snapUnder(x: number, y: number, free: boolean): Snap | null {
    const { targets, spacingM, noiseM, name } = this.state;
    if (this.state.measuring?.tool === 'region') return placeSnap(unproject(this.view, x, y));
    const sectioned = name === 'section';
    const point = this.pointUnder(x, y);
    const all = sectioned ? sectionTargets(this.cut) : (targets ?? { corners: [], edges: [], planes: [] });
    // A corner that is being moved must not catch the pointer again.
    const moved = this.state.measuring?.tool === 'corner' ? this.state.measuring.picks[0] : undefined;
    const usable = moved ? { ...all, corners: all.corners.filter(({ at }) => at !== moved.at) } : all;
    return snapAt(rayAt(this.view, x, y), usable, { snapping: !free, previous: this.snap, point, spacingM, noiseM });
  }

  private pointUnder(x: number, y: number): Vector3 | null {
    if (!this.cloud) return null;
    const { spacingM, noiseM, name, sectionLine } = this.state;
    const bin = Math.max(4 * noiseM, spacingM);
    return pickPoint(this.cloud, rayAt(this.view, x, y), bin, name === 'section' && sectionLine ? sectionLine.thicknessM : null);
  }

  private tap(x: number, y: number, free: boolean, byFinger = false): void {
    // A finger hides what it points at: its first tap shows what would be taken, a second one there takes it.
    const shown = this.snap && this.cursor && Math.hypot(this.cursor.x - x, this.cursor.y - y) < TAP_AGAIN;
    if (byFinger && this.state.measuring && this.state.measuring.tool !== 'section' && !shown) return this.hover(x, y, free);
    this.cursor = { x, y };
    const { measuring, scene } = this.state;
    if (measuring?.tool === 'section') return this.tapSection(x, y);
    if (measuring) {
      this.snap = this.snapUnder(x, y, free);
      if (this.snap) this.events.onTake(this.snap);
    } else if (scene) {
      this.events.onPart(partAt(scene, rayAt(this.view, x, y)));
    }
    this.invalidate(true);
  }

  private tapSection(x: number, y: number): void {
    const at = unproject(this.view, x, y);
    const place: Vector2 = [at[0], at[1]];
    if (!this.sectionStart) {
      this.sectionStart = place;
      return this.invalidate(true);
    }
    const from = this.sectionStart;
    if (Math.hypot(place[0] - from[0], place[1] - from[1]) < 0.2) return;
    this.sectionStart = null;
    this.events.onSection({ from, to: place, thicknessM: this.state.sectionLine?.thicknessM ?? defaultThickness(this.state.spacingM) });
  }

  private key(event: KeyboardEvent): void {
    const arrows: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const arrow = arrows[event.key];
    const { width, height } = this.view;
    if (arrow && this.state.measuring) this.nudgeCursor(arrow, event.shiftKey ? 1 : 8);
    else if (arrow && this.state.name === 'free') this.drag(arrow[0] * 16, arrow[1] * 16);
    else if (arrow && this.state.name === 'elevation' && arrow[0] !== 0 && event.shiftKey) this.turnElevation(arrow[0] * 90);
    else if (arrow) this.move(panBy(this.view, -arrow[0] * 48, -arrow[1] * 48));
    else if (event.key === '+' || event.key === '=') this.move(zoomAt(this.view, 1.25, width / 2, height / 2));
    else if (event.key === '-') this.move(zoomAt(this.view, 0.8, width / 2, height / 2));
    else if (event.key === '0') this.fit();
    else if (event.key === 'Enter' && this.state.measuring && this.cursor) this.tap(this.cursor.x, this.cursor.y, event.shiftKey);
    else return this.events.onKey(event);
    event.preventDefault();
    event.stopPropagation();
  }

  private nudgeCursor([dx, dy]: [number, number], pixels: number): void {
    const { width, height } = this.view;
    const from = this.cursor ?? { x: width / 2, y: height / 2 };
    this.cursor = { x: Math.min(width, Math.max(0, from.x + dx * pixels)), y: Math.min(height, Math.max(0, from.y + dy * pixels)) };
    this.point(this.cursor.x, this.cursor.y, false);
    this.invalidate(true);
  }

  /** @param overlayOnly  Only what follows the pointer changed. */
  private invalidate(overlayOnly = false): void {
    this.onlyOverlay &&= overlayOnly;
    if (this.frameAsked) return;
    this.frameAsked = requestAnimationFrame((now) => {
      this.frameAsked = 0;
      const whole = !this.onlyOverlay;
      this.onlyOverlay = true;
      if (whole) this.draw(now);
      else this.drawOverlay();
    });
  }

  private draw(now: number): void {
    const view = this.view;
    if (view.width <= 1 || view.height <= 1) return;
    const moving = now < this.movingUntil;
    if (view.pixelsPerMetre !== this.toldScale) this.events.onScale((this.toldScale = view.pixelsPerMetre));
    const { layers, pointMode, name, sectionLine } = this.state;
    const strip = name === 'section' ? sectionLine : null;
    const painted = this.stage?.draw(
      view,
      { points: layers.points, surfaces: layers.surfaces && name !== 'section', mode: pointMode, sizePx: this.pointSize(view, pointMode), strip },
      this.paper,
      this.budget.next(now, moving),
    );
    this.pointsDrawn = painted?.drawn ?? 0;
    this.drawInkOver(view, moving);
    this.framesDrawn++;
    this.host.dataset['frames'] = String(this.framesDrawn);
    this.host.dataset['points'] = String(this.pointsDrawn);
    this.host.dataset['view'] = JSON.stringify(view);
    // The graphics card takes a large cloud piece by piece, a frame each.
    if (painted?.more) this.invalidate();
    if (moving) {
      clearTimeout(this.settleTimer);
      this.settleTimer = window.setTimeout(() => this.invalidate(), SETTLE_MS + 20);
    }
  }

  /** As large as the points stand apart, within limits: a near roof closes up, a far one stays a fine stipple. */
  private pointSize(view: Projection, mode: PointMode): number {
    const apart = this.state.spacingM * view.pixelsPerMetre;
    if (mode === 'ink') return Math.min(1.9, Math.max(1.1, apart * 0.18));
    // A section shows a line of points, not a surface.
    return Math.min(this.state.name === 'section' ? 3 : 14, Math.max(1.4, apart * 0.95));
  }

  private drawInkOver(view: Projection, moving: boolean): void {
    const frame = this.frame(view, moving);
    prepareCanvas(this.inkCanvas, this.ink, view);
    drawInk(this.ink, frame, this.paper, this.state.names);
    prepareCanvas(this.overlayCanvas, this.overlay, view);
    drawOverlay(this.overlay, frame, this.paper);
  }

  private drawOverlay(): void {
    const view = this.view;
    prepareCanvas(this.overlayCanvas, this.overlay, view);
    drawOverlay(this.overlay, this.frame(view, false), this.paper);
  }

  private frame(view: Projection, moving: boolean): InkFrame {
    const { measuring, sectionLine, ...state } = this.state;
    const running = measuring?.tool === 'section' && this.sectionStart && this.cursor ? this.runningSection(view) : null;
    return {
      ...state,
      view,
      measuring,
      snap: this.snap,
      detail: this.snap && measuring ? this.pointsAtSnap(view, this.snap) : [],
      pointColours: this.pointColours(),
      hidden: this.hiddenLines(view, moving),
      sectionLine: running ?? sectionLine,
      cut: this.cut,
      blank: !this.cloud && !this.state.scene,
    };
  }

  /** Points the detail circle shows: within its radius at its scale, and not far behind. */
  private pointsAtSnap(view: Projection, { pick }: Snap): readonly Vector3[] {
    if (!this.cloud) return [];
    const [x, y] = project(view, pick.at);
    const ray = { ...rayAt(view, x, y), origin: pick.at };
    return pointsAbout(this.cloud, ray, 14, view.height / view.pixelsPerMetre / 8, 400);
  }

  private pointColours(): InkFrame['pointColours'] {
    const { pointMode, layers, noiseM } = this.state;
    if (!layers.points || !this.stage || !this.cloud) return null;
    if (pointMode === 'residual') return { by: 'residual', from: -3.5 * noiseM, to: 3.5 * noiseM };
    const [from, to] = this.stage.points.elevations;
    return pointMode === 'elevation' ? { by: 'elevation', from, to } : null;
  }

  private runningSection(view: Projection): SectionLine {
    const at = unproject(view, this.cursor!.x, this.cursor!.y);
    return { from: this.sectionStart!, to: [at[0], at[1]], thicknessM: 0 };
  }

  /** Lines hidden behind roofs, kept while the direction of view stays. Large sites show all lines while they turn. */
  private hiddenLines(view: Projection, moving: boolean): HiddenLines | null {
    const { scene, name } = this.state;
    if (!scene || (name !== 'free' && name !== 'elevation')) return null;
    const key = view.toward.join(' ');
    if (this.hidden?.key === key && this.hidden.scene === scene) return this.hidden.lines;
    if (moving && scene.edges.length > 700) return null;
    this.hidden = { key, scene, lines: new HiddenLines(view, scene) };
    return this.hidden.lines;
  }

  /** A line across the shown building to start a section with. */
  sectionToStart(): SectionLine | null {
    const { scene, building, spacingM } = this.state;
    const bounds = this.bounds();
    return bounds ? sectionAcross(scene, building, bounds, spacingM) : null;
  }
}

/** A place on the paper as such, on nothing. */
const placeSnap = (at: Vector3): Snap => ({ pick: { at, landedOn: 'typed', of: null, sigmaM: [0, 0, 0] }, name: 'this place', key: 'place', pixels: 0 });

function startStage(canvas: HTMLCanvasElement): Stage | null {
  try {
    return new Stage(canvas);
  } catch {
    return null;
  }
}
