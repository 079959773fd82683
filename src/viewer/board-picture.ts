import type { Cloud } from '../cloud/cloud.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { Snap } from '../survey/measure/snap.ts';
import type { BoardState } from './board-state.ts';
import type { ClipBox } from './clip-box.ts';
import { FrameBudget } from './frame-budget.ts';
import { HiddenLines } from './hidden-lines.ts';
import { drawInk, drawOverlay } from './ink/draw-ink.ts';
import type { InkFrame } from './ink/frame.ts';
import { readPaper, type Paper } from './paper.ts';
import type { ShownPoints } from './point-layer.ts';
import type { PointMode } from './point-shader.ts';
import { penOf, prepareCanvas } from './prepare-canvas.ts';
import type { Projection, ViewName } from './projection.ts';
import type { RoofScene } from './scene.ts';
import type { CutPiece, SectionLine } from './section-cut.ts';
import { shownBox, shownScene } from './shown-scene.ts';
import { Stage } from './stage.ts';

/** Time of one frame for finding hidden lines. [ms] */
const HIDDEN_LINES_MS = 5;
/** A site with more edges than this shows hidden lines only at rest, and is drawn in two turns. */
export const MANY_EDGES = 200;

/** The three sheets a drawing consists of, the lowest first. */
export interface BoardCanvases {
  readonly stage: HTMLCanvasElement;
  readonly ink: HTMLCanvasElement;
  readonly overlay: HTMLCanvasElement;
}

/** What one frame shows. */
export interface PictureContent {
  readonly state: BoardState;
  readonly view: Projection;
  readonly cut: readonly CutPiece[];
  readonly snap: Snap | null;
  /** Measured points about what would be taken. */
  readonly detail: readonly Vector3[];
  readonly runningSection: SectionLine | null;
  readonly runningBox: ClipBox | null;
}

/** Paints frames: points and surfaces below, ink above, and what follows the pointer on top. */
export class BoardPicture {
  private readonly stage: Stage | null;
  private readonly ink: CanvasRenderingContext2D;
  private readonly overlay: CanvasRenderingContext2D;
  private readonly budget = new FrameBudget();
  private paper: Paper;
  private cloud: Cloud | null = null;
  private hidden: { readonly key: string; readonly scene: RoofScene; readonly lines: HiddenLines } | null = null;
  /** Frames so far; with the points of the last one they stand on the element, for tests and for the curious. */
  private frames = 0;

  /** @param changed  Something arrived that is not in the picture yet. */
  constructor(private readonly host: HTMLElement, private readonly canvases: BoardCanvases, changed: () => void) {
    this.stage = startStage(canvases.stage, changed);
    this.ink = penOf(canvases.ink);
    this.overlay = penOf(canvases.overlay);
    this.paper = readPaper(host);
  }

  get hasStage(): boolean {
    return this.stage !== null;
  }

  dispose(): void {
    this.stage?.dispose();
  }

  setScene(scene: RoofScene | null): void {
    this.stage?.surfaces.setScene(scene);
  }

  setPoints(points: ShownPoints | null): void {
    this.cloud = points?.cloud ?? null;
    this.stage?.setPoints(points);
  }

  /** The style sheet's tokens changed: another paper, or larger text. */
  paperChanged(): void {
    this.paper = readPaper(this.host);
  }

  /** Lines and letters of a frame, and what follows the pointer. @returns The frame, to be painted with what lies under it. */
  drawInk(content: PictureContent, moving: boolean): InkFrame {
    const frame = this.frame(content, moving);
    if (frame.view.width <= 1 || frame.view.height <= 1) return frame;
    prepareCanvas(this.canvases.ink, this.ink, frame.view);
    drawInk(this.ink, frame, this.paper, content.state.names);
    this.drawOver(frame);
    return frame;
  }

