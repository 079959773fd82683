import {
  BufferAttribute, BufferGeometry, DataTexture, FloatType, GLSL3, Group, NearestFilter, NormalBlending, Points, RGBAFormat, ShaderMaterial, Vector2, Vector3, Vector4,
} from 'three';
import type { Cell, Cloud } from '../cloud/cloud.ts';
import type { Mesh } from '../cloud/mesh.ts';
import type { Vector3 as Place } from '../geometry/vector.ts';
import { rangesOf, type CloudRanges } from './cloud-ranges.ts';
import type { ClipUniforms } from './mesh-layer.ts';
import { classColour, HEIGHT_STEPS, PLANE_COLOURS, RESIDUAL_STEPS, rgb } from './palettes.ts';
import { POINT_FRAGMENT_SHADER, POINT_MODES, POINT_VERTEX_SHADER, type PointMode } from './point-shader.ts';
import { POINTS_PER_PIXEL, pointsToDraw, STIPPLE_PER_PIXEL } from './point-budget.ts';
import type { Projection } from './projection.ts';
import type { SectionLine } from './section-cut.ts';

/** Width of the texture that holds one plane a texel; the shader counts on it. */
const PLANE_TEXTURE_WIDTH = 1024;

export interface LabelledPlane {
  readonly normal: Place;
  readonly offset: number;
}

/** Points to be drawn, with what is known of them. */
export interface ShownPoints {
  /** The same for all clouds of one survey: a sample while files are read, then all points, then with labels. */
  readonly survey: object;
  readonly cloud: Cloud;
  /** Cell by cell as the cloud; null while nothing is found. */
  readonly labels: readonly Uint16Array[] | null;
  /** `planes[label - 1]` is the plane of a label. */
  readonly planes: readonly (LabelledPlane | null)[];
  /** Meshes the points were laid on, to be drawn instead of them. */
  readonly meshes: readonly Mesh[];
  /** One sigma. [m] */
  readonly noiseM: number;
}

export interface PointLook {
  readonly mode: PointMode;
  /** Ink of the paper, `#rrggbb`. */
  readonly ink: string;
  readonly sizePx: number;
  readonly strip: SectionLine | null;
  /** In ink only points on roof planes are drawn: an elevation has no stipple on its walls. */
  readonly onlyRoof: boolean;
}

/** A cell and the prefix of it that the graphics card holds. */
interface DrawnCell {
  readonly cell: Cell;
  readonly labels: Uint16Array | null;
  readonly points: Points;
  held: number;
}

/** Points handed to the graphics card in one frame at most, so that no frame of a large cloud stalls the page. */
const HANDED_A_FRAME = 200_000;

/** The cloud as three.js draws it: one object a cell, of which a prefix is held by the graphics card and drawn. */
export class PointLayer {
  readonly group = new Group();
  private readonly material: ShaderMaterial;
  private cells: DrawnCell[] = [];
  private cloud: Cloud | null = null;
  ranges: CloudRanges = { elevation: [0, 1], intensity: [0, 1], classes: [] };

  constructor(clip: ClipUniforms) {
    this.material = new ShaderMaterial({
      glslVersion: GLSL3,
      vertexShader: POINT_VERTEX_SHADER,
      fragmentShader: POINT_FRAGMENT_SHADER,
      transparent: true,
      premultipliedAlpha: true,
      blending: NormalBlending,
      uniforms: {
        mode: { value: 0 }, pointSize: { value: 2 }, elevationRange: { value: new Vector2(0, 1) }, intensityRange: { value: new Vector2(0, 1) }, classColours: { value: classTexture([]) }, sigma: { value: 0.01 },
        planes: { value: planeTexture([]) }, ramp: { value: rampTexture() }, ink: { value: new Vector3() },
        strip: { value: new Vector4() }, halfThickness: { value: 0 }, onlyRoof: { value: false }, clipMin: clip.clipMin, clipMax: clip.clipMax,
      },
    });
  }

  setPoints(shown: ShownPoints | null): void {
    const before = new Map(this.cells.map((drawn) => [drawn.cell, drawn]));
    this.cells = [];
    this.group.clear();
    this.cloud = shown?.cloud ?? null;
    if (shown) this.take(shown, before);
    for (const { points } of before.values()) points.geometry.dispose();
  }

  /** @param before  Cells the graphics card may hold already; those that stay as they are, are taken out. */
  private take(shown: ShownPoints, before: Map<Cell, DrawnCell>): void {
    const { uniforms } = this.material;
    this.ranges = rangesOf(shown.cloud);
    uniforms['elevationRange']!.value.set(...this.ranges.elevation);
    uniforms['intensityRange']!.value.set(...this.ranges.intensity);
    (uniforms['classColours']!.value as DataTexture).dispose();
    uniforms['classColours']!.value = classTexture(this.ranges.classes);
    uniforms['sigma']!.value = Math.max(shown.noiseM, 1e-4);
    (uniforms['planes']!.value as DataTexture).dispose();
    uniforms['planes']!.value = planeTexture(shown.planes);
    shown.cloud.cells.forEach((cell, i) => {
      const known = before.get(cell);
      if (known && known.labels === (shown.labels?.[i] ?? null)) {
        before.delete(cell);
        this.group.add(known.points);
        this.cells.push(known);
        return;
      }
      const points = new Points(new BufferGeometry(), this.material);
      points.position.set(...cell.origin);
      points.updateMatrixWorld();
      points.matrixAutoUpdate = false;
      points.frustumCulled = false;
      this.group.add(points);
      this.cells.push({ cell, labels: shown.labels?.[i] ?? null, points, held: 0 });
    });
  }

