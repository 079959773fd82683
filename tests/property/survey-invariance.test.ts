import { beforeAll, describe, expect, it } from 'vitest';
import { NOISE_MODELS } from '../../sample-data/generator/scene-options.ts';
import { makeScene } from '../../sample-data/generator/scene.ts';
import { seededRandom } from '../../src/geometry/seeded-random.ts';
import type { Vector3 } from '../../src/geometry/vector.ts';
import type { RoofEdge, RoofPlane, RoofRecord } from '../../src/roof/record.ts';
import { directRunner } from '../../src/survey/direct-runner.ts';
import { portableEnvironment } from '../../src/survey/portable-environment.ts';
import { surveyFiles } from '../../src/survey/survey-files.ts';
import { surveyPoints } from '../../src/survey/survey-points.ts';
import { isKnown, type Measured } from '../../src/units/measured.ts';

/**
 * What must not change a roof: where it stands, how it is turned, in which unit and in which order its points come.
 * The same noise is on the points every time, so a number may move by its own stated ± at most. No projection is stated,
 * hence true north is grid north.
 */

const SCENES = [{ kind: 'gable', seed: 4 }, { kind: 'hip', seed: 3 }] as const;
/** About 34 000 points a scene. [m] */
const SPACING = 0.12;
/** Farther apart than this, two edges or planes are not the same one. [m], [deg] */
const SAME_PLACE = 0.5;
const SAME_DIRECTION = 3;

const runner = directRunner(portableEnvironment);

/** Colours are left out, so that only geometry speaks. */
async function survey(positions: Float64Array): Promise<RoofRecord> {
  return (await surveyPoints({ name: 'scene', positions, crs: null, colours: null, intensity: null, classification: null }, {}, runner)).record;
}

type Move = (p: Vector3) => Vector3;

function moved(positions: Float64Array, move: Move): Float64Array {
  const out = new Float64Array(positions.length);
  for (let i = 0; i < positions.length; i += 3) out.set(move([positions[i]!, positions[i + 1]!, positions[i + 2]!]), i);
  return out;
}

const planesOf = (record: RoofRecord): RoofPlane[] => record.buildings.flatMap((b) => b.roofPlanes);
const edgesOf = (record: RoofRecord): RoofEdge[] => record.buildings.flatMap((b) => b.edges);

/** Middle of some corners in source coordinates. */
const middle = (record: RoofRecord, corners: readonly Vector3[]): Vector3 =>
  [0, 1, 2].map((k) => record.frame.origin[k]! + corners.reduce((sum, p) => sum + p[k]! / corners.length, 0)) as unknown as Vector3;

function nearest<T>(list: readonly T[], place: Vector3, placeOf: (one: T) => Vector3): { one: T; distance: number } {
  const all = list.map((one) => ({ one, distance: Math.hypot(...placeOf(one).map((c, k) => c - place[k]!)) }));
  return all.reduce((best, next) => (next.distance < best.distance ? next : best));
}

function expectSame(ours: Measured, base: Measured, what: string): void {
  expect(isKnown(ours), `${what} known`).toBe(isKnown(base));
  if (!isKnown(ours) || !isKnown(base)) return;
  expect(Math.abs(ours.value - base.value), `${what}: ${ours.value} ± ${ours.u95}, was ${base.value} ± ${base.u95}`).toBeLessThanOrEqual(Math.max(ours.u95, base.u95));
}

/**
 * Every plane and edge of the base is there once more, with the same numbers within their ±.
 *
 * @param move  Where a place of the base is now, source coordinates. [m]
 * @param turnDeg  How far every azimuth has turned, clockwise.
 */
function expectSameRoof(record: RoofRecord, base: RoofRecord, move: Move, turnDeg = 0): void {
  const planes = planesOf(record);
  expect(planes).toHaveLength(planesOf(base).length);
  const partners = planesOf(base).map((was) => {
    const { one: plane, distance } = nearest(planes, move(middle(base, was.outline)), (p) => middle(record, p.outline));
    expect(distance, `middle of ${was.id}`).toBeLessThan(SAME_PLACE);
    expectSame(plane.pitchDeg, was.pitchDeg, `pitch of ${was.id}`);
    expectSame(plane.slopeAreaM2, was.slopeAreaM2, `slope area of ${was.id}`);
    expectSame(plane.planAreaM2, was.planAreaM2, `plan area of ${was.id}`);
    const [now, before] = [plane.azimuthDeg, was.azimuthDeg];
    if (!isKnown(now) || !isKnown(before)) throw new Error(`Expected an azimuth of ${was.id}.`);
    const off = (((now.value - before.value - turnDeg) % 360) + 540) % 360 - 180;
    expect(Math.abs(off), `azimuth of ${was.id}: ${now.value}, was ${before.value}`).toBeLessThanOrEqual(Math.min(SAME_DIRECTION, Math.max(now.u95, before.u95)));
    return plane.id;
  });
  expect(new Set(partners).size).toBe(partners.length);
  expectSameEdges(record, base, move);
}

