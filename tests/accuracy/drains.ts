import { addBuilding } from '../../sample-data/generator/building.ts';
import { photograph } from '../../sample-data/generator/photograph.ts';
import type { P2, P3 } from '../../sample-data/generator/points.ts';
import { makeRandom, type Random } from '../../sample-data/generator/random.ts';
import { fallsToChannel, fallsToDrains, type RoofShape } from '../../sample-data/generator/roof-shape.ts';
import { addGround } from '../../sample-data/generator/surroundings.ts';
import { emptyModel } from '../../sample-data/generator/surface.ts';
import type { LowPoint } from '../../src/roof/record.ts';
import { surveyPoints } from './survey-points.ts';

/** A flat roof with falls to known drains. */
export interface DrainCase {
  readonly seed: number;
  /** Fall of the wider facets over run; rise of the long waves of noise [m] and their length [m]. */
  readonly fall: number;
  readonly longSigma: number;
  readonly longLength: number;
}

export interface DrainResult {
  readonly case: DrainCase;
  /** Fall × basin radius over long-wave sigma, from the truth (the ratio drains are trusted by). */
  readonly ratio: number;
  /** The survey claims drains on this roof. */
  readonly isTrusted: boolean;
  /** Low points that say a level line instead of a place. */
  readonly lines: number;
  /** Distance of each drain to the nearest low point called likely, and to the nearest of any; REACH and more is none. [m] */
  readonly likely: readonly number[];
  readonly listed: readonly number[];
  /** Low points called likely with no drain within REACH. */
  readonly falseCount: number;
  /** No place is claimed or offered, and the record says why. */
  readonly refused: boolean;
  /** Drains under water whose hole in the points is a cue, and holes elsewhere that are taken for one. */
  readonly holesSeen: number;
  readonly falseHoles: number;
  /** Signed errors of the depth over their stated half width at 95 %. */
  readonly depthErrors: readonly number[];
}

const SPACING = 0.05;
const WHITE = 0.01;
const REACH = 1;
/** Radius of standing water at a drain. [m] */
const PUDDLE = 0.35;
export const REFUSAL = 'cannot be told from this cloud';

/** Trusted roofs have ratios of 10 to 40, untrusted ones of 0.5 to 5; sizes, bays, turn and length of the waves are drawn. */
export function drainCase(seed: number, trusted: boolean): DrainCase {
  const random = makeRandom(seed * 77 + (trusted ? 1 : 2));
  const ratio = trusted ? 10 * 4 ** random.next() : 0.5 * 10 ** random.next();
  const { radius } = layoutOf(seed);
  const fall = trusted ? random.between(0.01, 0.025) : random.between(0.005, 0.015);
  return { seed, fall, longSigma: (fall * radius) / ratio, longLength: random.between(0.3, 1) };
}

function layoutOf(seed: number): { length: number; width: number; baysX: number; baysY: number; radius: number } {
  const random = makeRandom(seed * 13 + 5);
  const [baysX, baysY] = random.pick([[1, 1], [2, 1], [2, 2]] as const);
  const length = baysX * random.between(7, 10);
  const width = baysY * random.between(6, 8);
  return { length, width, baysX, baysY, radius: Math.sqrt((length * width) / baysX / baysY / Math.PI) };
}

/**
 * @param isChannel  Two boards that meet in a level channel instead of bays: the shape has no place for a drain.
 * @param puddle  Radius of standing water at each drain, where no point is seen; as many holes as large are left on the boards. [m]
 */
