import earcut from 'earcut';
import { BufferAttribute, BufferGeometry, DoubleSide, Group, Mesh, MeshBasicMaterial } from 'three';
import type { Vector3 } from '../geometry/vector.ts';
import type { Projection } from './projection.ts';
import type { RoofScene } from './scene.ts';
import { wallsOf } from './hidden-lines.ts';

/** Roof planes, things and walls as plain paper surfaces: they hide what lies behind them. */
export class SurfaceLayer {
  readonly group = new Group();
  private readonly roof = new MeshBasicMaterial({ side: DoubleSide });
  private readonly wall = new MeshBasicMaterial({ side: DoubleSide });

  setScene(scene: RoofScene | null): void {
    for (const child of this.group.children) (child as Mesh).geometry.dispose();
    this.group.clear();
    if (!scene) return;
    const tops = [...scene.planes.map(({ plane }) => [plane.outline, ...plane.holes]), ...scene.things.map(({ top }) => [top])];
    const sides = scene.things.flatMap(({ base, top }) => top.map((corner, i) => {
      const j = (i + 1) % top.length;
      return [[corner, top[j]!, base[j]!, base[i]!]];
    }));
    this.group.add(new Mesh(geometryOf(tops), this.roof));
    this.group.add(new Mesh(geometryOf([...sides, ...wallsOf(scene).map((wall) => [wall])]), this.wall));
  }

  /** Nothing to see, but of the kinds this layer draws. */
  samples(): Mesh[] {
    return [new Mesh(new BufferGeometry(), this.roof), new Mesh(new BufferGeometry(), this.wall)];
  }

  /** @param behindM  Drawn this far behind where they are, so that their own points are not half hidden. [m] */
  prepare(view: Projection, lift: string, sheet: string, behindM: number): void {
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
