import { NOISE_MODELS, type NoiseModel } from '../../../sample-data/generator/scene-options.ts';
import { makeScene, type SceneKind } from '../../../sample-data/generator/scene.ts';
import { USUAL_FIT_OPTIONS } from '../../../src/layout/fit-options.ts';
import { fitRecord } from '../../../src/layout/fit-record.ts';
import type { RuleSet } from '../../../src/layout/rule-set.ts';
import type { EdgeKind } from '../../../src/roof/record.ts';
import { isKnown } from '../../../src/units/measured.ts';
import { scoreRecord } from '../../../src/survey/score/score-record.ts';
import { surveyPoints } from '../survey-points.ts';
import { outlinesOfKnownPoints } from '../area-oracle.ts';
import type { Truth } from '../../../src/survey/score/truth.ts';
import { recordOfTruth } from '../../fixtures/record-of-truth.ts';
import { trueUsableM2, type PlainRule } from './true-usable.ts';

/** Largest error of a roof's usable area at 95 % of roofs, and the share of intervals that must hold the truth. [-] */
export const ERROR_AT_95 = 0.01;
export const HOLDS = 0.93;

export const RULE: PlainRule = { marginM: 0.4, leastPartM2: 2 };
const EVERY_EDGE: readonly EdgeKind[] = ['eave', 'ridge', 'hip', 'valley', 'rake', 'parapet', 'abutment', 'unknown'];
export const RULES: RuleSet = {
  schema: 'roofdatum-rules/1', name: 'one margin', caution: 'for judging only',
  source: { title: 'none', edition: 'none', date: 'none', where: 'one margin round everything, along the surface' },
  rules: [
    { kind: 'edge-setback', edges: EVERY_EDGE, distanceM: RULE.marginM, along: 'surface', reason: 'edge', because: 'margin' },
    { kind: 'obstruction-clearance', distanceM: RULE.marginM, along: 'surface', because: 'margin' },
    { kind: 'plane-limit', leastPartM2: RULE.leastPartM2, because: 'too small' },
  ],
};

/** One true plane against ours. */
export interface UsableSeen {
  readonly scene: string;
  readonly plane: string;
  readonly trueM2: number;
  /** Null when no plane of ours matches. */
  readonly oursM2: number | null;
  readonly u95M2: number;
  /** Ours on the true roof with only what the noise does to its outlines when every point's plane is known. [m²] */
  readonly oracleM2: number;
}

/** Surveys a simulated roof and sets the usable area of each true plane against ours under one plain rule. */
export async function usableOf(kind: SceneKind, seed: number, noise: NoiseModel, spacing: number): Promise<UsableSeen[]> {
  const scene = makeScene(kind, seed, { ...NOISE_MODELS[noise], spacing });
  const record = await surveyPoints(scene.positions, scene.colours);
  const name = `${kind} ${seed}`;
  const options = { ...USUAL_FIT_OPTIONS, rules: RULES, shade: false };
  const usableIn = (one: typeof record) => new Map(fitRecord(one, options).usable!.planes.map((plane) => [plane.id, plane.usableSlopeAreaM2]));
  const ours = usableIn(record);
  const oracle = usableIn(recordOfTruth(perturbed(scene.truth, scene.positions), [0, 0, 0], 0));
  const matches = new Map(scoreRecord(record, scene.truth, name).planeMatches.map((match) => [match.truth, match.record]));
  return scene.truth.planes.map((plane): UsableSeen => {
    const found = ours.get(matches.get(plane.id) ?? '');
    return {
      scene: name, plane: `${plane.id} as ${matches.get(plane.id) ?? 'none'}`, trueM2: trueUsableM2(plane, scene.truth, RULE),
      oursM2: found && isKnown(found) ? found.value : null, u95M2: found && isKnown(found) ? found.u95 : 0,
      oracleM2: oracle.get(plane.id)!.value!,
    };
  });
}

/** The true roof with the outlines planes would have if every point's plane were known; outer sides, planes and things as they are. */
function perturbed(truth: Truth, positions: Float64Array): Truth {
  const outlines = outlinesOfKnownPoints(positions, truth);
  return {
    ...truth,
    planes: truth.planes.map((plane, k) => {
      const [x0, y0, z0] = plane.ring[0]!;
      const [a, b, c] = plane.normal;
      return { ...plane, ring: outlines[k]!.corners.map(([x, y]) => [x, y, z0 - (a * (x - x0) + b * (y - y0)) / c] as const) };
    }),
  };
}

