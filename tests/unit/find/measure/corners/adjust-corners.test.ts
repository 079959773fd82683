import { describe, expect, it } from 'vitest';
import type { Vector2 } from '../../../../../src/geometry/vector.ts';
import { adjustCorners } from '../../../../../src/find/measure/corners/adjust-corners.ts';
import type { CornerWeight } from '../../../../../src/find/measure/corners/corner-scatter.ts';
import { judgeRules } from '../../../../../src/find/measure/corners/judge-rules.ts';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import { gatherCorners } from '../../../../../src/find/measure/corners/gather-corners.ts';
import { solveCorners } from '../../../../../src/find/measure/corners/solve-corners.ts';
import type { Piece, RoofMap } from '../../../../../src/find/measure/borders/split-arcs.ts';

const STEP = 0.1;

/** Pieces between numbered corners; a line may be told apart from the chord of its corners. */
function mapOf(corners: readonly Vector2[], sides: readonly { ends: [number, number]; left: number; right: number; sigma: number; meets?: boolean; shift?: number }[]): RoofMap {
  const pieces = sides.map(({ ends: [from, to], left, right, sigma, meets = false, shift = 0 }): Piece => {
    const [a, b] = [corners[from]!, corners[to]!];
    const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const direction: Vector2 = [(b[0] - a[0]) / size, (b[1] - a[1]) / size];
    const at: Vector2 = [(a[0] + b[0]) / 2 - shift * direction[1], (a[1] + b[1]) / 2 + shift * direction[0]];
    return { left, right, from, to, line: { at, direction }, meets, cells: Math.round(size / STEP), sigma, sigmaAngle: (3.5 * sigma) / size, bias: 0, gone: false, counted: !meets, byRaster: false, drawn: false };
  });
  return { vertices: corners.map((at) => ({ at })), pieces, rings: [] };
}

/** A plane whose slopes are as sure as its height is over two metres. */
const fitOf = (centroid: Vector2, elevation: number, slopeX: number, slopeY: number, variance: number): FaceFit => ({
  centroid, elevation, slopeX, slopeY, covariance: [variance, 0, 0, 0, variance / 4, 0, 0, 0, variance / 4],
  correlation: { distances: new Float64Array(1), covariance: new Float64Array(1), alone: 0, length: 0, inflation: 1 }, noise: 0.005, pointCount: 10000, density: 400, notes: [],
});

const rectangle: Vector2[] = [[0, 0], [10, 0], [10, 6], [0, 6]];
const rim = (sigma: number) => [0, 1, 2, 3].map((i) => ({ ends: [i, (i + 1) % 4] as [number, number], left: 1, right: 0, sigma }));

/** Derivative of a ring's area by its corners. */
const areaWeights = (ring: readonly Vector2[]): CornerWeight[] =>
  ring.map((_, i) => {
    const [before, after] = [ring[(i + ring.length - 1) % ring.length]!, ring[(i + 1) % ring.length]!];
    return { vertex: i, x: (after[1] - before[1]) / 2, y: (before[0] - after[0]) / 2 };
  });

describe('corners adjusted together', () => {
  it('four sides known to 20 mm each leave 0.33 m² on 10 × 6 m (closed form, root of sum of length × sigma squared)', () => {
    const map = mapOf(rectangle, rim(0.02));
    const adjusted = adjustCorners(map, solveCorners(map, STEP), STEP);
    expect(adjusted.sigmaOf(areaWeights(rectangle))).toBeCloseTo(0.02 * Math.sqrt(272), 2);
    const length = adjusted.sigmaOf([{ vertex: 0, x: -1, y: 0 }, { vertex: 1, x: 1, y: 0 }]);
    // Both end sides, each turned by its own angle at the corner: sqrt(2) × 20 mm × sqrt(1 + 1.75²).
    expect(length).toBeCloseTo(Math.SQRT2 * 0.02 * Math.hypot(1, 1.75), 2);
  });

  it('what all four sides have alike moves the area by their length, and a length by twice that', () => {
    const map = mapOf(rectangle, rim(0.02));
    for (const piece of map.pieces) piece.bias = -0.01;
    const { scatterOf } = adjustCorners(map, solveCorners(map, STEP), STEP);
    const area = scatterOf(areaWeights(rectangle), []);
    expect(area.rim).toBeCloseTo(32 * 0.01, 2);
    // The rest of each side's 20 mm is its own.
    expect(area.edges).toBeCloseTo(Math.sqrt(0.02 ** 2 - 0.01 ** 2) * Math.sqrt(272), 2);
    expect(scatterOf([{ vertex: 0, x: -1, y: 0 }, { vertex: 1, x: 1, y: 0 }], []).rim).toBeCloseTo(0.02, 3);
  });

  it('puts corners where moved sides cross', () => {
    const map = mapOf(rectangle, rim(0.02).map((side, i) => ({ ...side, shift: i === 0 ? -0.05 : 0 })));
    const { positions } = adjustCorners(map, solveCorners(map, STEP), STEP);
    expect(positions[0]![1]).toBeCloseTo(-0.05, 3);
    expect(positions[1]![1]).toBeCloseTo(-0.05, 3);
    expect(positions[2]![1]).toBeCloseTo(6, 3);
  });
});

