import { describe, expect, it } from 'vitest';
import type { Vector2 } from '../../../../../src/geometry/vector.ts';
import { adjustCorners } from '../../../../../src/find/measure/corners/adjust-corners.ts';
import { judgeRules, ruleNotes, type JudgedRules } from '../../../../../src/find/measure/corners/judge-rules.ts';
import type { FaceFit } from '../../../../../src/find/measure/faces/fit-faces.ts';
import { solveCorners } from '../../../../../src/find/measure/corners/solve-corners.ts';
import type { Piece, RoofMap } from '../../../../../src/find/measure/borders/split-arcs.ts';

const STEP = 0.1;
const RIM = 0.15;
const WIDTH = 10;
const LENGTH = 16;

type Place = readonly [x: number, y: number, z: number];

/** A roof of flat faces between numbered corners, faces counter-clockwise; each known as surely as `sigma` [m] of height over two metres. */
function roofOf(corners: readonly Place[], faces: readonly (readonly number[])[], sigma: number): { map: RoofMap; fits: FaceFit[] } {
  const fits = faces.map((face): FaceFit => {
    const [p, q, r] = face.map((i) => corners[i]!) as [Place, Place, Place];
    const [ax, ay, az] = [q[0] - p[0], q[1] - p[1], q[2] - p[2]];
    const [bx, by, bz] = [r[0] - p[0], r[1] - p[1], r[2] - p[2]];
    const size = ax * by - ay * bx;
    const [slopeX, slopeY] = [(az * by - ay * bz) / size, (ax * bz - az * bx) / size];
    const [x, y, z] = [0, 1, 2].map((k) => face.reduce((sum, i) => sum + corners[i]![k]! / face.length, 0)) as [number, number, number];
    return {
      centroid: [x, y], elevation: z, slopeX, slopeY, covariance: [sigma ** 2, 0, 0, 0, sigma ** 2 / 4, 0, 0, 0, sigma ** 2 / 4],
      correlation: { distances: new Float64Array(1), covariance: new Float64Array(1), alone: 0, length: 0, inflation: 1 }, noise: 0.005, pointCount: 10000, density: 400, notes: [],
    };
  });
  const pieces: Piece[] = [];
  faces.forEach((face, f) => face.forEach((from, i) => {
    const to = face[(i + 1) % face.length]!;
    const other = faces.findIndex((ring) => ring.some((a, k) => a === to && ring[(k + 1) % ring.length] === from));
    if (other >= 0 && other < f) return;
    const [a, b] = [corners[from]!, corners[to]!];
    const length = Math.hypot(b[0] - a[0], b[1] - a[1]);
    const isFree = other < 0;
    pieces.push({
      left: f + 1, right: other + 1, from, to, line: { at: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], direction: [(b[0] - a[0]) / length, (b[1] - a[1]) / length] },
      meets: !isFree, counted: isFree, sigma: isFree ? 0.003 : 0.1, sigmaAngle: isFree ? 1e-4 : 0.02, cells: Math.round(length / STEP), bias: 0, gone: false, byRaster: false, drawn: false,
    });
  }));
  return { map: { vertices: corners.map(([x, y]) => ({ at: [x, y] as Vector2 })), pieces, rings: [] }, fits };
}

/** Two bays between level walls, each with a drain in its middle; the ridge between them beside the middle of the deck. */
function twoBays(ridge: number, sigma: number) {
  const [x, y] = [LENGTH / 2, WIDTH / 2];
  const corners: Place[] = [[-x, -y, RIM], [x, -y, RIM], [x, y, RIM], [-x, y, RIM], [ridge, -y, RIM], [ridge, y, RIM], [(ridge - x) / 2, 0, 0], [(ridge + x) / 2, 0, 0]];
  return roofOf(corners, [[0, 4, 6], [4, 5, 6], [5, 3, 6], [3, 0, 6], [4, 1, 7], [1, 2, 7], [2, 5, 7], [5, 4, 7]], sigma);
}