  /** Points and surfaces of a frame. @returns Whether the next frame would show more of the same: large clouds and sites are taken up piece by piece. */
  paint({ view, state }: PictureContent, frame: InkFrame, now: number, moving: boolean): boolean {
    const { layers, pointMode, name, sectionLine } = state;
    const painted = this.stage?.draw(
      view,
      {
        points: layers.points, surfaces: layers.surfaces && name !== 'section', meshes: layers.meshes && name !== 'section',
        // A section is a drawing of lines, and a plan that is shaded is no plan.
        shading: layers.shading && (name === 'free' || name === 'elevation'), clip: shownBox(state), onlyBuilding: name === 'elevation' ? state.building : null, noiseM: state.noiseM, moving,
        mode: pointMode, sizePx: pointSize(state, view, pointMode), strip: name === 'section' ? sectionLine : null, onlyRoof: name === 'elevation',
      },
      this.paper,
      this.budget.next(now, moving),
    );
    this.host.dataset['frames'] = String(++this.frames);
    this.host.dataset['points'] = String(painted?.drawn ?? 0);
    this.host.dataset['view'] = JSON.stringify(view);
    return (painted?.more ?? false) || (frame.hidden?.isUnfinished ?? false);
  }

  drawOverlay(content: PictureContent): void {
    this.drawOver(this.frame(content, false));
  }

  private drawOver(frame: InkFrame): void {
    prepareCanvas(this.canvases.overlay, this.overlay, frame.view);
    drawOverlay(this.overlay, frame, this.paper);
  }

  private frame({ state, view, cut, snap, detail, runningSection, runningBox }: PictureContent, moving: boolean): InkFrame {
    const scene = shownScene(state);
    return {
      ...state,
      scene,
      view,
      snap,
      detail,
      pointColours: this.pointColours(state),
      hidden: this.hiddenLines(scene, state.name, view, moving),
      sectionLine: runningSection ?? state.sectionLine,
      clip: runningBox ?? state.clip,
      cut,
      blank: !this.cloud && !state.scene,
    };
  }

  private pointColours({ pointMode, layers, noiseM, zeroElevationM }: BoardState): InkFrame['pointColours'] {
    if (!layers.points || !this.stage || !this.cloud) return null;
    if (pointMode === 'residual') return { by: 'residual', from: -3.5 * noiseM, to: 3.5 * noiseM };
    const { elevation: [from, to], classes } = this.stage.points.ranges;
    if (pointMode === 'class') return { by: 'class', classes };
    return pointMode === 'elevation' ? { by: 'elevation', from: from + zeroElevationM, to: to + zeroElevationM } : null;
  }

  /** Lines hidden behind roofs, kept while the direction of view stays. Large sites show all lines while they turn. */
  private hiddenLines(scene: RoofScene | null, name: ViewName, view: Projection, moving: boolean): HiddenLines | null {
    if (!scene || (name !== 'free' && name !== 'elevation')) return null;
    const key = view.toward.join(' ');
    if (this.hidden?.key !== key || this.hidden.scene !== scene) {
      if (moving && scene.edges.length > MANY_EDGES) return null;
      this.hidden = { key, scene, lines: new HiddenLines(view, scene) };
    }
    this.hidden.lines.beginFrame(HIDDEN_LINES_MS);
    return this.hidden.lines;
  }
}

/** As large as the points stand apart, within limits: a near roof closes up, a far one stays a fine stipple. [px] */
function pointSize({ spacingM, name }: BoardState, view: Projection, mode: PointMode): number {
  const apart = spacingM * view.pixelsPerMetre;
  if (mode === 'ink') return Math.min(1.9, Math.max(1.1, apart * 0.18));
  // A section shows a line of points, not a surface.
  return Math.min(name === 'section' ? 3 : 18, Math.max(1.4, apart * 1.1));
}

function startStage(canvas: HTMLCanvasElement, changed: () => void): Stage | null {
  try {
    return new Stage(canvas, changed);
  } catch {
    return null;
  }
}
