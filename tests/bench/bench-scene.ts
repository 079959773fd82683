import type { LocalPoints } from '../../src/cloud/bin-into-cells.ts';
import type { Plane } from '../../src/geometry/plane.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';
import { makeScene } from '../../sample-data/generator/scene.ts';
import { NOISE_MODELS } from '../../sample-data/generator/scene-options.ts';

/** A plane that is really there, in the frame of the points. */
export interface TruePlane extends Plane {
  readonly centroid: Vector3;
  readonly pitchDeg: number;
}

export interface BenchScene {
  readonly points: LocalPoints;
  readonly bounds: { readonly min: Vector3; readonly max: Vector3 };
  /** Planes of 2 m² and more. */
  readonly planes: readonly TruePlane[];
  readonly spacing: number;
}

/** Points of one block of the harbour town at 2 cm spacing. */
const POINTS_PER_BLOCK = 3.2e6;

/** The harbour town with about so many points: correlated noise of 2 cm, 1 % stray points. */
export function benchScene(wanted: number): BenchScene {
  const blocks = Math.max(1, Math.round(wanted / POINTS_PER_BLOCK));
  const spacing = 0.02 * Math.sqrt((POINTS_PER_BLOCK * blocks) / wanted);
  const scene = makeScene('harbour', 5, { spacing, blocks, ...NOISE_MODELS.correlated });
  const min = [Infinity, Infinity, Infinity];
  const max = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < scene.positions.length; i++) {
    const k = i % 3;
    const value = (scene.positions[i]! -= Math.floor(scene.sourceOrigin[k]!));
    if (value < min[k]!) min[k] = value;
    if (value > max[k]!) max[k] = value;
  }
  const local = (p: Vector3): Vector3 => [0, 1, 2].map((k) => p[k]! - Math.floor(scene.sourceOrigin[k]!)) as unknown as Vector3;
  const planes = scene.truth.planes
    .filter((plane) => plane.slopeAreaM2 >= 2)
    .map(({ normal, ring, pitchDeg }) => {
      const corners = ring.map(local);
      const centroid = [0, 1, 2].map((k) => corners.reduce((sum, corner) => sum + corner[k]!, 0) / corners.length) as unknown as Vector3;
      return { normal, offset: -(normal[0] * centroid[0] + normal[1] * centroid[1] + normal[2] * centroid[2]), centroid, pitchDeg };
    });
  return {
    points: { pointCount: scene.positions.length / 3, positions: scene.positions, colours: scene.colours, intensity: null, classification: null },
    bounds: { min: [min[0]!, min[1]!, min[2]!], max: [max[0]!, max[1]!, max[2]!] },
    planes,
    spacing,
  };
}

/** Every n-th point, as an even thinning of a cloud whose points stand surface by surface. */
export function everyNth({ pointCount, positions }: LocalPoints, n: number): LocalPoints {
  const kept = Math.floor(pointCount / n);
  const thin = new Float64Array(3 * kept);
  for (let i = 0; i < kept; i++) thin.set(positions.subarray(3 * n * i, 3 * n * i + 3), 3 * i);
  return { pointCount: kept, positions: thin, colours: null, intensity: null, classification: null };
}

/**
 * How well planes meet the truth: a true plane is found when one plane turns from it by less than 3° and passes its
 * middle within 0.1 m; each found plane counts once.
 */
export function scorePlanes(truth: readonly TruePlane[], found: readonly Plane[]): string {
  const errors: number[] = [];
  const left = new Set(found);
  for (const plane of truth) {
    let best: Plane | null = null;
    let least = Infinity;
    for (const candidate of left) {
      const [a, b, c] = candidate.normal;
      const turn = (Math.acos(Math.min(1, a * plane.normal[0] + b * plane.normal[1] + c * plane.normal[2])) * 180) / Math.PI;
      const off = Math.abs(a * plane.centroid[0] + b * plane.centroid[1] + c * plane.centroid[2] + candidate.offset);
      if (turn > 3 || off > 0.1 || turn + 30 * off > least) continue;
      least = turn + 30 * off;
      best = candidate;
    }
    if (!best) continue;
    left.delete(best);
    errors.push(Math.abs((Math.acos(Math.min(1, best.normal[2])) * 180) / Math.PI - plane.pitchDeg));
  }
  errors.sort((a, b) => a - b);
  const at = (share: number): string => (errors[Math.min(errors.length - 1, Math.floor(share * errors.length))] ?? NaN).toFixed(3);
  return `${errors.length} of ${truth.length} true planes, ${found.length - errors.length} others; pitch error median ${at(0.5)}°, 90 % ${at(0.9)}°`;
}