function expectSameEdges(record: RoofRecord, base: RoofRecord, move: Move): void {
  const edges = edgesOf(record);
  for (const was of edgesOf(base)) {
    const { one: edge, distance } = nearest(edges.filter((e) => e.kind === was.kind), move(middle(base, [was.from, was.to])), (e) => middle(record, [e.from, e.to]));
    expect(distance, `middle of ${was.kind} ${was.id}`).toBeLessThan(SAME_PLACE);
    expectSame(edge.slopeLengthM, was.slopeLengthM, `length of ${was.kind} ${was.id}`);
  }
}

const kindsOf = (record: RoofRecord): string[] => edgesOf(record).map((e) => e.kind).sort();

const TURN = 37;
const turned: Move = (([c, s]) => ([x, y, z]: Vector3): Vector3 => {
  const [dx, dy] = [x - 571_200, y - 6_020_400];
  return [571_200 + c! * dx - s! * dy, 6_020_400 + s! * dx + c! * dy, z];
})([Math.cos((TURN * Math.PI) / 180), Math.sin((TURN * Math.PI) / 180)]);

/** Not by whole cells: the grid falls elsewhere on the roof. */
const shifted: Move = ([x, y, z]) => [x + 500_003.7, y - 500_001.3, z + 12.6];

/** A permutation by Fisher and Yates (Knuth, The Art of Computer Programming 2, 3.4.2, algorithm P), from a seed. */
function shuffled(positions: Float64Array): Float64Array {
  const random = seededRandom(11);
  const out = positions.slice();
  for (let i = out.length / 3 - 1; i > 0; i--) {
    const j = Math.floor(random.uniform() * (i + 1));
    const held = out.slice(3 * i, 3 * i + 3);
    out.copyWithin(3 * i, 3 * j, 3 * j + 3);
    out.set(held, 3 * j);
  }
  return out;
}

function withTwins(positions: Float64Array): Float64Array {
  const twins: number[] = [];
  for (let i = 0; i < positions.length; i += 30) twins.push(positions[i]!, positions[i + 1]!, positions[i + 2]!);
  return Float64Array.from([...positions, ...twins]);
}

const withoutHash = (record: RoofRecord): string => JSON.stringify({ ...record, sources: record.sources.map((s) => ({ ...s, sha256: '' })) });

describe.each(SCENES)('a $kind roof', ({ kind, seed }) => {
  let positions: Float64Array;
  let base: RoofRecord;

  beforeAll(async () => {
    positions = makeScene(kind, seed, { ...NOISE_MODELS.correlated, spacing: SPACING }).positions;
    base = await survey(positions);
    // A base without its planes and edges would make every comparison an empty one.
    expect(planesOf(base)).toHaveLength(kind === 'gable' ? 2 : 4);
    expect(edgesOf(base).length).toBeGreaterThanOrEqual(kind === 'gable' ? 7 : 9);
  });

  it('turned about the vertical keeps its numbers, and its azimuths turn along', async () => {
    // Counter-clockwise on the map, so bearings grow smaller.
    const record = await survey(moved(positions, turned));
    expectSameRoof(record, base, turned, -TURN);
    expect(kindsOf(record)).toEqual(kindsOf(base));
  });

  it('shifted by 500 km keeps its numbers', async () => {
    const record = await survey(moved(positions, shifted));
    expectSameRoof(record, base, shifted);
    expect(kindsOf(record)).toEqual(kindsOf(base));
  });

  it('gives the same bytes in any order of its points, but for the hash of the source', async () => {
    const record = await survey(shuffled(positions));
    expect(record.sources[0]!.sha256).not.toBe(base.sources[0]!.sha256);
    expect(withoutHash(record)).toBe(withoutHash(base));
  });

  it('with every tenth point twice keeps its numbers', async () => {
    const record = await survey(withTwins(positions));
    expectSameRoof(record, base, (p) => p);
    expect(kindsOf(record)).toEqual(kindsOf(base));
  });

  it('from a text file in feet keeps its numbers in metres', async () => {
    // International foot: 0.3048 m exactly (agreement of 1 July 1959, Federal Register 24 FR 5348).
    const lines: string[] = [];
    for (let i = 0; i < positions.length; i += 3) lines.push([0, 1, 2].map((k) => (positions[i + k]! / 0.3048).toFixed(4)).join(' '));
    const file = { name: 'scene.xyz', where: new TextEncoder().encode(lines.join('\n')) };
    const { record } = await surveyFiles([file], { unit: 'ft' }, runner);
    expect(record.sources[0]!.unitToMetre).toBe(0.3048);
    expectSameRoof(record, base, (p) => p);
    expect(kindsOf(record)).toEqual(kindsOf(base));
  });
});