describe('planes and their borders err together', () => {
  // A gable of 45°, 6 m from eave to ridge, 10 m long; its ridge is where the planes cross.
  const run = 6;
  const length = 10;
  const corners: Vector2[] = [[-run, 0], [0, 0], [run, 0], [run, length], [0, length], [-run, length]];
  const sigma = 1e-4;
  const map = mapOf(corners, [
    { ends: [0, 1], left: 1, right: 0, sigma }, { ends: [1, 2], left: 2, right: 0, sigma }, { ends: [2, 3], left: 2, right: 0, sigma },
    { ends: [3, 4], left: 2, right: 0, sigma }, { ends: [4, 5], left: 1, right: 0, sigma }, { ends: [5, 0], left: 1, right: 0, sigma },
    { ends: [1, 4], left: 2, right: 1, sigma: 0.003, meets: true },
  ]);
  const steep = (x: number, slopeX: number, variance: number): FaceFit =>
    ({ ...fitOf([x, length / 2], 10 - run / 2, slopeX, 0, 0), covariance: [0, 0, 0, 0, variance, 0, 0, 0, 0] });
  const slopeSigma = 0.001;
  const plane = { face: 1, elevation: 0, slopeX: (run * length) / Math.SQRT2, slopeY: 0 };
  const areaOfFirst = areaWeights([corners[0]!, corners[1]!, corners[4]!, corners[5]!]).map(({ x, y }, i) => ({ vertex: [0, 1, 4, 5][i]!, x, y }));

  it('a plane too steep by d meets the other half a run times d sooner over both slopes: it loses half of what its slope adds (closed form)', () => {
    const { scatterOf } = adjustCorners(map, solveCorners(map, STEP), STEP, { fits: [steep(-run / 2, 1, slopeSigma ** 2), steep(run / 2, -1, 0)] });
    const lost = (length * run) / 2 / 2;
    expect(scatterOf(areaOfFirst, []).planes).toBeCloseTo(lost * slopeSigma, 4);
    const stretched = areaOfFirst.map(({ vertex, x, y }) => ({ vertex, x: Math.SQRT2 * x, y: Math.SQRT2 * y }));
    expect(scatterOf(stretched, [plane]).planes).toBeCloseTo(Math.abs((run * length) / Math.SQRT2 - Math.SQRT2 * lost) * slopeSigma, 4);
  });

  it('of both planes together only the slopes remain: the ridge moves area from one to the other', () => {
    const { scatterOf } = adjustCorners(map, solveCorners(map, STEP), STEP, { fits: [steep(-run / 2, 1, slopeSigma ** 2), steep(run / 2, -1, 0)] });
    const both = areaWeights([corners[0]!, corners[2]!, corners[3]!, corners[5]!]).map(({ x, y }, i) => ({ vertex: [0, 2, 3, 5][i]!, x, y }));
    expect(scatterOf(both, []).planes).toBeLessThan(1e-4);
    expect(scatterOf(both, [plane]).planes).toBeCloseTo(plane.slopeX * slopeSigma, 4);
  });
});

