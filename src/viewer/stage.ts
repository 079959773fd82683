import { ColorManagement, LinearSRGBColorSpace, OrthographicCamera, Scene, Vector3, WebGLRenderer } from 'three';
import type { ClipBox } from './clip-box.ts';
import { EyeDome } from './eye-dome.ts';
import { MeshLayer, type ClipUniforms } from './mesh-layer.ts';
import type { Paper } from './paper.ts';
import { PointLayer, type PointLook, type ShownPoints } from './point-layer.ts';
import type { Projection } from './projection.ts';
import { SurfaceLayer } from './surface-layer.ts';

/** What of the stage is shown. */
export interface StageLook extends Omit<PointLook, 'ink'> {
  readonly points: boolean;
  readonly surfaces: boolean;
  readonly meshes: boolean;
  /** Eye-dome shading of points and meshes. */
  readonly shading: boolean;
  readonly clip: ClipBox | null;
  /** Whose surfaces are drawn; null for all. */
  readonly onlyBuilding: string | null;
  /** One sigma of the points. [m] */
  readonly noiseM: number;
  /** The view moves: what is costly waits until it rests, on machines that are slow. */
  readonly moving: boolean;
}

/** Depth reaches a kilometre either way of the picture's centre: no roof site is deeper. [m] */
const DEPTH_M = 1000;
/** Pairs of neighbours asked for the shade while the view moves, and at rest. */
const PAIRS = { moving: 2, atRest: 4 } as const;

/** The painted part of a drawing: paper surfaces, meshes and measured points, by WebGL2. Draws only when told to. */
export class Stage {
  readonly points: PointLayer;
  readonly surfaces = new SurfaceLayer();
  private readonly meshes: MeshLayer;
  private readonly eyeDome = new EyeDome();
  private readonly clip: ClipUniforms = { clipMin: { value: new Vector3() }, clipMax: { value: new Vector3() } };
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new OrthographicCamera();
  /** The processor draws: every pixel costs the page's own time. */
  private readonly isSoftware: boolean;

  /** @param changed  Something arrived that was not there when last drawn. @throws Error when the browser gives no WebGL2. */
  constructor(canvas: HTMLCanvasElement, changed: () => void) {
    this.renderer = new WebGLRenderer({ canvas, alpha: true, antialias: false, powerPreference: 'high-performance' });
    this.renderer.setClearAlpha(0);
    // Surfaces come before points, and points in any order: sorting would only measure every cell first.
    this.renderer.sortObjects = false;
    // Colours are given as they shall appear on screen, so nothing is converted on the way.
    ColorManagement.enabled = false;
    this.renderer.outputColorSpace = LinearSRGBColorSpace;
    this.isSoftware = /swiftshader|llvmpipe|software|basic render/i.test(rendererName(this.renderer));
    this.points = new PointLayer(this.clip);
    this.meshes = new MeshLayer(this.clip, changed);
    this.scene.add(this.surfaces.group, this.meshes.group, this.points.group);
    this.camera.matrixAutoUpdate = false;
    this.compileAhead();
  }

  setPoints(shown: ShownPoints | null): void {
    this.points.setPoints(shown);
    this.meshes.setMeshes(shown?.meshes ?? []);
  }

  /** @returns How many points were drawn, and whether a frame after this would draw more of the same. */
  draw(view: Projection, look: StageLook, paper: Paper, budget: number): { readonly drawn: number; readonly more: boolean } {
    const pixelRatio = Math.min(2, globalThis.devicePixelRatio);
    this.renderer.setPixelRatio(pixelRatio);
    this.renderer.setSize(view.width, view.height, false);
    this.place(view);
    this.clip.clipMin.value.set(...(look.clip?.min ?? [-1e9, -1e9, -1e9]));
    this.clip.clipMax.value.set(...(look.clip?.max ?? [1e9, 1e9, 1e9]));
    // A mesh stands for its points unless they are coloured by something it does not show, and for the roof's own surfaces.
    const meshes = look.meshes && !this.meshes.isEmpty;
    const points = look.points && !(meshes && (look.mode === 'ink' || look.mode === 'colour'));
    this.meshes.group.visible = meshes;
    this.surfaces.group.visible = look.surfaces && !meshes;
    this.points.group.visible = points;
    const unmade = this.surfaces.makeSome();
    const behindM = Math.min(0.12, Math.max(0.02, 3 * look.noiseM));
    this.surfaces.prepare(view, paper.lift, paper.sheet, behindM, look.onlyBuilding);
    this.meshes.prepare(view, paper.recess, paper.hair, behindM);
    const drawn = points ? this.points.prepare(view, { ...look, ink: paper.ink }, budget, pixelRatio) : { drawn: 0, more: false };
    const shaded = look.shading && (meshes || (points && look.mode !== 'ink')) && !(look.moving && this.isSoftware);
    if (shaded) {
      // Paper comes first and unshaded; then it only hides what lies behind it.
      [this.meshes.group.visible, this.points.group.visible] = [false, false];
      this.renderer.render(this.scene, this.camera);
      [this.meshes.group.visible, this.points.group.visible] = [meshes, points];
      this.surfaces.onlyHides(true);
      this.eyeDome.render(this.renderer, this.scene, this.camera, {
        pairs: look.moving ? PAIRS.moving : PAIRS.atRest,
        reach: Math.max(1, (points ? 0.75 * look.sizePx : 1.2) * pixelRatio),
        tolerance: points ? (0.5 * look.sizePx) / view.pixelsPerMetre + behindM : 0,
        metresPerPixel: 1 / (view.pixelsPerMetre * pixelRatio),
        depthRange: 2 * DEPTH_M,
      });
      this.surfaces.onlyHides(false);
    } else this.renderer.render(this.scene, this.camera);
    return { drawn: drawn.drawn, more: drawn.more || unmade };
  }

  dispose(): void {
    this.eyeDome.dispose();
    this.renderer.dispose();
  }

  /** The first picture must not wait for its shaders: they are compiled while the page is still empty. */
  private compileAhead(): void {
    const scene = new Scene();
    scene.add(...this.points.samples(), ...this.surfaces.samples(), this.eyeDome.sample());
    void this.renderer.compileAsync(scene, this.camera);
  }

  private place(view: Projection): void {
    const { camera } = this;
    const [halfWidth, halfHeight] = [view.width / 2 / view.pixelsPerMetre, view.height / 2 / view.pixelsPerMetre];
    camera.left = -halfWidth;
    camera.right = halfWidth;
    camera.top = halfHeight;
    camera.bottom = -halfHeight;
    camera.near = 0;
    camera.far = 2 * DEPTH_M;
    camera.updateProjectionMatrix();
    const { right, up, toward, centre } = view;
    camera.matrix.set(
      right[0], up[0], toward[0], centre[0] + toward[0] * DEPTH_M,
      right[1], up[1], toward[1], centre[1] + toward[1] * DEPTH_M,
      right[2], up[2], toward[2], centre[2] + toward[2] * DEPTH_M,
      0, 0, 0, 1,
    );
    camera.matrixWorldNeedsUpdate = true;
    camera.updateMatrixWorld(true);
  }
}

/** What the graphics card calls itself; empty where the browser keeps that to itself. */
function rendererName(renderer: WebGLRenderer): string {
  const context = renderer.getContext();
  const about = context.getExtension('WEBGL_debug_renderer_info');
  return about ? String(context.getParameter(about.UNMASKED_RENDERER_WEBGL)) : '';
}
