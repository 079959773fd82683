import { addBuilding, type Thing } from '../../sample-data/generator/building.ts';
import { photograph } from '../../sample-data/generator/photograph.ts';
import type { P2 } from '../../sample-data/generator/points.ts';
import { makeRandom } from '../../sample-data/generator/random.ts';
import { shed } from '../../sample-data/generator/roof-shape.ts';
import { NOISE_MODELS, type NoiseModel } from '../../sample-data/generator/scene-options.ts';
import { addGround } from '../../sample-data/generator/surroundings.ts';
import { emptyModel } from '../../sample-data/generator/surface.ts';
import { judgeFeature } from '../../src/reading/resolvability.ts';
import type { TruthObstruction } from '../../src/survey/score/truth.ts';
import type { Measured } from '../../src/units/measured.ts';
import type { Resolvability, RoofRecord } from '../../src/roof/record.ts';
import { surveyPoints } from './survey-points.ts';

/** One made-up feature, what was said of it beforehand, and what the survey made of it. */
export interface FeatureSeen {
  readonly noise: NoiseModel;
  readonly spacing: number;
  readonly kind: 'box' | 'cylinder' | 'line';
  readonly widthM: number;
  readonly lengthM: number;
  readonly heightM: number;
  /** By its true size and the sampling the survey itself states. */
  readonly verdict: Resolvability;
  readonly found: boolean;
  /** Listed as a proposal, found or not. */
  readonly proposed: boolean;
  /** Signed errors over the stated half width at 95 %; null when not found. */
  readonly heightError: number | null;
  readonly areaError: number | null;
}

export interface FeatureRoof {
  readonly features: readonly FeatureSeen[];
  /** Obstructions and proposals where nothing stands. */
  readonly falseCount: number;
  readonly falseProposals: number;
  /** Roof on which nothing stands. [m²] */
  readonly emptyArea: number;
}

/** Room between features. [m] */
const PITCH = 2.2;
const LINE_LENGTH = 1.5;
const SLOPE = 0.12;

/** A lean-to full of features from far below to far above what its noise and spacing let through. */
export async function runFeatureRoof(seed: number, noise: NoiseModel, spacing: number): Promise<FeatureRoof> {
  const random = makeRandom(seed * 17 + Math.round(1000 * spacing));
  // Fine clouds are large: fewer features do.
  const [columns, rows] = spacing < 0.04 ? [3, 2] : [4, 3];
  const things: Thing[] = [];
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < columns; i++) {
      const kind = random.pick(['box', 'box', 'cylinder', 'line'] as const);
      const width = Math.min(0.9, spacing * 1.5 * 20 ** random.next());
      const height = 0.015 * 30 ** random.next();
      const at: P2 = [(i - (columns - 1) / 2) * PITCH, (j - (rows - 1) / 2) * PITCH];
      const size: P2 = kind === 'line' ? [Math.max(LINE_LENGTH, width), Math.min(width, 0.3)] : [width, width];
      things.push({ class: 'feature', shape: kind === 'line' ? 'line' : kind, plane: 'slope', at, size, height, followsRoof: true, paint: 'metal' });
    }
  }
  const model = emptyModel();
  addBuilding(model, {
    id: 'shed', at: [0, 0], turn: random.between(0, 2 * Math.PI), groundZ: 2, eaveHeight: 4, overhang: () => 0.3, things,
    shape: shed(columns * PITCH + 1.5, rows * PITCH + 1.5, SLOPE), roofPaint: 'zinc', wallPaint: 'timber',
  });
  const reach = columns * PITCH;
  addGround(model, [-reach, -reach], [reach, reach], 2, 'quay');
  const points = photograph(model.surfaces, seed, {
    spacing, groundSampleDistance: spacing / 2, whiteSigma: 0.005, outlierShare: 0.01, dome: 0, correlated: [], coverageHoles: 0, groundKeep: 1, ...NOISE_MODELS[noise],
  });
  const record = await surveyPoints(points.positions.slice(0, 3 * points.count), points.colours.slice(0, 3 * points.count));
  const emptyArea = (columns * PITCH + 1.5) * (rows * PITCH + 1.5) - things.reduce((sum, thing) => sum + areaOf(thing), 0);
  return { ...compare(record, model.obstructions, things, noise, spacing), emptyArea };
}

type TrueThing = Pick<TruthObstruction, 'footprint'>;

