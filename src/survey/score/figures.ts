import type { EdgeKind } from '../../roof/record.ts';
import { FOUND } from './score-planes.ts';
import type { IntervalSeen, PlaneMatch, Quantity, Score, SideSeen } from './score.ts';
import { meanOf, quantile, rmsOf, sdOf, shareOf, type Share } from './statistics.ts';

/** Plane size classes by slope area. [m²] */
export const AREA_CLASSES: readonly { readonly name: string; readonly from: number; readonly to: number }[] = [
  { name: 'below 0.5 m²', from: 0, to: 0.5 }, { name: '0.5 to 2 m²', from: 0.5, to: 2 }, { name: '2 to 10 m²', from: 2, to: 10 },
  { name: '10 m² and more', from: 10, to: Infinity },
];

export interface PlaneFigures {
  readonly name: string;
  /** Share of true planes found. */
  readonly completeness: Share;
  /** Share of our planes that are one. */
  readonly correctness: Share;
  /** TP / (TP + FP + FN); null without planes. */
  readonly quality: number | null;
}

export interface Spread {
  readonly count: number;
  readonly median: number | null;
  readonly at90: number | null;
  readonly at95: number | null;
}

export interface CoverageFigures {
  readonly quantity: Quantity | 'all';
  readonly within95: Share;
  readonly within68: Share;
  /** Mean and root mean square of error over stated sigma; 0 and 1 when the intervals are right. */
  readonly meanZ: number | null;
  readonly rmsZ: number | null;
  readonly medianU95: number | null;
}

export interface Figures {
  readonly planes: readonly PlaneFigures[];
  /** Two square metres and more together, as the aims are stated. */
  readonly planesFrom2M2: PlaneFigures;
  readonly pitchErrorDeg: { readonly from2M2: Spread; readonly from10M2: Spread };
  readonly azimuthErrorDeg: { readonly from2M2: Spread; readonly from10M2: Spread };
  readonly slopeAreaErrorPercent: { readonly from2M2: Spread; readonly from10M2: Spread; readonly meanFrom2M2: number | null };
  readonly offsetM: Spread;
  /** Sides of at least 3 m, in spacings: mean and root mean square of their offsets, and sides nowhere near. */
  readonly sides: SideFigures;
  /** Of those, the ones that are not poorly determined. */
  readonly determinedSides: SideFigures;
  readonly sidesByKind: readonly ({ readonly kind: EdgeKind } & SideFigures)[];
  readonly polisM: Spread;
  readonly corners: { readonly recall: Share; readonly precision: Share; readonly rmsSpacings: number | null; readonly determinedRmsSpacings: number | null; readonly within10Cm: Share };
  readonly edgeKind: Share;
  readonly edgesFound: Share;
  readonly edgesExtra: number;
  readonly edgeLengthCover: { readonly recall: number | null; readonly precision: number | null };
  readonly edgeConfusion: readonly { readonly truth: EdgeKind; readonly record: EdgeKind; readonly count: number }[];
  readonly edgeLengthErrorM: Spread;
  readonly obstructions: readonly ObstructionFigures[];
  readonly falseObstructionsPerBuilding: number | null;
  readonly parapets: { readonly lengthFound: number | null; readonly heightErrorM: Spread; readonly thicknessErrorM: Spread; readonly invented: number };
  readonly drains: { readonly found: Share; readonly likely: Share; readonly invented: number; readonly distanceM: Spread };
  readonly coverage: readonly CoverageFigures[];
}

export interface SideFigures {
  readonly count: number;
  readonly lost: number;
  readonly biasSpacings: number | null;
  readonly rmsSpacings: number | null;
}

export interface ObstructionFigures {
  readonly name: string;
  readonly recall: Share;
  readonly heightBiasGsd: number | null;
  readonly heightSdGsd: number | null;
  readonly heightErrorM: Spread;
  readonly shapeRight: Share;
}

export const WIDTH_CLASSES: readonly { readonly name: string; readonly from: number; readonly to: number }[] = [
  { name: 'below 5 spacings', from: 0, to: 5 }, { name: '5 to 10', from: 5, to: 10 }, { name: '10 to 20', from: 10, to: 20 },
  { name: '20 and more', from: 20, to: Infinity },
];