export async function runDrainCase(c: DrainCase, isChannel = false, puddle = 0): Promise<DrainResult> {
  const random = makeRandom(c.seed * 101 + 3);
  const { length, width, baysX, baysY, radius } = layoutOf(c.seed);
  const shape = isChannel ? fallsToChannel(length, width, c.fall) : fallsOffCentre(random, length, width, baysX, baysY, c.fall);
  const turn = random.between(0, 2 * Math.PI);
  const model = emptyModel();
  const roofZ = 7;
  addBuilding(model, {
    id: 'hall', at: [0, 0], turn, groundZ: 2, eaveHeight: roofZ - 2, overhang: () => 0, shape,
    roofPaint: 'membrane', wallPaint: 'concrete', parapet: { height: random.between(0.4, 0.8), thickness: 0.3 },
  });
  const reach = length / 2 + width / 2 + 3;
  addGround(model, [-reach, -reach], [reach, reach], 2, 'quay');
  const points = photograph(model.surfaces, c.seed, {
    spacing: SPACING, groundSampleDistance: SPACING / 2, whiteSigma: WHITE, outlierShare: 0.01, dome: 0, coverageHoles: 0, groundKeep: 0.3,
    correlated: [{ sigma: c.longSigma, length: c.longLength }],
  });
  const onSite = ([x, y]: readonly [number, number, ...number[]]): P2 => [x * Math.cos(turn) - y * Math.sin(turn), x * Math.sin(turn) + y * Math.cos(turn)];
  // On the boards: a third of the way from a corner's side to the drain.
  const decoys = puddle > 0 ? shape.planes.filter((_, i) => i % 4 === 0).map(({ ring: [a, b, d] }) => onSite([(a![0] + b![0] + d![0]) / 3, (a![1] + b![1] + d![1]) / 3])) : [];
  const dry = withoutDiscs(points, puddle > 0 ? [...shape.drains.map(onSite), ...decoys] : [], puddle, roofZ - 1);
  const record = await surveyPoints(dry.positions, dry.colours);
  const [ox, oy] = record.frame.origin;
  const drains = shape.drains.map((drain: P3): P2 => [onSite(drain)[0] - ox, onSite(drain)[1] - oy]);
  const lows = record.buildings.flatMap((b) => b.lowPoints);
  return { case: c, ratio: (c.fall * radius) / c.longSigma, ...judge(lows, drains, (c.fall * Math.max(length / baysX, width / baysY)) / 2) };
}

/** Points but those within a disc about some places, above a height. */
function withoutDiscs(points: { readonly count: number; readonly positions: Float64Array; readonly colours: Uint8Array }, places: readonly P2[], radius: number, above: number): { positions: Float64Array; colours: Uint8Array } {
  const kept = Array.from({ length: points.count }, (_, i) => i).filter((i) => {
    const [x, y, z] = [points.positions[3 * i]!, points.positions[3 * i + 1]!, points.positions[3 * i + 2]!];
    return z < above || places.every(([px, py]) => Math.hypot(x - px, y - py) >= radius);
  });
  return { positions: Float64Array.from({ length: 3 * kept.length }, (_, j) => points.positions[3 * kept[Math.floor(j / 3)]! + (j % 3)]!), colours: Uint8Array.from({ length: 3 * kept.length }, (_, j) => points.colours[3 * kept[Math.floor(j / 3)]! + (j % 3)]!) };
}

/** Bays whose drains stand off their middles, so that the boards differ in fall. */
function fallsOffCentre(random: Random, length: number, width: number, baysX: number, baysY: number, fall: number): RoofShape & { drains: P3[] } {
  const shape = fallsToDrains(length, width, baysX, baysY, fall);
  const [bx, by] = [length / baysX, width / baysY];
  const drains = shape.drains.map(([x, y, z]): P3 => [x + bx * random.between(-0.15, 0.15), y + by * random.between(-0.15, 0.15), z]);
  // The last corner of each triangular board is the drain of its bay.
  const planes = shape.planes.map((plane, i) => ({ ...plane, ring: [plane.ring[0]!, plane.ring[1]!, drains[Math.floor(i / 4)]!] }));
  return { ...shape, planes, drains };
}

