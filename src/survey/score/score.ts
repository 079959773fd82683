import type { EdgeKind, ObstructionShape, Resolvability } from '../../roof/record.ts';
import type { RoofKind } from './truth.ts';

/**
 * A record judged against a truth: what was seen, one entry per thing, so that many scores can be pooled before figures
 * are drawn from them. Errors are ours minus truth.
 */
export interface Score {
  readonly scenes: readonly SceneScored[];
  readonly truthPlanes: readonly PlaneFate[];
  /** Planes of the record; those on curved roofs are left out and counted in `planesOnCurves`. */
  readonly recordPlanes: readonly PlaneFate[];
  readonly planesOnCurves: number;
  readonly topology: Topology;
  readonly planeMatches: readonly PlaneMatch[];
  readonly sides: readonly SideSeen[];
  readonly outlines: readonly OutlineSeen[];
  readonly edges: readonly EdgeSeen[];
  readonly extraEdges: readonly { readonly id: string; readonly kind: EdgeKind; readonly slopeLengthM: number }[];
  readonly edgeCover: EdgeCover;
  readonly obstructions: readonly ObstructionSeen[];
  readonly falseObstructions: readonly FalseFind[];
  readonly parapets: readonly ParapetSeen[];
  readonly falseParapets: readonly FalseFind[];
  readonly drains: readonly DrainSeen[];
  readonly falseDrains: readonly FalseFind[];
  readonly intervals: readonly IntervalSeen[];
  /** Numbers the record declares unknown, with its reason. */
  readonly unknowns: readonly { readonly quantity: Quantity; readonly about: string; readonly why: string }[];
}

export interface SceneScored {
  readonly scene: string;
  readonly spacingM: number;
  readonly groundSampleDistanceM: number;
  readonly buildingCount: number;
}

export interface PlaneFate {
  readonly id: string;
  readonly scene: string;
  readonly slopeAreaM2: number;
  /** Its one-to-one partner, whatever their overlap; null without any. */
  readonly partner: string | null;
  /** Intersection over union with the partner, 0 to 1. */
  readonly overlap: number;
}

/** Groups of planes that share at least a tenth of the smaller one. */
export interface Topology {
  readonly oneToOne: number;
  /** One true plane, several found: split. */
  readonly oneToMany: number;
  /** Several true planes, one found: merged. */
  readonly manyToOne: number;
  readonly manyToMany: number;
  readonly missed: number;
  readonly invented: number;
  /** Ids of the groups that are not one to one. */
  readonly groups: readonly { readonly scene: string; readonly truth: readonly string[]; readonly record: readonly string[] }[];
}

export interface PlaneMatch {
  readonly truth: string;
  readonly record: string;
  readonly scene: string;
  readonly roof: RoofKind;
  readonly slopeAreaM2: number;
  readonly pitchDeg: number;
  readonly angleDeg: number;
  readonly pitchErrorDeg: number | null;
  /** null where the truth is below 2°. */
  readonly azimuthErrorDeg: number | null;
  /** Along the true normal at the middle of the true outline. */
  readonly offsetM: number;
  readonly slopeAreaErrorShare: number | null;
}

/** One straight side of a true outline and where the record drew it. */
export interface SideSeen {
  readonly plane: string;
  readonly scene: string;
  readonly kind: EdgeKind;
  readonly lengthM: number;
  readonly spacingM: number;
  /** Mean distance of the record's outline beyond the side, positive outward; null when nothing is within a metre. */
  readonly offsetM: number | null;
  /** Side where two true planes meet at less than `POORLY_DETERMINED_DEG`: a few millimetres of height move it by decimetres. */
  readonly poorlyDetermined: boolean;
}

/** Planes that meet at a smaller angle leave their common line to the noise. [degree] */
export const POORLY_DETERMINED_DEG = 3;

export interface OutlineSeen {
  readonly plane: string;
  readonly scene: string;
  readonly spacingM: number;
  /** Mean over both rings' corners of the distance to the other ring, halved sums (Avbelj, Müller, Bamler 2015). */
  readonly polisM: number;
  readonly rmsM: number;
  readonly biasM: number;
  readonly greatestM: number;
  readonly truthCorners: number;
  readonly recordCorners: number;
  /** One-to-one corners nearer than the limit. */
  readonly cornersWithin: { readonly oneSpacing: number; readonly twoSpacings: number; readonly tenCentimetres: number };
  /** Of corners matched one to one below the greater of three spacings and 0.3 m. */
  readonly cornerDistancesM: readonly number[];
  /** Those of corners between two sides neither of which is poorly determined. */
  readonly determinedCornerDistancesM: readonly number[];
}

