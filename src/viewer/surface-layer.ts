import earcut from 'earcut';
import { BufferAttribute, BufferGeometry, DoubleSide, Group, Mesh, MeshBasicMaterial } from 'three';
import type { Vector3 } from '../geometry/vector.ts';
import type { Projection } from './projection.ts';
import type { RoofScene, SceneBuilding } from './scene.ts';
import { wallUnder } from './hidden-lines.ts';

/** Time of one frame for making surfaces. [ms] */
const MAKING_MS = 4;

/** Roof planes, things and walls as plain paper surfaces: they hide what lies behind them. */
export class SurfaceLayer {
  readonly group = new Group();
  private readonly roof = new MeshBasicMaterial({ side: DoubleSide });
  private readonly wall = new MeshBasicMaterial({ side: DoubleSide });

  /** Surfaces by building: one that did not change keeps its own. */
  private made = new Map<SceneBuilding, Mesh[]>();
  private scene: RoofScene | null = null;
  private waiting: SceneBuilding[] = [];

  setScene(scene: RoofScene | null): void {
    const before = this.made;
    this.made = new Map();
    this.group.clear();
    this.scene = scene;
    this.waiting = [];
    for (const building of scene?.buildings ?? []) {
      const known = before.get(building);
      if (known) this.add(building, known);
      else this.waiting.push(building);
      before.delete(building);
    }
    for (const meshes of before.values()) for (const { geometry } of meshes) geometry.dispose();
  }

  /** Makes surfaces that are still missing, for as long as a frame allows. @returns Whether some still are. */
  makeSome(): boolean {
    const end = performance.now() + MAKING_MS;
    while (this.waiting.length > 0 && performance.now() < end) {
      const building = this.waiting.shift()!;
      this.add(building, this.building(this.scene!, building.id));
    }
    return this.waiting.length > 0;
  }

  private add(building: SceneBuilding, meshes: Mesh[]): void {
    this.made.set(building, meshes);
    this.group.add(...meshes);
  }

  private building(scene: RoofScene, id: string): Mesh[] {
    const things = scene.things.filter(({ building }) => building === id);
    const planes = scene.planes.filter(({ building }) => building === id);
    const tops = [...planes.map(({ plane }) => [plane.outline, ...plane.holes]), ...things.map(({ top }) => [top])];
    const sides = things.flatMap(({ base, top }) => top.map((corner, i) => {
      const j = (i + 1) % top.length;
      return [[corner, top[j]!, base[j]!, base[i]!]];
    }));
    const walls = scene.edges.filter(({ building }) => building === id).flatMap((edge) => wallUnder(scene, edge));
    const drawn = [new Mesh(geometryOf(tops), this.roof), new Mesh(geometryOf([...sides, ...walls.map((wall) => [wall])]), this.wall)];
    for (const mesh of drawn) [mesh.name, mesh.frustumCulled] = [id, false];
    return drawn;
  }

  /** Hides what lies behind, without being seen itself. */
  onlyHides(is: boolean): void {
    this.roof.colorWrite = this.wall.colorWrite = !is;
  }

  /** Nothing to see, but of the kinds this layer draws. */
  samples(): Mesh[] {
    return [new Mesh(new BufferGeometry(), this.roof), new Mesh(new BufferGeometry(), this.wall)];
  }

  /** @param behindM  Drawn this far behind where they are, so that their own points are not half hidden. [m] @param only  The one building to be drawn; null for all. */
  prepare(view: Projection, lift: string, sheet: string, behindM: number, only: string | null): void {
    for (const mesh of this.group.children) mesh.visible = only === null || mesh.name === only;
    this.roof.color.set(lift);
    this.wall.color.set(sheet);
    this.group.position.set(...view.toward).multiplyScalar(-behindM);
  }
}

function geometryOf(faces: readonly (readonly (readonly Vector3[])[])[]): BufferGeometry {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (const rings of faces) {
    const start = positions.length / 3;
    const corners = rings.flat();
    const flat = flatten(corners, rings[0]!);
    const holes: number[] = [];
    for (let i = 0, count = 0; i + 1 < rings.length; i++) holes.push((count += rings[i]!.length));
    for (const index of earcut(flat, holes)) triangles.push(start + index);
    for (const corner of corners) positions.push(...corner);
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(new Float32Array(positions), 3));
  geometry.setIndex(triangles);
  return geometry;
}

/** Corners in the two axes along which the face is widest: the axis its normal follows most is dropped. */
function flatten(corners: readonly Vector3[], outer: readonly Vector3[]): number[] {
  const normal = [0, 0, 0];
  outer.forEach((a, i) => {
    const b = outer[(i + 1) % outer.length]!;
    normal[0]! += (a[1] - b[1]) * (a[2] + b[2]);
    normal[1]! += (a[2] - b[2]) * (a[0] + b[0]);
    normal[2]! += (a[0] - b[0]) * (a[1] + b[1]);
  });
  const sizes = normal.map(Math.abs);
  const dropped = sizes.indexOf(Math.max(...sizes));
  const [u, v] = [0, 1, 2].filter((axis) => axis !== dropped) as [number, number];
  return corners.flatMap((corner) => [corner[u]!, corner[v]!]);
}