function judge(lows: readonly LowPoint[], drains: readonly P2[], depth: number): Omit<DrainResult, 'case' | 'ratio'> {
  const placed = lows.filter(({ verdict }) => verdict !== 'cannot-tell');
  const likely = placed.filter(({ verdict }) => verdict === 'likely');
  const holes = placed.filter(({ cues }) => cues?.includes('hole-sloping-in'));
  const away = (low: LowPoint, [x, y]: P2): number => Math.hypot(low.at[0] - x, low.at[1] - y);
  const nearest = (list: readonly LowPoint[]): number[] => drains.map((d) => Math.min(REACH, ...list.map((low) => away(low, d))));
  return {
    isTrusted: likely.length > 0,
    holesSeen: drains.filter((d) => holes.some((low) => away(low, d) < REACH)).length,
    falseHoles: holes.filter((low) => drains.every((d) => away(low, d) >= REACH)).length,
    lines: placed.filter(({ lowLine }) => lowLine !== undefined).length,
    likely: nearest(likely),
    listed: nearest(placed),
    falseCount: likely.filter((low) => drains.every((d) => away(low, d) >= REACH)).length,
    refused: placed.length === 0 && lows.some(({ depthM }) => depthM.value === null && depthM.why === REFUSAL),
    depthErrors: placed.flatMap((low) => (low.depthM.value !== null && drains.some((d) => away(low, d) < REACH) ? [(low.depthM.value - depth) / low.depthM.u95] : [])),
  };
}

const share = (n: number, of: number): string => (of === 0 ? '–' : `${((100 * n) / of).toFixed(1)} % of ${of}`);

/** Table for the report of the accuracy run. @param count  Roofs of each group. */
export async function drainLines(firstSeed: number, count: number): Promise<string[]> {
  const trusted: DrainResult[] = [];
  const untrusted: DrainResult[] = [];
  const channels: DrainResult[] = [];
  const wet: DrainResult[] = [];
  for (let seed = firstSeed; seed < firstSeed + count; seed++) {
    trusted.push(await runDrainCase(drainCase(seed, true)));
    untrusted.push(await runDrainCase(drainCase(seed, false)));
    channels.push(await runDrainCase(drainCase(seed, true), true));
    wet.push(await runDrainCase(drainCase(seed, true), false, PUDDLE));
  }
  const sum = (of: (r: DrainResult) => number): number => wet.reduce((total, r) => total + of(r), 0);
  const hard = trusted.filter(({ ratio }) => ratio < 15);
  return [
    '| roofs, by fall × basin radius over sigma of the long waves | roofs | drains with a low point within 0.3 m | within 1 m | called likely | those within 0.3 m | false likely per roof | roofs refused | depth within its ± |',
    '| - | - | - | - | - | - | - | - | - |',
    rowOf('10 to 40', trusted), rowOf('10 to 15 of these', hard), rowOf('those of 10 to 40 on which the survey claims drains', trusted.filter(({ isTrusted }) => isTrusted)), rowOf('0.5 to 5', untrusted), '',
    `Two boards that meet in a level channel, ${channels.length} roofs of ratio 10 to 40: nothing says where along it a drain stands. A line is given on ${share(channels.filter(({ lines }) => lines > 0).length, channels.length)}, a likely drain on ${channels.filter(({ isTrusted }) => isTrusted).length}.`, '',
    `The same roofs with a puddle of ${200 * PUDDLE} cm at each drain that leaves no points, and as many such holes on their boards: the hole is a cue at ${share(sum((r) => r.holesSeen), sum((r) => r.likely.length))} drains, and taken for one elsewhere ${sum((r) => r.falseHoles)} times.`,
  ];
}

function rowOf(name: string, results: readonly DrainResult[]): string {
  const likely = results.flatMap((r) => [...r.likely]);
  const claimed = likely.filter((m) => m < REACH);
  const listed = results.flatMap((r) => [...r.listed]);
  const errors = results.flatMap((r) => [...r.depthErrors]);
  const falseCount = results.reduce((sum, r) => sum + r.falseCount, 0);
  return `| ${[
    name, results.length, share(listed.filter((m) => m <= 0.3).length, listed.length), share(listed.filter((m) => m < REACH).length, listed.length),
    share(claimed.length, likely.length), share(claimed.filter((m) => m <= 0.3).length, claimed.length),
    results.length > 0 ? (falseCount / results.length).toFixed(2) : '–', share(results.filter((r) => r.refused).length, results.length), share(errors.filter((e) => Math.abs(e) <= 1).length, errors.length),
  ].join(' | ')} |`;
}