export interface EdgeSeen {
  readonly truth: string;
  readonly scene: string;
  readonly kind: EdgeKind;
  readonly slopeLengthM: number;
  readonly record: string | null;
  readonly recordKind: EdgeKind | null;
  readonly lengthErrorM: number | null;
}

/** Length of edges within 0.1 m of an edge of the other side. */
export interface EdgeCover {
  readonly truthM: number;
  readonly truthFoundM: number;
  readonly recordM: number;
  readonly recordRightM: number;
}

export interface ObstructionSeen {
  readonly truth: string;
  readonly scene: string;
  readonly class: string;
  readonly shape: ObstructionShape;
  readonly widthM: number;
  readonly spacingM: number;
  readonly groundSampleDistanceM: number;
  readonly heightM: number;
  readonly record: string | null;
  readonly recordShape: ObstructionShape | null;
  readonly resolvability: Resolvability | null;
  readonly heightErrorM: number | null;
  readonly planAreaErrorShare: number | null;
  /** Further finds on the same footprint. */
  readonly pieces: number;
}

export interface ParapetSeen {
  readonly truth: string;
  readonly scene: string;
  readonly lengthM: number;
  /** Part of it that the record has as parapet. */
  readonly foundM: number;
  readonly heightErrorM: number | null;
  readonly thicknessErrorM: number | null;
}

export interface DrainSeen {
  readonly truth: string;
  readonly scene: string;
  readonly record: string | null;
  readonly distanceM: number | null;
  readonly verdict: string | null;
}

export interface FalseFind {
  readonly id: string;
  readonly scene: string;
  readonly note: string;
}

export type Quantity =
  | 'pitch' | 'azimuth' | 'slope area' | 'plan area' | 'edge length' | 'edge position' | 'obstruction height' | 'obstruction area'
  | 'parapet height' | 'parapet thickness' | 'ground elevation' | 'roof area';

/** A stated interval with the truth known. Degrees, metres or square metres by quantity. */
export interface IntervalSeen {
  readonly quantity: Quantity;
  readonly about: string;
  readonly scene: string;
  readonly error: number;
  readonly u95: number;
  /** Without the shares that stand for the survey's control: its scale, tilt and north are assumed, whatever the cloud. */
  readonly ownU95: number;
}

/** Pools scores of several scenes. */
export function poolScores(scores: readonly Score[]): Score {
  const all = <Key extends keyof Score>(key: Key): Score[Key] => scores.flatMap((s) => s[key] as never) as unknown as Score[Key];
  const sum = (pick: (s: Score) => number): number => scores.reduce((total, s) => total + pick(s), 0);
  return {
    scenes: all('scenes'), truthPlanes: all('truthPlanes'), recordPlanes: all('recordPlanes'), planesOnCurves: sum((s) => s.planesOnCurves),
    topology: {
      oneToOne: sum((s) => s.topology.oneToOne), oneToMany: sum((s) => s.topology.oneToMany), manyToOne: sum((s) => s.topology.manyToOne),
      manyToMany: sum((s) => s.topology.manyToMany), missed: sum((s) => s.topology.missed), invented: sum((s) => s.topology.invented),
      groups: scores.flatMap((s) => s.topology.groups),
    },
    planeMatches: all('planeMatches'), sides: all('sides'), outlines: all('outlines'), edges: all('edges'), extraEdges: all('extraEdges'),
    edgeCover: {
      truthM: sum((s) => s.edgeCover.truthM), truthFoundM: sum((s) => s.edgeCover.truthFoundM),
      recordM: sum((s) => s.edgeCover.recordM), recordRightM: sum((s) => s.edgeCover.recordRightM),
    },
    obstructions: all('obstructions'), falseObstructions: all('falseObstructions'), parapets: all('parapets'), falseParapets: all('falseParapets'),
    drains: all('drains'), falseDrains: all('falseDrains'), intervals: all('intervals'), unknowns: all('unknowns'),
  };
}