describe('corners gathered', () => {
  /** A valley that reaches the rim `gap` beside the corner it should run to. */
  const valley = (gap: number, sigma: number): RoofMap =>
    mapOf([...rectangle, [gap, 0], [6, 6]], [
      { ends: [0, 4], left: 1, right: 0, sigma: 0.005 },
      { ends: [4, 1], left: 2, right: 0, sigma: 0.005 },
      { ends: [1, 2], left: 2, right: 0, sigma: 0.005 },
      { ends: [2, 5], left: 2, right: 0, sigma: 0.005 },
      { ends: [5, 3], left: 1, right: 0, sigma: 0.005 },
      { ends: [3, 0], left: 1, right: 0, sigma: 0.005 },
      { ends: [4, 5], left: 1, right: 2, sigma, meets: true },
    ]);
  /** Planes that meet in that valley: the second rises by 3 % to its side, both as sure as the line is. */
  const sheets = (gap: number, sigma: number): FaceFit[] => {
    const size = Math.hypot(6 - gap, 6);
    const [slopeX, slopeY] = [(0.03 * 6) / size, (-0.03 * (6 - gap)) / size];
    const variance = (0.03 * sigma) ** 2 / 2;
    return [fitOf([gap, 0], 0, 0, 0, variance), fitOf([gap, 0], 0, slopeX, slopeY, variance)];
  };
  const gather = (map: RoofMap, fits: readonly FaceFit[]): number => gatherCorners(map, fits, () => solveCorners(map, STEP));

  it('a poorly known valley runs to the corner it cannot be told from', () => {
    const map = valley(0.4, 0.2);
    expect(gather(map, sheets(0.4, 0.2))).toBe(1);
    const solved = solveCorners(map, STEP);
    const { positions } = adjustCorners(map, solved, STEP);
    expect(map.pieces[6]!.from).toBe(0);
    expect(Math.hypot(...positions[0]!)).toBeLessThan(0.02);
  });

  it('a well known valley stays beside the corner', () => {
    expect(gather(valley(0.4, 0.02), sheets(0.4, 0.02))).toBe(0);
  });
});

describe('corners gathered where three falls end at a wall', () => {
  // A ridge from (0, 5) and two valleys end at (0, 0), but labels left a short border between the valleys' far falls.
  const corners: Vector2[] = [[-8, 0], [8, 0], [0.5, 0], [0.4, 0.7], [-0.2, 0.6], [0, 5], [4, 4], [-4, 4]];
  const map = (): RoofMap => mapOf(corners, [
    { ends: [0, 2], left: 3, right: 0, sigma: 0.005 },
    { ends: [2, 1], left: 4, right: 0, sigma: 0.005 },
    { ends: [2, 3], left: 3, right: 4, sigma: 0.3 },
    { ends: [3, 4], left: 3, right: 2, sigma: 0.1, meets: true },
    { ends: [4, 5], left: 1, right: 2, sigma: 0.1, meets: true },
    { ends: [3, 6], left: 2, right: 4, sigma: 0.1, meets: true },
    { ends: [4, 7], left: 3, right: 1, sigma: 0.1, meets: true },
  ]);
  const FALL = 0.02;
  /** East and west of the ridge, and both falls from the wall, which are one plane. */
  const fits = (lift: number): FaceFit[] => [
    fitOf([-2, 3], 2 * -FALL + lift, FALL, 0, 1e-5), fitOf([2, 3], 2 * -FALL, -FALL, 0, 1e-5),
    fitOf([-3, 1], -FALL, 0, -FALL, 1e-5), fitOf([3, 1], -FALL, 0, -FALL, 1e-5),
  ];

  it('in one go, when all planes have one height there, and not when one lies centimetres off', () => {
    const near = map();
    expect(gatherCorners(near, fits(0.002), () => solveCorners(near, STEP))).toBe(2);
    const ends = [4, 5, 6].map((i) => near.pieces[i]!.from);
    expect(new Set([...ends, near.pieces[0]!.to, near.pieces[1]!.from]).size).toBe(1);
    expect(Math.hypot(...solveCorners(near, STEP).positions[ends[0]!]!)).toBeLessThan(0.3);
    const off = map();
    gatherCorners(off, fits(0.05), () => solveCorners(off, STEP));
    // Where the planes cross a metre from the wall their corner is not on it.
    expect(off.pieces[4]!.from).not.toBe(off.pieces[0]!.to);
  });
});