function compare(record: RoofRecord, truths: readonly TrueThing[], things: readonly Thing[], noise: NoiseModel, spacing: number): Omit<FeatureRoof, 'emptyArea'> {
  const [ox, oy] = record.frame.origin;
  const { sampling } = record;
  const obstructions = record.buildings.flatMap((b) => b.obstructions);
  const middles = obstructions.map(({ footprint }) => middleOf(footprint));
  const features = record.smallFeatures.filter((f) => f.proposedBy === 'found');
  const proposals = features.map((f) => middleOf(f.at));
  const taken = new Set<number>();
  const proposalTaken = new Set<number>();
  const seen = truths.map((truth, t): FeatureSeen => {
    const thing = things[t]!;
    const [mx, my] = middleOf(truth.footprint);
    const at: P2 = [mx - ox, my - oy];
    const [length, width] = [Math.max(...thing.size), Math.min(...thing.size)];
    const reach = length / 2 + 2 * spacing;
    const near = (list: readonly P2[]): number[] => list.flatMap((m, i) => (Math.hypot(m[0] - at[0], m[1] - at[1]) < reach ? [i] : []));
    const ours = near(middles);
    const proposed = near(proposals);
    ours.forEach((i) => taken.add(i));
    proposed.forEach((i) => proposalTaken.add(i));
    const one = ours.length > 0 ? obstructions[ours[0]!]! : null;
    return {
      noise, spacing, kind: thing.shape === 'line' ? 'line' : thing.shape === 'cylinder' ? 'cylinder' : 'box', widthM: width, lengthM: length, heightM: thing.height,
      verdict: judgeFeature({
        height: thing.height, width, length, noise: sampling.noiseM, correlationLength: sampling.correlationLengthM, spacing: sampling.pointSpacingM,
        groundSampleDistance: sampling.groundSampleDistanceM,
      }).resolvability,
      found: one !== null || proposed.some((i) => features[i]!.resolvability !== 'below'), proposed: proposed.length > 0,
      heightError: one && errorOf(one.heightAboveRoofM, thing.height), areaError: one && errorOf(one.planAreaM2, areaOf(thing)),
    };
  });
  return { features: seen, falseCount: obstructions.length - taken.size, falseProposals: proposals.length - proposalTaken.size };
}

const errorOf = (reading: Measured, truth: number): number | null => (reading.value === null ? null : (reading.value - truth) / reading.u95);
const areaOf = ({ shape, size }: Thing): number => (shape === 'cylinder' ? Math.PI / 4 : 1) * size[0] * size[1];
const middleOf = (ring: readonly (readonly number[])[]): P2 => [
  ring.reduce((sum, p) => sum + p[0]!, 0) / ring.length, ring.reduce((sum, p) => sum + p[1]!, 0) / ring.length,
];

const share = (n: number, of: number): string => (of === 0 ? '–' : `${((100 * n) / of).toFixed(1)} % of ${of}`);

/** Table for the report of the accuracy run. @param count  Roofs of each spacing and noise. */
export async function resolvabilityLines(firstSeed: number, count: number): Promise<string[]> {
  const lines = [
    '| noise, spacing | resolved: found | marginal: found | below: found | below: proposed | height within its ± (resolved) | area within its ± (resolved) | false per roof | false proposals per roof | false proposals per 100 m² of empty roof, at most (95 %) |',
    '| - | - | - | - | - | - | - | - | - | - |',
  ];
  const all: FeatureRoof[] = [];
  for (const noise of ['white', 'correlated'] as const) {
    for (const spacing of [0.02, 0.05, 0.1]) {
      const roofs: FeatureRoof[] = [];
      for (let i = 0; i < count; i++) roofs.push(await runFeatureRoof(firstSeed + i, noise, spacing));
      all.push(...roofs);
      lines.push(rowOf(`${noise}, ${100 * spacing} cm`, roofs));
    }
  }
  lines.push(rowOf('all', all));
  return lines;
}

/** Rate of false proposals, and what it may be at 95 %: the rule of three (Hanley and Lippman-Hand 1983) where there was none. */
function falseRate(roofs: readonly FeatureRoof[]): string {
  const hundreds = roofs.reduce((sum, r) => sum + r.emptyArea, 0) / 100;
  const count = roofs.reduce((sum, r) => sum + r.falseProposals, 0);
  const most = count === 0 ? 3 : count + 1.645 * Math.sqrt(count) + 1.35;
  return `${(count / hundreds).toFixed(2)} (${(most / hundreds).toFixed(2)})`;
}

function rowOf(name: string, roofs: readonly FeatureRoof[]): string {
  const features = roofs.flatMap((r) => [...r.features]);
  const of = (verdict: Resolvability): FeatureSeen[] => features.filter((f) => f.verdict === verdict);
  const found = (list: readonly FeatureSeen[]): string => share(list.filter((f) => f.found).length, list.length);
  const within = (list: readonly (number | null)[]): string => {
    const known = list.filter((e) => e !== null);
    return share(known.filter((e) => Math.abs(e) <= 1).length, known.length);
  };
  const per = (n: number): string => (n / roofs.length).toFixed(2);
  return `| ${[
    name, found(of('resolved')), found(of('marginal')), found(of('below')), share(of('below').filter((f) => f.proposed).length, of('below').length),
    within(of('resolved').map((f) => f.heightError)), within(of('resolved').map((f) => f.areaError)),
    per(roofs.reduce((sum, r) => sum + r.falseCount, 0)), per(roofs.reduce((sum, r) => sum + r.falseProposals, 0)), falseRate(roofs),
  ].join(' | ')} |`;
}
