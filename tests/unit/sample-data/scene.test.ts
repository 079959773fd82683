import { describe, expect, test } from 'vitest';
import { NOISE_MODELS } from '../../../sample-data/generator/scene-options.ts';
import { makeScene, SCENE_KINDS, type Scene } from '../../../sample-data/generator/scene.ts';
import type { Truth, TruthPlane } from '../../../src/survey/score/truth.ts';

const quiet = { spacing: 0.1, whiteSigma: 0, outlierShare: 0 } as const;

/** Points of the scene whose plan position lies well inside a plane, by the plane's corners shrunk about their middle. */
function pointsOver(scene: Scene, plane: TruthPlane): number[][] {
  const n = plane.ring.length;
  const middle = [0, 1, 2].map((k) => plane.ring.reduce((sum, p) => sum + p[k]!, 0) / n);
  const ring = plane.ring.map((p) => [0, 1].map((k) => middle[k]! + 0.6 * (p[k]! - middle[k]!)));
  const inside = (x: number, y: number) => ring.reduce((odd, a, i) => {
    const b = ring[(i + 1) % n]!;
    return a[1]! > y !== b[1]! > y && x < ((b[0]! - a[0]!) * (y - a[1]!)) / (b[1]! - a[1]!) + a[0]! ? !odd : odd;
  }, false);
  const list: number[][] = [];
  for (let i = 0; i < scene.positions.length; i += 3) {
    const p = [scene.positions[i]!, scene.positions[i + 1]!, scene.positions[i + 2]!];
    if (inside(p[0]!, p[1]!)) list.push(p);
  }
  return list;
}
const heightOver = (plane: TruthPlane, p: number[]): number =>
  plane.normal.reduce((sum, c, k) => sum + c * (p[k]! - plane.ring[0]![k]!), 0);

describe.each(SCENE_KINDS)('%s', (kind) => {
  const scene = makeScene(kind, 3, { ...quiet, spacing: 0.2 });
  const { truth } = scene;

  test('corners lie on their plane, in order, and areas agree with corners', () => {
    for (const p of truth.planes) {
      for (const q of [...p.ring, ...p.holes.flat()]) expect(Math.abs(heightOver(p, [...q]))).toBeLessThan(1e-6);
      const planArea = (ring: readonly (readonly number[])[]) => ring.reduce((sum, a, i) => {
        const b = ring[(i + 1) % ring.length]!;
        const [x, y] = ring[0]!;
        return sum + ((a[0]! - x!) * (b[1]! - y!) - (b[0]! - x!) * (a[1]! - y!)) / 2;
      }, 0);
      expect(planArea(p.ring)).toBeGreaterThan(0);
      for (const hole of p.holes) expect(planArea(hole)).toBeLessThan(0);
      const net = planArea(p.ring) + p.holes.reduce((sum, hole) => sum + planArea(hole), 0);
      expect(net).toBeCloseTo(p.planAreaM2, 4);
      expect(p.planAreaM2).toBeCloseTo(p.slopeAreaM2 * Math.cos((p.pitchDeg * Math.PI) / 180), 6);
    }
  });

  test('every side of every plane is one edge or part of one, and each edge names its planes', () => {
    const ids = new Set(truth.planes.map((p) => p.id));
    for (const e of truth.edges) for (const id of e.planes) expect(ids.has(id)).toBe(true);
    for (const p of truth.planes) {
      const sides = [p.ring, ...p.holes].reduce((sum, ring) => sum + ring.reduce((s, a, i) => s + gap(a, ring[(i + 1) % ring.length]!), 0), 0);
      const edges = truth.edges.filter((e) => e.planes.includes(p.id)).reduce((sum, e) => sum + gap(e.from, e.to), 0);
      expect(edges).toBeCloseTo(sides, 5);
    }
  });

  test('the same seed gives the same bytes, another seed others', () => {
    const again = makeScene(kind, 3, { ...quiet, spacing: 0.2 });
    expect(again.positions).toEqual(scene.positions);
    expect(again.colours).toEqual(scene.colours);
    expect(again.truth).toEqual(truth);
    expect(makeScene(kind, 4, { ...quiet, spacing: 0.2 }).positions).not.toEqual(scene.positions);
  });

  test('holds finite coordinates only', () => {
    expect(scene.positions.every(Number.isFinite)).toBe(true);
    expect(scene.colours.length).toBe(scene.positions.length);
  });
});

const gap = (a: readonly number[], b: readonly number[]): number => Math.hypot(...a.map((c, k) => c - b[k]!));