  /**
   * Sets looks and how much of each cell is drawn.
   *
   * @returns How many points the next frame draws, and whether more would be drawn by a frame after it.
   */
  prepare(view: Projection, look: PointLook, budget: number, pixelRatio: number): { readonly drawn: number; readonly more: boolean } {
    if (!this.cloud) return { drawn: 0, more: false };
    const { uniforms } = this.material;
    uniforms['mode']!.value = POINT_MODES.indexOf(look.mode);
    uniforms['pointSize']!.value = look.sizePx * pixelRatio;
    uniforms['onlyRoof']!.value = look.onlyRoof;
    uniforms['ink']!.value.set(...rgb(look.ink));
    setStrip(uniforms['strip']!.value as Vector4, look.strip);
    uniforms['halfThickness']!.value = look.strip ? look.strip.thicknessM / 2 : 0;
    const counts = pointsToDraw(this.cloud, view, look.strip, budget, look.mode === 'ink' ? STIPPLE_PER_PIXEL : POINTS_PER_PIXEL);
    let drawn = 0;
    let handed = 0;
    let more = false;
    this.cells.forEach((drawnCell, i) => {
      const wanted = counts[i]!;
      if (wanted > drawnCell.held && handed < HANDED_A_FRAME) handed += hold(drawnCell, wanted, HANDED_A_FRAME - handed);
      const shown = Math.min(wanted, drawnCell.held);
      drawnCell.points.visible = shown > 0;
      drawnCell.points.geometry.setDrawRange(0, shown);
      drawn += shown;
      more ||= shown < wanted;
    });
    return { drawn, more };
  }

  /** Nothing to see, but of the kinds this layer draws. */
  samples(): Points[] {
    return [new Points(new BufferGeometry(), this.material)];
  }
}

/**
 * Gives the graphics card a longer prefix of a cell: half as much again as wanted, so that a slow zoom does not hand it
 * over anew each frame. @returns Points handed over.
 */
function hold(drawn: DrawnCell, wanted: number, room: number): number {
  const { cell, labels, points } = drawn;
  const count = Math.min(cell.pointCount, Math.ceil(wanted * 1.5), drawn.held + room);
  points.geometry.dispose();
  const geometry = new BufferGeometry();
  // Views of the cell's own arrays: nothing is copied on this side.
  geometry.setAttribute('position', new BufferAttribute(cell.positions.subarray(0, 3 * count), 3));
  if (cell.colours) geometry.setAttribute('colour', new BufferAttribute(cell.colours.subarray(0, 3 * count), 3, true));
  if (cell.intensity) geometry.setAttribute('intensity', new BufferAttribute(cell.intensity.subarray(0, count), 1, true));
  if (cell.classification) geometry.setAttribute('classNumber', new BufferAttribute(cell.classification.subarray(0, count), 1));
  geometry.setAttribute('label', new BufferAttribute(labels?.subarray(0, count) ?? new Uint16Array(count), 1));
  points.geometry = geometry;
  drawn.held = count;
  return count;
}

function setStrip(target: Vector4, line: SectionLine | null): void {
  if (!line) return;
  const [dx, dy] = [line.to[0] - line.from[0], line.to[1] - line.from[1]];
  const run = Math.hypot(dx, dy) || 1;
  const [nx, ny] = [dy / run, -dx / run];
  target.set(nx, ny, 0, -(nx * line.from[0] + ny * line.from[1]));
}

function planeTexture(planes: readonly (LabelledPlane | null)[]): DataTexture {
  const rows = Math.ceil((planes.length + 1) / PLANE_TEXTURE_WIDTH);
  const data = new Float32Array(4 * PLANE_TEXTURE_WIDTH * rows);
  planes.forEach((plane, i) => {
    if (plane) data.set([...plane.normal, plane.offset], 4 * (i + 1));
  });
  return nearest(new DataTexture(data, PLANE_TEXTURE_WIDTH, rows, RGBAFormat, FloatType));
}

function rampTexture(): DataTexture {
  const data = new Float32Array(4 * 9 * 3);
  [HEIGHT_STEPS, RESIDUAL_STEPS, PLANE_COLOURS].forEach((steps, row) => {
    steps.forEach((step, i) => data.set([...rgb(step), 1], 4 * (9 * row + i)));
  });
  return nearest(new DataTexture(data, 9, 3, RGBAFormat, FloatType));
}

/** One texel a class number; classes that occur take the palette in turn. */
function classTexture(classes: readonly number[]): DataTexture {
  const data = new Float32Array(4 * 256).fill(0.5);
  classes.forEach((number, i) => data.set([...rgb(classColour(i)), 1], 4 * number));
  return nearest(new DataTexture(data, 256, 1, RGBAFormat, FloatType));
}

function nearest(texture: DataTexture): DataTexture {
  texture.minFilter = NearestFilter;
  texture.magFilter = NearestFilter;
  texture.needsUpdate = true;
  return texture;
}
