import { signedPlanArea } from '../../geometry/polygon.ts';
import { length, subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import type { Obstruction, Parapet, RoofRecord } from '../../roof/record.ts';
import { assign } from './assignment.ts';
import type { IntervalList } from './interval-list.ts';
import { planOverlap, planSpans } from './plan-spans.ts';
import { distanceToSegment } from './score-outlines.ts';
import type { DrainSeen, FalseFind, ObstructionSeen, ParapetSeen } from './score.ts';
import type { Truth, TruthParapet } from './truth.ts';

const LEAST_OVERLAP = 0.3;
const DRAIN_REACH = 1;

const middleOf = (ring: readonly Vector2[]): Vector2 => [
  ring.reduce((sum, p) => sum + p[0], 0) / ring.length, ring.reduce((sum, p) => sum + p[1], 0) / ring.length,
];

/** Pairs by overlap of footprints of at least 0.3, or by middles nearer than half the width. */
export function scoreObstructions(record: RoofRecord, truth: Truth, intervals: IntervalList): { obstructions: ObstructionSeen[]; falseObstructions: FalseFind[] } {
  const { scene } = intervals;
  const found = record.buildings.flatMap((b) => b.obstructions).filter((o) => !truth.curved.some((c) => isOn(o, c.ring)));
  const trueSpans = truth.obstructions.map((o) => planSpans([o.footprint]));
  const ourSpans = found.map((o) => planSpans([o.footprint]));
  const gains = truth.obstructions.map((t, i) => found.map((r, j) => {
    const common = planOverlap(trueSpans[i]!, ourSpans[j]!).planArea;
    const overlap = common / (trueSpans[i]!.planArea + ourSpans[j]!.planArea - common);
    const a = middleOf(t.footprint);
    const b = middleOf(r.footprint);
    const isNear = Math.hypot(a[0] - b[0], a[1] - b[1]) < t.widthM / 2;
    return overlap >= LEAST_OVERLAP || isNear ? 0.01 + overlap : 0;
  }));
  const partner = assign(gains, found.length);
  const scale = record.frame.scaleFactor;
  const obstructions = truth.obstructions.map((t, i): ObstructionSeen => {
    const r = partner[i]! < 0 ? null : found[partner[i]!]!;
    const trueArea = Math.abs(signedPlanArea(t.footprint)) / scale ** 2;
    const areaError = r ? intervals.add('obstruction area', r.id, r.planAreaM2, trueArea) : null;
    return {
      truth: t.id, scene, class: t.class, shape: t.shape, widthM: t.widthM, spacingM: truth.sampling.spacingM,
      groundSampleDistanceM: truth.sampling.groundSampleDistanceM, heightM: t.heightAboveRoofM,
      record: r?.id ?? null, recordShape: r?.shape ?? null, resolvability: r?.resolvability ?? null,
      heightErrorM: r ? intervals.add('obstruction height', r.id, r.heightAboveRoofM, t.heightAboveRoofM) : null,
      planAreaErrorShare: areaError === null ? null : areaError / trueArea,
      pieces: found.filter((_, j) => j !== partner[i] && planOverlap(trueSpans[i]!, ourSpans[j]!).planArea > 0.5 * ourSpans[j]!.planArea).length,
    };
  });
  const falseObstructions = found.flatMap((r, j): FalseFind[] => {
    if (partner.includes(j)) return [];
    const at = middleOf(r.footprint);
    const width = Math.sqrt(ourSpans[j]!.planArea);
    return [{ id: r.id, scene, note: `${r.shape}, ${r.resolvability}, ${width.toFixed(2)} m wide at ${at.map((c) => c.toFixed(2)).join(', ')} on ${r.onPlane}` }];
  });
  return { obstructions, falseObstructions };
}

function isOn(o: Obstruction, ring: readonly Vector2[]): boolean {
  const own = planSpans([o.footprint]);
  return planOverlap(own, planSpans([ring])).planArea > 0.5 * own.planArea;
}

const SAMPLE_STEP = 0.1;

/**
 * A parapet is found where the record has one within the greater of three spacings and 0.15 m of its inner face; of a wall
 * between two roofs either face may be called the inner one.
 */
export function scoreParapets(record: RoofRecord, truth: Truth, intervals: IntervalList): { parapets: ParapetSeen[]; falseParapets: FalseFind[] } {
  const { scene } = intervals;
  const found = record.buildings.flatMap((b) => b.parapets);
  const near = Math.max(3 * truth.sampling.spacingM, 0.15);
  const errors = truth.parapets.map(() => ({ height: [] as number[], thickness: [] as number[] }));
  const falseParapets: FalseFind[] = [];
  for (const r of found) {
    const shares = truth.parapets.map((t) => shareAlong(r, t, near));
    const best = shares.reduce((a, share, i) => (share > shares[a]! ? i : a), 0);
    if (!(shares[best]! >= 0.5)) {
      falseParapets.push({ id: r.id, scene, note: `${pathLength(r.path).toFixed(2)} m long from ${r.path[0]?.map((c) => c.toFixed(2)).join(', ')}` });
      continue;
    }
    const t = truth.parapets[best]!;
    const height = intervals.add('parapet height', r.id, r.heightAboveRoofM, heightBeside(r, t));
    const thickness = intervals.add('parapet thickness', r.id, r.thicknessM, t.thicknessM);
    if (height !== null) errors[best]!.height.push(height);
    if (thickness !== null) errors[best]!.thickness.push(thickness);
  }
  const covered = (...paths: (readonly Vector3[])[]): number => SAMPLE_STEP * paths.flatMap(samplesOf).filter((p) => found.some((r) => distanceToPath(p, r.path) < near)).length;
  const cover = truth.parapets.map((t) => Math.max(covered(t.path), covered(...outerFaces(t))));
  const mean = (list: number[]): number | null => (list.length === 0 ? null : list.reduce((sum, x) => sum + x, 0) / list.length);
  return {
    parapets: truth.parapets.map((t, i) => ({
      truth: t.id, scene, lengthM: pathLength(t.path), foundM: Math.min(cover[i]!, pathLength(t.path)),
      heightErrorM: mean(errors[i]!.height), thicknessErrorM: mean(errors[i]!.thickness),
    })),
    falseParapets,
  };
}

/** Height of the part of a parapet that the record's path runs along: a level top stands higher where the roof is low. [m] */
function heightBeside(r: Parapet, t: TruthParapet): number {
  if (t.topElevationM === null) return t.heightAboveRoofM;
  const roof = samplesOf(r.path).map((p) => elevationBeside(p, t.path));
  return t.topElevationM - roof.reduce((sum, z) => sum + z, 0) / roof.length;
}

/** Elevation of the path where it comes nearest in plan. [m] */
function elevationBeside(p: Vector2, path: readonly Vector3[]): number {
  let best = { distance: Infinity, elevation: path[0]![2] };
  path.slice(1).forEach((b, i) => {
    const a = path[i]!;
    const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
    const square = dx * dx + dy * dy;
    const along = square === 0 ? 0 : Math.max(0, Math.min(1, ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / square));
    const distance = Math.hypot(p[0] - a[0] - along * dx, p[1] - a[1] - along * dy);
    if (distance < best.distance) best = { distance, elevation: a[2] + along * (b[2] - a[2]) };
  });
  return best.elevation;
}

const pathLength = (path: readonly Vector3[]): number => path.slice(1).reduce((sum, p, i) => sum + length(subtract(p, path[i]!)), 0);

function samplesOf(path: readonly Vector3[]): Vector2[] {
  return path.slice(1).flatMap((b, i) => {
    const a = path[i]!;
    const count = Math.max(1, Math.round(length(subtract(b, a)) / SAMPLE_STEP));
    return Array.from({ length: count }, (_, k): Vector2 => {
      const share = (k + 0.5) / count;
      return [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share];
    });
  });
}

const distanceToPath = (p: Vector2, path: readonly Vector3[]): number =>
  path.slice(1).reduce((least, b, i) => Math.min(least, distanceToSegment(p, [path[i]![0], path[i]![1]], [b[0], b[1]])), Infinity);

function shareAlong(r: Parapet, t: TruthParapet, near: number): number {
  const samples = samplesOf(r.path);
  const faces = [t.path, ...outerFaces(t)];
  return samples.length === 0 ? 0 : samples.filter((p) => faces.some((face) => distanceToPath(p, face) < near)).length / samples.length;
}

/** The path leg by leg, moved to its right by the thickness: the side away from the roof. */
function outerFaces({ path, thicknessM }: TruthParapet): (readonly Vector3[])[] {
  return path.slice(1).flatMap((b, i) => {
    const a = path[i]!;
    const size = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (size === 0) return [];
    const [x, y] = [(thicknessM * (b[1] - a[1])) / size, (-thicknessM * (b[0] - a[0])) / size];
    return [[[a[0] + x, a[1] + y, a[2]], [b[0] + x, b[1] + y, b[2]]] as const];
  });
}

/** Low points that the record calls likely or candidates, against drains; a find further than a metre is another. */
export function scoreDrains(record: RoofRecord, truth: Truth, scene: string): { drains: DrainSeen[]; falseDrains: FalseFind[] } {
  const found = record.buildings.flatMap((b) => b.lowPoints).filter((l) => l.verdict !== 'cannot-tell');
  const distance = (a: Vector3, b: Vector3): number => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const gains = truth.drains.map((t) => found.map((r) => Math.max(0, DRAIN_REACH - distance(t.at, r.at))));
  const partner = assign(gains, found.length);
  return {
    drains: truth.drains.map((t, i) => {
      const r = partner[i]! < 0 ? null : found[partner[i]!]!;
      return { truth: t.id, scene, record: r?.id ?? null, distanceM: r ? distance(t.at, r.at) : null, verdict: r?.verdict ?? null };
    }),
    falseDrains: found.filter((_, j) => !partner.includes(j)).map((r) => ({ id: r.id, scene, note: `${r.verdict} at ${r.at.map((c) => c.toFixed(2)).join(', ')}` })),
  };
}
