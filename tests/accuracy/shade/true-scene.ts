import type { Vector2, Vector3 } from '../../../src/geometry/vector.ts';

/** Scene of exact bodies, with its own ray test: shares nothing with the shade computed from records and rasters. */
export interface TrueScene {
  /** Upright bodies, opaque from their top down. */
  readonly prisms: readonly { readonly footprint: readonly Vector2[]; readonly top: number }[];
  /** Thin upright walls. */
  readonly walls: readonly { readonly from: Vector2; readonly to: Vector2; readonly top: number }[];
  /** Flat roofs and slopes: corners in one plane. */
  readonly faces: readonly (readonly Vector3[])[];
}

/** True when a ray from a point meets a body. `sun`: unit direction to the sun. */
export function isShaded(scene: TrueScene, at: Vector3, sun: Vector3): boolean {
  return scene.prisms.some(({ footprint, top }) => meetsPrism(at, sun, footprint, top))
    || scene.walls.some(({ from, to, top }) => meetsWall(at, sun, from, to, top))
    || scene.faces.some((face) => meetsFace(at, sun, face));
}

function meetsWall(at: Vector3, sun: Vector3, from: Vector2, to: Vector2, top: number): boolean {
  const t = crossing(at, sun, from, to);
  return t !== null && t > 1e-9 && at[2] + t * sun[2] < top;
}

function meetsPrism(at: Vector3, sun: Vector3, footprint: readonly Vector2[], top: number): boolean {
  if (at[2] >= top) return false;
  return footprint.some((to, i) => meetsWall(at, sun, footprint[(i + footprint.length - 1) % footprint.length]!, to, top));
}

/** Ray parameter at which a ray seen in plan crosses a straight piece; null when it does not. */
function crossing(at: Vector3, sun: Vector3, from: Vector2, to: Vector2): number | null {
  const ex = to[0] - from[0];
  const ey = to[1] - from[1];
  const across = sun[0] * ey - sun[1] * ex;
  if (Math.abs(across) < 1e-12) return null;
  const dx = from[0] - at[0];
  const dy = from[1] - at[1];
  const along = (dx * sun[1] - dy * sun[0]) / across;
  if (along < 0 || along > 1) return null;
  return (dx * ey - dy * ex) / across;
}

function meetsFace(at: Vector3, sun: Vector3, face: readonly Vector3[]): boolean {
  const [a, b, c] = face as readonly [Vector3, Vector3, Vector3];
  const u = [b[0] - a[0], b[1] - a[1], b[2] - a[2]] as const;
  const v = [c[0] - a[0], c[1] - a[1], c[2] - a[2]] as const;
  const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]] as const;
  const down = n[0] * sun[0] + n[1] * sun[1] + n[2] * sun[2];
  if (Math.abs(down) < 1e-12) return false;
  const t = (n[0] * (a[0] - at[0]) + n[1] * (a[1] - at[1]) + n[2] * (a[2] - at[2])) / down;
  // The roof a point lies on does not shade it.
  if (t < 1e-3) return false;
  const x = at[0] + t * sun[0];
  const y = at[1] + t * sun[1];
  let inside = false;
  for (let i = 0, j = face.length - 1; i < face.length; j = i++) {
    const [xi, yi] = face[i]!;
    const [xj, yj] = face[j]!;
    if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
  }
  return inside;
}

/** Height of the highest surface above a plan position; `ground` where nothing stands. */
export function trueHeight(scene: TrueScene, x: number, y: number, ground: number): number {
  let height = ground;
  const inRing = (ring: readonly (Vector2 | Vector3)[]): boolean => {
    let inside = false;
    for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
      const [xi, yi] = ring[i]!;
      const [xj, yj] = ring[j]!;
      if (yi > y !== yj > y && x < ((xj - xi) * (y - yi)) / (yj - yi) + xi) inside = !inside;
    }
    return inside;
  };
  for (const { footprint, top } of scene.prisms) if (inRing(footprint)) height = Math.max(height, top);
  for (const face of scene.faces) {
    if (!inRing(face)) continue;
    const [a, b, c] = face as readonly [Vector3, Vector3, Vector3];
    const u = [b[0] - a[0], b[1] - a[1], b[2] - a[2]] as const;
    const v = [c[0] - a[0], c[1] - a[1], c[2] - a[2]] as const;
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]] as const;
    height = Math.max(height, a[2] - (n[0] * (x - a[0]) + n[1] * (y - a[1])) / n[2]);
  }
  return height;
}