describe('a deck of four falls to a drain', () => {
  const corners: Vector2[] = [[-5, -4], [5, -4], [5, 4], [-5, 4], [0, 0]];
  const FALL = 0.02;
  /** Falls of 2 % along x and 2.5 % along y meet along the diagonals; each plane is lifted by its own error. */
  const falls = (lifts: readonly number[], sigma: number): FaceFit[] =>
    ([[0, -1], [1, 0], [0, 1], [-1, 0]] as const).map(([ux, uy], i) => {
      const [reach, slope] = ux === 0 ? [4, FALL * 1.25] : [5, FALL];
      const at: Vector2 = [(ux * reach * 2) / 3, (uy * reach * 2) / 3];
      return fitOf(at, slope * (reach * 2) / 3 + lifts[i]!, slope * ux, slope * uy, sigma * sigma);
    });
  const deck = (drain: Vector2): RoofMap => {
    const places = [...corners.slice(0, 4), drain];
    return mapOf(places, [
      ...[0, 1, 2, 3].map((i) => ({ ends: [i, (i + 1) % 4] as [number, number], left: i + 1, right: 0, sigma: 0.005 })),
      ...[0, 1, 2, 3].map((i) => ({ ends: [i, 4] as [number, number], left: ((i + 3) % 4) + 1, right: i + 1, sigma: 0.15, meets: true })),
    ]);
  };
  const LIFTS = [0.004, -0.003, 0.002, -0.004];

  it('its planes are moved to one height at the corners of the walls and at the drain', () => {
    const map = deck([0, 0]);
    const { positions, fits } = adjustCorners(map, solveCorners(map, STEP), STEP, { fits: falls(LIFTS, 0.004) });
    expect(fits.size).toBe(4);
    const heightAt = (face: number, [x, y]: Vector2): number => {
      const { elevation, slopeX, slopeY, centroid } = fits.get(face)!;
      return elevation + slopeX * (x - centroid[0]) + slopeY * (y - centroid[1]);
    };
    [0, 1, 2, 3].forEach((i) => {
      expect(Math.abs(heightAt(i + 1, positions[i]!) - heightAt(((i + 3) % 4) + 1, positions[i]!))).toBeLessThan(0.0005);
      expect(Math.abs(heightAt(i + 1, positions[4]!) - heightAt(((i + 3) % 4) + 1, positions[4]!))).toBeLessThan(0.0005);
      // What four planes say of one surface is surer than what each says alone.
      expect(fits.get(i + 1)!.covariance[0]!).toBeLessThan(0.004 ** 2);
      // And never as sure as if they erred alone: waves of the noise run on over their borders.
      for (const k of [0, 4, 8]) expect(fits.get(i + 1)!.covariance[k]!).toBeGreaterThan(k === 0 ? 0.25 * 0.004 ** 2 : (0.25 * 0.004 ** 2) / 4);
    });
  });

  it('valleys run on straight through the drain where that is within the scatter of the planes, and not where it is far beyond', () => {
    const judged = (drain: Vector2, sigma: number) => {
      const map = deck(drain);
      const solved = solveCorners(map, STEP);
      const fits = falls(LIFTS.map((lift) => (lift * sigma) / 0.004), sigma);
      return { map, solved, fits, rules: judgeRules(map, solved, fits, { ...adjustCorners(map, solved, STEP, { fits }), positions: solved.positions }) };
    };
    const { map, solved, fits, rules } = judged([0.15, 0.1], 0.004);
    expect(rules.kept.map(({ rule }) => rule)).toEqual(['in line', 'in line']);
    const { positions } = adjustCorners(map, solved, STEP, { fits, rules: rules.kept });
    expect(Math.hypot(...positions[4]!)).toBeLessThan(0.04);
    const far = judged([0.6, 0.1], 0.0005).rules;
    expect(far.kept).toEqual([]);
    expect(far.refused.length).toBe(2);
  });
});