export interface RoofSeen {
  readonly scene: string;
  readonly trueM2: number;
  readonly error: number;
  readonly u95: number;
  readonly oracleError: number;
}

/** Sums over the planes of each roof; the ± of planes of one roof counted as independent. */
export function roofsOf(seen: readonly UsableSeen[]): RoofSeen[] {
  return [...new Set(seen.map(({ scene }) => scene))].map((scene) => {
    const planes = seen.filter((one) => one.scene === scene);
    const trueM2 = planes.reduce((sum, one) => sum + one.trueM2, 0);
    return {
      scene, trueM2, error: planes.reduce((sum, one) => sum + (one.oursM2 ?? 0), 0) / trueM2 - 1,
      u95: Math.hypot(...planes.map(({ u95M2 }) => u95M2)) / trueM2,
      oracleError: planes.reduce((sum, one) => sum + one.oracleM2, 0) / trueM2 - 1,
    };
  }).filter(({ trueM2 }) => trueM2 > 0);
}

/** Planes with less usable ground are not counted one by one: a hand's breadth of rim is much of them. [m²] */
const LEAST_PLANE = 5;

/** The size of error that a share of errors stay within. */
function errorAt(share: number, errors: readonly number[]): number {
  const sizes = errors.map(Math.abs).sort((a, b) => a - b);
  return sizes[Math.min(sizes.length - 1, Math.ceil(share * sizes.length) - 1)] ?? Number.POSITIVE_INFINITY;
}

/** Lines for people over many simulated roofs. @param kinds  Kinds of roof; each with every seed. */
export async function usableLines(kinds: readonly SceneKind[], seeds: readonly number[], noise: NoiseModel, spacing: number, detail: boolean): Promise<{ lines: string[]; within: boolean }> {
  const seen: UsableSeen[] = [];
  for (const kind of kinds) for (const seed of seeds) seen.push(...await usableOf(kind, seed, noise, spacing));
  const roofs = roofsOf(seen);
  const errors = roofs.map(({ error }) => error);
  const counted = seen.filter(({ oursM2, trueM2 }) => oursM2 !== null && trueM2 > 0);
  const held = counted.filter(({ oursM2, trueM2, u95M2 }) => Math.abs(oursM2! - trueM2) <= u95M2).length / Math.max(1, counted.length);
  const large = counted.filter(({ trueM2 }) => trueM2 >= LEAST_PLANE);
  const roofsHeld = roofs.filter(({ error, u95 }) => Math.abs(error) <= u95).length / Math.max(1, roofs.length);
  const percent = (share: number): string => `${(100 * share).toFixed(2)} %`;
  return {
    lines: [
      ...(detail ? roofs.map(({ scene, trueM2, error, u95 }) => `  ${scene}: ${trueM2.toFixed(1)} m², off by ${percent(error)} ± ${percent(u95)}`) : []),
      ...(detail ? seen.map(({ scene, plane, trueM2, oursM2, u95M2 }) => `    ${scene} ${plane}: true ${trueM2.toFixed(2)}, ours ${oursM2?.toFixed(2) ?? 'none'} ± ${u95M2.toFixed(2)}`) : []),
      `usable area, ${noise} noise, ${spacing * 100} cm: ${roofs.length} roofs, error ${percent(errorAt(0.5, errors))} in the middle, ${percent(errorAt(0.95, errors))} at 95 %; ± holds on ${percent(held)} of ${counted.length} planes and ${percent(roofsHeld)} of roofs`,
      `usable area of ${large.length} planes of ${LEAST_PLANE} m² and more, one by one: error ${percent(errorAt(0.5, large.map(({ oursM2, trueM2 }) => oursM2! / trueM2 - 1)))} in the middle, ${percent(errorAt(0.95, large.map(({ oursM2, trueM2 }) => oursM2! / trueM2 - 1)))} at 95 %`,
      `with every point's plane known and outer sides and things exact: roofs ${percent(errorAt(0.95, roofs.map(({ oracleError }) => oracleError)))}, planes ${percent(errorAt(0.95, large.map(({ oracleM2, trueM2 }) => oracleM2 / trueM2 - 1)))} at 95 %`,
    ],
    within: errorAt(0.95, errors) <= ERROR_AT_95 && held >= HOLDS,
  };
}
