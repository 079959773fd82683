import { ColorManagement, LinearSRGBColorSpace, OrthographicCamera, Scene, WebGLRenderer } from 'three';
import type { Paper } from './paper.ts';
import { PointLayer, type PointLook } from './point-layer.ts';
import type { Projection } from './projection.ts';
import { SurfaceLayer } from './surface-layer.ts';

/** What of the stage is shown. */
export interface StageLook extends Omit<PointLook, 'ink'> {
  readonly points: boolean;
  readonly surfaces: boolean;
}

/** The painted part of a drawing: paper surfaces and measured points, by WebGL2. Draws only when told to. */
export class Stage {
  readonly points = new PointLayer();
  readonly surfaces = new SurfaceLayer();
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new OrthographicCamera();

  /** @throws Error when the browser gives no WebGL2. */
  constructor(canvas: HTMLCanvasElement) {
    this.renderer = new WebGLRenderer({ canvas, alpha: true, antialias: false, powerPreference: 'high-performance' });
    this.renderer.setClearAlpha(0);
    // Surfaces come before points, and points in any order: sorting would only measure every cell first.
    this.renderer.sortObjects = false;
    // Colours are given as they shall appear on screen, so nothing is converted on the way.
    ColorManagement.enabled = false;
    this.renderer.outputColorSpace = LinearSRGBColorSpace;
    this.scene.add(this.surfaces.group, this.points.group);
    this.camera.matrixAutoUpdate = false;
    this.compileAhead();
  }

  /** @returns How many points were drawn, and whether a frame after this would draw more of the same. */
  draw(view: Projection, look: StageLook, paper: Paper, budget: number): { readonly drawn: number; readonly more: boolean } {
    const pixelRatio = Math.min(2, globalThis.devicePixelRatio);
    this.renderer.setPixelRatio(pixelRatio);
    this.renderer.setSize(view.width, view.height, false);
    this.place(view);
    this.surfaces.group.visible = look.surfaces;
    this.points.group.visible = look.points;
    this.surfaces.prepare(view, paper.lift, paper.sheet);
    const drawn = look.points ? this.points.prepare(view, { ...look, ink: paper.ink }, budget, pixelRatio) : { drawn: 0, more: false };
    this.renderer.render(this.scene, this.camera);
    return drawn;
  }

  dispose(): void {
    this.renderer.dispose();
  }

  /** The first picture must not wait for its shaders: they are compiled while the page is still empty. */
  private compileAhead(): void {
    const scene = new Scene();
    scene.add(...this.points.samples(), ...this.surfaces.samples());
    void this.renderer.compileAsync(scene, this.camera);
  }

  /** Depth reaches a kilometre either way of the picture's centre: no roof site is deeper. */
  private place(view: Projection): void {
    const depth = 1000;
    const { camera } = this;
    const [halfWidth, halfHeight] = [view.width / 2 / view.pixelsPerMetre, view.height / 2 / view.pixelsPerMetre];
    camera.left = -halfWidth;
    camera.right = halfWidth;
    camera.top = halfHeight;
    camera.bottom = -halfHeight;
    camera.near = 0;
    camera.far = 2 * depth;
    camera.updateProjectionMatrix();
    const { right, up, toward, centre } = view;
    camera.matrix.set(
      right[0], up[0], toward[0], centre[0] + toward[0] * depth,
      right[1], up[1], toward[1], centre[1] + toward[1] * depth,
      right[2], up[2], toward[2], centre[2] + toward[2] * depth,
      0, 0, 0, 1,
    );
    camera.matrixWorldNeedsUpdate = true;
    camera.updateMatrixWorld(true);
  }
}
