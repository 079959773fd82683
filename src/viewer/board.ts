import { listen } from './board-input.ts';
import { onBoardKey } from './board-keys.ts';
import { BoardPicture, MANY_EDGES, type BoardCanvases, type PictureContent } from './board-picture.ts';
import { Pointing } from './board-pointing.ts';
import type { BoardEvents, BoardState } from './board-state.ts';
import type { ClipBox } from './clip-box.ts';
import { FrameTurns } from './frame-turns.ts';
import type { InkFrame } from './ink/frame.ts';
import { PickIndex } from './pick-index.ts';
import type { ShownPoints } from './point-layer.ts';
import { panBy, unproject, zoomAt, type Bounds, type Projection } from './projection.ts';
import { cutScene, type CutPiece, type SectionLine } from './section-cut.ts';
import { sectionAcross } from './section-start.ts';
import { pointedState } from './shown-scene.ts';
import { inSpareTime } from './spare-time.ts';
import { ViewBook, type ViewSetting } from './view-book.ts';

/** A view that has not moved for this long is at rest, and is drawn with all its points. */
const SETTLE_MS = 140;
/** Two taps within this time are one double tap. [ms] */
const DOUBLE_TAP_MS = 600;

/** The drawing: what is shown, from where, and what pointer and keys do to it. Draws only when something changed. */
export class DrawingBoard {
  private readonly picture: BoardPicture;
  private readonly pointing: Pointing;
  private readonly views: ViewBook;
  private readonly stopListening: () => void;
  private readonly resizing: ResizeObserver;
  private points: ShownPoints | null = null;
  private index: PickIndex | null = null;
  private stopSorting = (): void => undefined;
  private cut: readonly CutPiece[] = [];
  private readonly turns = new FrameTurns({
    overlay: () => this.picture.drawOverlay(this.content()),
    isInTurns: (now) => now >= this.movingUntil && isLarge(this.state),
    ink: (now) => this.drawInk(now),
  });
  private settleTimer = 0;
  private movingUntil = 0;
  private toldScale = 0;
  /** When a tap last took, or showed, a place for a tool. [ms] */
  private placedAt = -Infinity;

  constructor(host: HTMLElement, canvases: BoardCanvases, private state: BoardState, private readonly events: BoardEvents) {
    this.views = new ViewBook(() => host.getBoundingClientRect());
    this.picture = new BoardPicture(host, canvases, () => this.invalidate());
    this.pointing = new Pointing(() => ({ state: pointedState(this.state), view: this.view, points: this.index, cut: this.cut }), events, () => this.invalidate(true));
    this.stopListening = listen(host, {
      hover: (x, y, free) => this.pointing.hover(x, y, free),
      leave: () => this.pointing.leave(),
      tap: (x, y, free, byFinger) => this.tap(x, y, free, byFinger),
      doubleTap: (x, y) => this.centreOn(x, y),
      drag: (dx, dy) => this.drag(dx, dy),
      slide: (dx, dy) => this.move(panBy(this.view, dx, dy)),
      zoom: (factor, x, y) => this.move(zoomAt(this.view, factor, x, y)),
      rest: () => this.rest(),
      key: (event) => this.key(event),
    });
    this.resizing = new ResizeObserver(() => this.resize());
    this.resizing.observe(host);
  }

  get hasStage(): boolean {
    return this.picture.hasStage;
  }

  dispose(): void {
    this.stopListening();
    this.resizing.disconnect();
    this.stopSorting();
    this.turns.stop();
    clearTimeout(this.settleTimer);
    this.picture.dispose();
  }

  setState(state: BoardState): void {
    const before = this.state;
    this.state = state;
    const sceneChanged = before.scene !== state.scene;
    if (sceneChanged) this.picture.setScene(state.scene);
    if (sceneChanged || before.sectionLine !== state.sectionLine) {
      this.cut = state.scene && state.sectionLine ? cutScene(state.scene, state.sectionLine) : [];
    }
    if (before.sectionLine !== state.sectionLine) this.views.forget('section');
    if (before.gridToTrueDeg !== state.gridToTrueDeg) this.views.forget('plan');
    if (sceneChanged && !before.scene?.bounds && state.scene?.bounds) this.views.forget();
    if (before.measuring?.tool !== state.measuring?.tool) this.pointing.startOver();
    this.invalidate();
  }