/** Draws the figures from a score, or from several pooled. */
export function figuresOf(score: Score): Figures {
  const matches = score.planeMatches;
  const from = (least: number) => matches.filter((m) => m.slopeAreaM2 >= least);
  const errors = (list: readonly PlaneMatch[], pick: (m: PlaneMatch) => number | null): Spread => spread(list.map(pick));
  const areaPercent = (m: PlaneMatch) => (m.slopeAreaErrorShare === null ? null : 100 * m.slopeAreaErrorShare);
  const longSides = score.sides.filter((s) => s.lengthM >= 3);
  const kinds = [...new Set(longSides.map((s) => s.kind))].sort();
  const foundEdges = score.edges.filter((e) => e.recordKind !== null);
  const cornerTotals = (pick: (o: Score['outlines'][number]) => number): number => score.outlines.reduce((sum, o) => sum + pick(o), 0);
  const buildingCount = score.scenes.reduce((sum, s) => sum + s.buildingCount, 0);
  return {
    planes: AREA_CLASSES.map((c) => planeFigures(score, c.name, c.from, c.to)),
    planesFrom2M2: planeFigures(score, '2 m² and more', 2, Infinity),
    pitchErrorDeg: { from2M2: errors(from(2), (m) => m.pitchErrorDeg), from10M2: errors(from(10), (m) => m.pitchErrorDeg) },
    azimuthErrorDeg: { from2M2: errors(from(2), (m) => m.azimuthErrorDeg), from10M2: errors(from(10), (m) => m.azimuthErrorDeg) },
    slopeAreaErrorPercent: {
      from2M2: errors(from(2), areaPercent), from10M2: errors(from(10), areaPercent), meanFrom2M2: meanOf(from(2).map(areaPercent).filter((e) => e !== null)),
    },
    offsetM: spread(matches.map((m) => m.offsetM)),
    sides: sideFigures(longSides),
    determinedSides: sideFigures(longSides.filter((s) => !s.poorlyDetermined)),
    sidesByKind: kinds.map((kind) => ({ kind, ...sideFigures(longSides.filter((s) => s.kind === kind)) })),
    polisM: spread(score.outlines.map((o) => o.polisM)),
    corners: {
      recall: shareOf(cornerTotals((o) => o.cornersWithin.twoSpacings), cornerTotals((o) => o.truthCorners)),
      precision: shareOf(cornerTotals((o) => o.cornersWithin.twoSpacings), cornerTotals((o) => o.recordCorners)),
      within10Cm: shareOf(cornerTotals((o) => o.cornersWithin.tenCentimetres), cornerTotals((o) => o.truthCorners)),
      rmsSpacings: rmsOf(score.outlines.flatMap((o) => o.cornerDistancesM.map((d) => d / o.spacingM))),
      determinedRmsSpacings: rmsOf(score.outlines.flatMap((o) => o.determinedCornerDistancesM.map((d) => d / o.spacingM))),
    },
    edgeKind: shareOf(foundEdges.filter((e) => e.kind === e.recordKind).length, foundEdges.length),
    edgesFound: shareOf(foundEdges.length, score.edges.length),
    edgesExtra: score.extraEdges.length,
    edgeLengthCover: {
      recall: score.edgeCover.truthM > 0 ? score.edgeCover.truthFoundM / score.edgeCover.truthM : null,
      precision: score.edgeCover.recordM > 0 ? score.edgeCover.recordRightM / score.edgeCover.recordM : null,
    },
    edgeConfusion: confusion(score),
    edgeLengthErrorM: spread(score.edges.map((e) => e.lengthErrorM)),
    obstructions: WIDTH_CLASSES.map((c) => obstructionFigures(score, c)),
    falseObstructionsPerBuilding: buildingCount > 0 ? score.falseObstructions.length / buildingCount : null,
    parapets: {
      lengthFound: ratio(score.parapets.reduce((s, p) => s + p.foundM, 0), score.parapets.reduce((s, p) => s + p.lengthM, 0)),
      heightErrorM: spread(score.parapets.map((p) => p.heightErrorM)), thicknessErrorM: spread(score.parapets.map((p) => p.thicknessErrorM)),
      invented: score.falseParapets.length,
    },
    drains: {
      found: shareOf(score.drains.filter((d) => d.record !== null).length, score.drains.length),
      likely: shareOf(score.drains.filter((d) => d.verdict === 'likely').length, score.drains.length),
      invented: score.falseDrains.length, distanceM: spread(score.drains.map((d) => d.distanceM)),
    },
    coverage: coverageFigures(score.intervals),
  };
}

