import { NOISE_MODELS, type NoiseModel } from '../../../sample-data/generator/scene-options.ts';
import { makeScene, type SceneKind } from '../../../sample-data/generator/scene.ts';
import { USUAL_FIT_OPTIONS } from '../../../src/layout/fit-options.ts';
import { fitRecord } from '../../../src/layout/fit-record.ts';
import type { RuleSet } from '../../../src/layout/rule-set.ts';
import type { EdgeKind } from '../../../src/roof/record.ts';
import { isKnown } from '../../../src/units/measured.ts';
import { scoreRecord } from '../../../src/survey/score/score-record.ts';
import { surveyPoints } from '../survey-points.ts';
import { trueUsableM2, type PlainRule } from './true-usable.ts';

/** Largest error of a roof's usable area at 95 % of roofs, and the share of intervals that must hold the truth. [-] */
export const ERROR_AT_95 = 0.01;
export const HOLDS = 0.93;

const RULE: PlainRule = { marginM: 0.4, leastPartM2: 2 };
const EVERY_EDGE: readonly EdgeKind[] = ['eave', 'ridge', 'hip', 'valley', 'rake', 'parapet', 'abutment', 'unknown'];
const RULES: RuleSet = {
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
}

/** Surveys a simulated roof and sets the usable area of each true plane against ours under one plain rule. */
export async function usableOf(kind: SceneKind, seed: number, noise: NoiseModel, spacing: number): Promise<UsableSeen[]> {
  const scene = makeScene(kind, seed, { ...NOISE_MODELS[noise], spacing });
  const record = await surveyPoints(scene.positions, scene.colours);
  const name = `${kind} ${seed}`;
  const fitted = fitRecord(record, { ...USUAL_FIT_OPTIONS, rules: RULES, shade: false });
  const ours = new Map(fitted.usable!.planes.map((plane) => [plane.id, plane.usableSlopeAreaM2]));
  const matches = new Map(scoreRecord(record, scene.truth, name).planeMatches.map((match) => [match.truth, match.record]));
  return scene.truth.planes.map((plane): UsableSeen => {
    const found = ours.get(matches.get(plane.id) ?? '');
    return {
      scene: name, plane: `${plane.id} as ${matches.get(plane.id) ?? 'none'}`, trueM2: trueUsableM2(plane, scene.truth, RULE),
      oursM2: found && isKnown(found) ? found.value : null, u95M2: found && isKnown(found) ? found.u95 : 0,
    };
  });
}

export interface RoofSeen {
  readonly scene: string;
  readonly trueM2: number;
  readonly error: number;
  readonly u95: number;
}

/** Sums over the planes of each roof; the ± of planes of one roof counted as independent. */
export function roofsOf(seen: readonly UsableSeen[]): RoofSeen[] {
  return [...new Set(seen.map(({ scene }) => scene))].map((scene) => {
    const planes = seen.filter((one) => one.scene === scene);
    const trueM2 = planes.reduce((sum, one) => sum + one.trueM2, 0);
    return {
      scene, trueM2, error: planes.reduce((sum, one) => sum + (one.oursM2 ?? 0), 0) / trueM2 - 1,
      u95: Math.hypot(...planes.map(({ u95M2 }) => u95M2)) / trueM2,
    };
  }).filter(({ trueM2 }) => trueM2 > 0);
}

/** Lines for people over many simulated roofs. @param kinds  Kinds of roof; each with every seed. */
export async function usableLines(kinds: readonly SceneKind[], seeds: readonly number[], noise: NoiseModel, spacing: number, detail: boolean): Promise<{ lines: string[]; within: boolean }> {
  const seen: UsableSeen[] = [];
  for (const kind of kinds) for (const seed of seeds) seen.push(...await usableOf(kind, seed, noise, spacing));
  const roofs = roofsOf(seen);
  const errors = roofs.map(({ error }) => Math.abs(error)).sort((a, b) => a - b);
  const at = (share: number): number => errors[Math.min(errors.length - 1, Math.ceil(share * errors.length) - 1)] ?? Number.POSITIVE_INFINITY;
  const counted = seen.filter(({ oursM2, trueM2 }) => oursM2 !== null && trueM2 > 0);
  const held = counted.filter(({ oursM2, trueM2, u95M2 }) => Math.abs(oursM2! - trueM2) <= u95M2).length / Math.max(1, counted.length);
  const percent = (share: number): string => `${(100 * share).toFixed(2)} %`;
  return {
    lines: [
      ...(detail ? roofs.map(({ scene, trueM2, error, u95 }) => `  ${scene}: ${trueM2.toFixed(1)} m², off by ${percent(error)} ± ${percent(u95)}`) : []),
      ...(detail ? seen.map(({ scene, plane, trueM2, oursM2, u95M2 }) => `    ${scene} ${plane}: true ${trueM2.toFixed(2)}, ours ${oursM2?.toFixed(2) ?? 'none'} ± ${u95M2.toFixed(2)}`) : []),
      `usable area, ${noise} noise, ${spacing * 100} cm: ${roofs.length} roofs, error ${percent(at(0.5))} in the middle, ${percent(at(0.95))} at 95 %; ± holds on ${percent(held)} of ${counted.length} planes`,
    ],
    within: at(0.95) <= ERROR_AT_95 && held >= HOLDS,
  };
}