  setPoints(points: ShownPoints | null): void {
    if (points?.survey !== this.points?.survey) this.views.forget();
    const before = this.points;
    this.points = points;
    if (points?.cloud !== before?.cloud) this.index = points && new PickIndex(points.cloud);
    this.stopSorting();
    // What is shown while files are read is only a sample, soon to be replaced: not worth sorting.
    if (points?.labels) this.stopSorting = inSpareTime((hasTime) => this.index?.sortWhile(hasTime) ?? false);
    this.picture.setPoints(points);
    this.invalidate();
  }

  /** The style sheet's tokens changed: another paper, or larger text. */
  paperChanged(): void {
    this.picture.paperChanged();
    this.invalidate();
  }

  /** Fills the picture with the shown building, or the site. */
  fit(): void {
    const bounds = this.bounds();
    if (!bounds) return;
    this.views.showWhole(this.setting(), bounds);
    this.invalidate();
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

  /** A line across the shown building to start a section with. */
  sectionToStart(): SectionLine | null {
    const { scene, building, spacingM } = this.state;
    const bounds = this.bounds();
    return bounds ? sectionAcross(scene, building, bounds, spacingM) : null;
  }

  /** Box round all points, for clipping them; null without points. */
  get siteBox(): ClipBox | null {
    return this.points?.cloud.bounds ?? null;
  }

  private setting(): ViewSetting {
    const { name, gridToTrueDeg, sectionLine, compact } = this.state;
    return { name, gridToTrueDeg, section: sectionLine, compact, bounds: this.bounds() };
  }

  private bounds(): Bounds | null {
    const { scene, building } = this.state;
    const chosen = scene?.buildings.find(({ id }) => id === building);
    return chosen?.bounds ?? scene?.bounds ?? this.points?.cloud.bounds ?? null;
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

  private rest(): void {
    this.pointing.rest();
    this.invalidate();
  }

  private drag(dx: number, dy: number): void {
    if (this.pointing.dragPlace(dx, dy)) return;
    if (this.state.name !== 'free') return this.move(panBy(this.view, dx, dy));
    this.move(this.views.orbit(this.setting(), dx, dy));
  }

  private tap(x: number, y: number, free: boolean, byFinger: boolean): void {
    if (this.state.measuring) this.placedAt = performance.now();
    this.pointing.tap(x, y, free, byFinger);
  }

  private centreOn(x: number, y: number): void {
    // The second of two quick taps may have taken the last place that was asked for.
    if (this.state.measuring || performance.now() - this.placedAt < DOUBLE_TAP_MS) return;
    const point = this.pointing.pointUnder(x, y) ?? unproject(this.view, x, y);
    this.move({ ...zoomAt(this.view, 1.6, x, y), centre: point });
  }

  private key(event: KeyboardEvent): void {
    const { state, view, pointing } = this;
    const isUsed = onBoardKey(event, {
      state, view, pointing,
      move: (moved) => this.move(moved), drag: (dx, dy) => this.drag(dx, dy), turnElevation: (byDeg) => this.turnElevation(byDeg), fit: () => this.fit(),
    });
    if (!isUsed) return;
    event.preventDefault();
    event.stopPropagation();
  }

  /** @param overlayOnly  Only what follows the pointer changed. */
  private invalidate(overlayOnly = false): void {
    this.turns.ask(overlayOnly);
  }

  private drawInk(now: number): (now: number) => void {
    const content = this.content();
    const moving = now < this.movingUntil;
    const frame = this.picture.drawInk(content, moving);
    return (painted) => this.paint(content, frame, painted, moving);
  }

  private paint(content: PictureContent, frame: InkFrame, now: number, moving: boolean): void {
    const { view } = content;
    if (view.width <= 1 || view.height <= 1) return;
    if (view.pixelsPerMetre !== this.toldScale) this.events.onScale((this.toldScale = view.pixelsPerMetre));
    if (this.picture.paint(content, frame, now, moving)) this.invalidate();
    if (moving) {
      clearTimeout(this.settleTimer);
      this.settleTimer = window.setTimeout(() => this.invalidate(), SETTLE_MS + 20);
    }
  }

  private content(): PictureContent {
    const { state, view, cut, pointing } = this;
    const whole = this.siteBox;
    return { state, view, cut, snap: pointing.snap, detail: pointing.detail(), runningSection: pointing.runningSection(), runningBox: whole && pointing.runningBox(state.clip ?? whole) };
  }
}

const isLarge = ({ scene }: BoardState): boolean => (scene?.edges.length ?? 0) > MANY_EDGES;