/** Two planes to a channel beside the middle, or up to a ridge there. */
function twoFalls(line: number, rise: number, sigma: number) {
  const corners: Place[] = [[-LENGTH / 2, -5, 0], [LENGTH / 2, -5, 0], [LENGTH / 2, line, rise], [LENGTH / 2, 5, 0], [-LENGTH / 2, 5, 0], [-LENGTH / 2, line, rise]];
  return roofOf(corners, [[0, 1, 2, 5], [5, 2, 3, 4]], sigma);
}

function judged({ map, fits }: { map: RoofMap; fits: FaceFit[] }) {
  const solved = solveCorners(map, STEP);
  const free = adjustCorners(map, solved, STEP, { fits });
  const rules = judgeRules(map, solved, fits, free);
  return { rules, free, drawn: adjustCorners(map, solved, STEP, { fits, rules: rules.kept }) };
}

const named = (list: JudgedRules['kept']): string[] => list.map(({ rule }) => rule).sort();

describe('rules of a deck with two bays', () => {
  it('are all kept where bays are equal, and make the ridge surer by a quarter at least', () => {
    const { rules, free, drawn } = judged(twoBays(0, 0.002));
    expect(named(rules.kept)).toEqual(['in line', 'in line', 'in line', 'in line', 'midway', 'parallel or square']);
    const ofRidge = [{ vertex: 4, x: 0.5, y: 0 }, { vertex: 5, x: 0.5, y: 0 }];
    expect(drawn.sigmaOf(ofRidge)).toBeLessThan(0.75 * free.sigmaOf(ofRidge));
    // No rule is trusted below what builders keep to.
    expect(Math.min(...rules.kept.map(({ sigma }) => sigma))).toBeGreaterThanOrEqual(0.02);
  });

  it('a ridge 40 cm off the middle stays there, and its edge says that it was tested', () => {
    const { rules, drawn } = judged(twoBays(0.4, 0.001));
    expect(named(rules.refused)).toEqual(['midway']);
    expect(drawn.positions[4]![0]).toBeCloseTo(0.4, 2);
    const [ridge] = rules.refused[0]!.pieces;
    expect(ruleNotes(rules, ridge!).some((note) => /^not midway between what its falls run to: its planes miss that by 0\.20 m, .*p [<=]/.test(note))).toBe(true);
  });

  it('what nobody can test is not assumed: planes that leave the ridge open to half a metre leave it as it is', () => {
    const { rules, drawn } = judged(twoBays(0.3, 0.04));
    expect([...rules.kept, ...rules.refused].filter(({ rule }) => rule === 'midway')).toEqual([]);
    expect(drawn.positions[4]![0]).toBeCloseTo(0.3, 2);
  });

  it('a rule is the less trusted the less sharply it was tested', () => {
    const sigmaOf = (sigma: number): number => Math.max(...judged(twoBays(0, sigma)).rules.kept.filter(({ rule }) => rule === 'in line').map((rule) => rule.sigma));
    expect(sigmaOf(0.004)).toBeGreaterThan(1.2 * sigmaOf(0.001));
  });
});

describe('a line between two falls', () => {
  it('a channel of a deck is drawn midway between its rims, and left where it is clearly elsewhere', () => {
    const { rules, drawn } = judged(twoFalls(0.05, -0.1, 0.001));
    expect(named(rules.kept)).toEqual(['midway', 'parallel or square']);
    expect(Math.abs(drawn.positions[5]![1])).toBeLessThan(0.05);
    const off = judged(twoFalls(0.3, -0.1, 0.0005));
    expect(named(off.rules.refused)).toEqual(['midway']);
    expect(off.drawn.positions[5]![1]).toBeCloseTo(0.3, 2);
  });

  it('says nothing of planes steeper than decks, nor of falls of different slope', () => {
    const steep = judged(twoFalls(0.02, 2.5, 0.001)).rules;
    expect([...steep.kept, ...steep.refused]).toEqual([]);
    // 2 % on one side and 3 % on the other: nobody meant their line for the middle.
    const uneven = judged(twoFalls(1, -0.12, 0.001)).rules;
    expect([...uneven.kept, ...uneven.refused].filter(({ rule }) => rule === 'midway')).toEqual([]);
  });
});