const ratio = (a: number, b: number): number | null => (b > 0 ? a / b : null);

function planeFigures(score: Score, name: string, low: number, high: number): PlaneFigures {
  const inClass = (p: { slopeAreaM2: number }) => p.slopeAreaM2 >= low && p.slopeAreaM2 < high;
  const truths = score.truthPlanes.filter(inClass);
  const ours = score.recordPlanes.filter(inClass);
  const right = (list: readonly { overlap: number }[]) => list.filter((p) => p.overlap >= FOUND).length;
  const completeness = shareOf(right(truths), truths.length);
  const correctness = shareOf(right(ours), ours.length);
  const all = completeness.hits + (correctness.of - correctness.hits) + (completeness.of - completeness.hits);
  return { name, completeness, correctness, quality: ratio(completeness.hits, all) };
}

function spread(values: readonly (number | null)[]): Spread {
  const sizes = values.filter((v) => v !== null).map(Math.abs);
  return { count: sizes.length, median: quantile(sizes, 0.5), at90: quantile(sizes, 0.9), at95: quantile(sizes, 0.95) };
}

function sideFigures(sides: readonly SideSeen[]): SideFigures {
  const offsets = sides.flatMap((s) => (s.offsetM === null ? [] : [s.offsetM / s.spacingM]));
  return { count: sides.length, lost: sides.length - offsets.length, biasSpacings: meanOf(offsets), rmsSpacings: rmsOf(offsets) };
}

function confusion(score: Score): Figures['edgeConfusion'] {
  const counts = new Map<string, { truth: EdgeKind; record: EdgeKind; count: number }>();
  for (const e of score.edges) {
    if (e.recordKind === null || e.recordKind === e.kind) continue;
    const key = `${e.kind} ${e.recordKind}`;
    const entry = counts.get(key) ?? { truth: e.kind, record: e.recordKind, count: 0 };
    entry.count++;
    counts.set(key, entry);
  }
  return [...counts.values()].sort((a, b) => b.count - a.count);
}

function obstructionFigures(score: Score, c: { name: string; from: number; to: number }): ObstructionFigures {
  const list = score.obstructions.filter((o) => o.widthM / o.spacingM >= c.from && o.widthM / o.spacingM < c.to);
  const found = list.filter((o) => o.record !== null);
  const inGsd = found.flatMap((o) => (o.heightErrorM === null ? [] : [o.heightErrorM / o.groundSampleDistanceM]));
  return {
    name: c.name, recall: shareOf(found.length, list.length), heightBiasGsd: meanOf(inGsd), heightSdGsd: sdOf(inGsd),
    heightErrorM: spread(found.map((o) => o.heightErrorM)), shapeRight: shareOf(found.filter((o) => o.shape === o.recordShape).length, found.length),
  };
}

/** Half widths at 95 and 68 % of a normal distribution, in sigmas. */
const SIGMAS_95 = 1.959964;
const SIGMAS_68 = 0.994458;

export function coverageFigures(intervals: readonly IntervalSeen[]): CoverageFigures[] {
  const quantities = [...new Set(intervals.map((i) => i.quantity))].sort();
  const of = (quantity: Quantity | 'all', list: readonly IntervalSeen[]): CoverageFigures => {
    const z = list.map((i) => (i.error / i.u95) * SIGMAS_95).filter(Number.isFinite);
    return {
      quantity,
      within95: shareOf(list.filter((i) => Math.abs(i.error) <= i.u95).length, list.length),
      within68: shareOf(list.filter((i) => Math.abs(i.error) <= (i.u95 * SIGMAS_68) / SIGMAS_95).length, list.length),
      meanZ: meanOf(z), rmsZ: rmsOf(z), medianU95: quantile(list.map((i) => i.u95), 0.5),
    };
  };
  return [...quantities.map((q) => of(q, intervals.filter((i) => i.quantity === q))), of('all', intervals)];
}
