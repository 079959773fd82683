import type { P3 } from './points.ts';
import type { Scene } from './scene.ts';

/** What a mesh step makes of the points: one sheet over the scene, with a picture seen from above on it. */
export interface SurfaceMesh {
  /** About `sourceOrigin`: x east, y north, z up, `n × 3`. [m] */
  readonly positions: Float32Array;
  /** Three indices each, counter-clockwise from above. */
  readonly triangles: Uint32Array;
  /** From 0 to 1, origin at the top left of the picture, `n × 2`. */
  readonly textureCoordinates: Float32Array;
  readonly picture: { readonly width: number; readonly height: number; readonly rgb: Uint8Array };
  readonly sourceOrigin: P3;
}

/**
 * Drapes a regular sheet over the scene's points. Each node takes the median height of the highest layer near it, so
 * stray points fall out; walls become steep triangles and sharp edges chamfers, as in real meshes of this kind.
 *
 * @param step  Distance between nodes. Default twice the point spacing, at least 0.1. [m]
 */
export function makeSurfaceMesh(scene: Scene, step = Math.max(0.1, 2 * scene.truth.sampling.spacingM)): SurfaceMesh {
  const { positions, colours, sourceOrigin } = scene;
  const grounds = scene.model.surfaces.flatMap((s) => s.ring);
  const minX = Math.min(...grounds.map((p) => p[0]));
  const minY = Math.min(...grounds.map((p) => p[1]));
  const columns = Math.floor((Math.max(...grounds.map((p) => p[0])) - minX) / step) + 1;
  const rows = Math.floor((Math.max(...grounds.map((p) => p[1])) - minY) / step) + 1;
  const buckets = bucketPoints(positions, sourceOrigin, minX - step / 2, minY - step / 2, step, columns, rows);
  const heights = new Float32Array(columns * rows).fill(NaN);
  const rgb = new Uint8Array(3 * columns * rows);
  for (let node = 0; node < columns * rows; node++) {
    const members = buckets.order.subarray(buckets.starts[node]!, buckets.starts[node + 1]!);
    const top = topLayer(Array.from(members, (i) => positions[3 * i + 2]! - sourceOrigin[2]));
    if (top === null) continue;
    heights[node] = top;
    const near = Array.from(members).filter((i) => Math.abs(positions[3 * i + 2]! - sourceOrigin[2] - top) < 0.15);
    for (let k = 0; k < 3; k++) rgb[3 * node + k] = near.reduce((sum, i) => sum + colours[3 * i + k]!, 0) / near.length;
  }
  fillGaps(heights, rgb, columns, rows);
  return assemble(heights, rgb, columns, rows, minX, minY, step, sourceOrigin);
}

function bucketPoints(positions: Float64Array, origin: P3, minX: number, minY: number, step: number, columns: number, rows: number) {
  const count = positions.length / 3;
  const nodeOf = (i: number): number => {
    const c = Math.floor((positions[3 * i]! - origin[0] - minX) / step);
    const r = Math.floor((positions[3 * i + 1]! - origin[1] - minY) / step);
    return c < 0 || r < 0 || c >= columns || r >= rows ? -1 : r * columns + c;
  };
  const starts = new Uint32Array(columns * rows + 1);
  for (let i = 0; i < count; i++) {
    const node = nodeOf(i);
    if (node >= 0) starts[node + 1]!++;
  }
  for (let n = 0; n < columns * rows; n++) starts[n + 1]! += starts[n]!;
  const order = new Uint32Array(starts[columns * rows]!);
  const next = starts.slice();
  for (let i = 0; i < count; i++) {
    const node = nodeOf(i);
    if (node >= 0) order[next[node]!++] = i;
  }
  return { starts, order };
}

/** Median of the highest group of at least two heights within 0.15 m, or null. [m] */
function topLayer(heights: number[]): number | null {
  heights.sort((a, b) => b - a);
  for (let i = 0; i + 1 < heights.length; i++) {
    const group = heights.slice(i).filter((h) => heights[i]! - h < 0.15);
    if (group.length >= 2) return group[Math.floor(group.length / 2)]!;
  }
  return null;
}

/** Nodes without points take the lowest known neighbour, ring by ring: holes close at their lower side. */
function fillGaps(heights: Float32Array, rgb: Uint8Array, columns: number, rows: number): void {
  for (let open = true; open; ) {
    open = false;
    const before = heights.slice();
    for (let node = 0; node < heights.length; node++) {
      if (!Number.isNaN(before[node]!)) continue;
      const c = node % columns;
      const near = [c > 0 ? node - 1 : -1, c + 1 < columns ? node + 1 : -1, node - columns, node + columns].filter(
        (n) => n >= 0 && n < columns * rows && !Number.isNaN(before[n]!),
      );
      if (near.length === 0) {
        open = true;
        continue;
      }
      const lowest = near.reduce((a, b) => (before[b]! < before[a]! ? b : a));
      heights[node] = before[lowest]!;
      for (let k = 0; k < 3; k++) rgb[3 * node + k] = rgb[3 * lowest + k]!;
    }
  }
}

function assemble(
  heights: Float32Array, rgb: Uint8Array, columns: number, rows: number, minX: number, minY: number, step: number, sourceOrigin: P3,
): SurfaceMesh {
  const positions = new Float32Array(3 * columns * rows);
  const textureCoordinates = new Float32Array(2 * columns * rows);
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      const node = r * columns + c;
      positions.set([minX + c * step, minY + r * step, heights[node]!], 3 * node);
      textureCoordinates.set([(c + 0.5) / columns, (rows - r - 0.5) / rows], 2 * node);
    }
  }
  const triangles = new Uint32Array(6 * (columns - 1) * (rows - 1));
  let at = 0;
  for (let r = 0; r + 1 < rows; r++) {
    for (let c = 0; c + 1 < columns; c++) {
      const a = r * columns + c;
      triangles.set([a, a + 1, a + columns + 1, a, a + columns + 1, a + columns], at);
      at += 6;
    }
  }
  const flipped = new Uint8Array(rgb.length);
  for (let r = 0; r < rows; r++) flipped.set(rgb.subarray(3 * r * columns, 3 * (r + 1) * columns), 3 * (rows - 1 - r) * columns);
  return { positions, triangles, textureCoordinates, picture: { width: columns, height: rows, rgb: flipped }, sourceOrigin };
}