describe('what the camera sees', () => {
  const scene = makeScene('gable', 5, quiet);

  test('without noise the points inside a plane lie on it', () => {
    for (const plane of scene.truth.planes) {
      const off = pointsOver(scene, plane).map((p) => heightOver(plane, p));
      const onPlane = off.filter((h) => Math.abs(h) < 1e-6);
      // The rest is what stands on the roof, and no wall or ground below it.
      expect(onPlane.length / off.length).toBeGreaterThan(0.9);
      expect(off.filter((h) => h < -0.01)).toEqual([]);
    }
  });

  test('the density follows the incidence', () => {
    const [plane] = scene.truth.planes as [TruthPlane];
    const upward = plane.normal[2];
    const perSlopeArea = pointsOver(scene, plane).filter((p) => Math.abs(heightOver(plane, p)) < 1e-6).length / (0.36 * plane.slopeAreaM2);
    const level = 1 / 0.1 ** 2;
    // A chimney hides a little of it.
    expect(perSlopeArea / level).toBeLessThan((0.22 + 0.78 * upward) * 1.03);
    expect(perSlopeArea / level).toBeGreaterThan((0.22 + 0.78 * upward) * 0.85);
  });

  test('no ground shows under the roof', () => {
    const { groundElevationM } = scene.truth;
    const under = scene.truth.planes.flatMap((p) => pointsOver(scene, p)).filter((p) => p[2]! < groundElevationM + 0.5);
    expect(under).toEqual([]);
  });

  test('a ridge is rounded downward by the blur, and a metre away from it nothing moves', () => {
    const blurred = makeScene('gable', 5, { ...quiet, groundSampleDistance: 0.05 });
    const ridge = blurred.truth.edges.find((e) => e.kind === 'ridge')!;
    const offsets: { distance: number; height: number }[] = [];
    for (let i = 0; i < blurred.positions.length; i += 3) {
      const p = [0, 1, 2].map((k) => blurred.positions[i + k]! - ridge.from[k]!);
      const a = [0, 1, 2].map((k) => ridge.to[k]! - ridge.from[k]!);
      const along = (p[0]! * a[0]! + p[1]! * a[1]!) / Math.hypot(a[0]!, a[1]!);
      const distance = Math.abs(p[0]! * a[1]! - p[1]! * a[0]!) / Math.hypot(a[0]!, a[1]!);
      if (along > 1 && along < Math.hypot(a[0]!, a[1]!) - 1 && distance < 0.01 && p[2]! > -0.5 && p[2]! < 0.3) offsets.push({ distance, height: p[2]! });
    }
    const pitch = (blurred.truth.planes[0]!.pitchDeg * Math.PI) / 180;
    const mean = offsets.reduce((sum, o) => sum + o.height, 0) / offsets.length;
    // Blur of sigma g across a roof of slope t takes 2 g t phi(0) off the top; the points lie on average 5 mm beside it.
    expect(mean).toBeCloseTo(-2 * 0.05 * Math.tan(pitch) * 0.3989, 2);
    expect(offsets.length).toBeGreaterThan(5);
  });

  test('outlierShare of the points are strays, coverage holes are empty', () => {
    const strays = makeScene('gable', 5, { ...quiet, outlierShare: 0.03 });
    const more = (strays.positions.length - scene.positions.length) / strays.positions.length;
    expect(more).toBeCloseTo(0.03, 3);
    expect(makeScene('gable', 5, { ...quiet, coverageHoles: 3 }).positions.length).toBeLessThan(scene.positions.length);
  });

  test('refuses a spacing or share out of range', () => {
    expect(() => makeScene('gable', 1, { spacing: 0 })).toThrow(RangeError);
    expect(() => makeScene('gable', 1, { outlierShare: 0.9 })).toThrow(RangeError);
  });
});

test('the flat roof of the hall falls by 1.5 to 2 % to its drains and lies inside the parapet', () => {
  const truth: Truth = makeScene('harbour', 2, { ...quiet, spacing: 0.3 }).truth;
  const hall = truth.planes.filter((p) => p.building === 'hall');
  expect(hall).toHaveLength(8);
  const falls = hall.map((p) => Math.tan((p.pitchDeg * Math.PI) / 180));
  expect(Math.min(...falls)).toBeGreaterThan(0.0149);
  expect(Math.max(...falls)).toBeLessThan(0.03);
  for (const drain of truth.drains) expect(hall.filter((p) => p.ring.some((q) => gap(q, drain.at) < 1e-6))).toHaveLength(4);
  const parapet = truth.parapets.find((p) => p.id === 'hall parapet')!;
  expect(parapet.path[0]).toEqual(parapet.path.at(-1));
  expect(parapet.heightAboveRoofM).toBeCloseTo(0.55, 9);
});

test('the harbour holds every kind of edge, and blocks repeat it with other numbers', () => {
  const truth = makeScene('harbour', 1, { ...quiet, spacing: 0.4, blocks: 2 }).truth;
  const kinds = new Set(truth.edges.map((e) => e.kind));
  expect([...kinds].sort()).toEqual(['abutment', 'eave', 'hip', 'parapet', 'rake', 'ridge', 'unknown', 'valley']);
  expect(truth.planes).toHaveLength(52);
  expect(new Set(truth.planes.map((p) => p.id)).size).toBe(52);
});

test('a million points take about a second', () => {
  const start = performance.now();
  const scene = makeScene('harbour', 1, { spacing: 0.035, ...NOISE_MODELS.correlated });
  expect(scene.positions.length / 3).toBeGreaterThan(900_000);
  // Room for a busy machine; about 1 s alone on one core of 2.5 GHz.
  expect(performance.now() - start).toBeLessThan(8000);
});
