import type { NoiseModel } from '../../sample-data/generator/scene-options.ts';
import { ROOF_KINDS } from '../../sample-data/generator/single-roofs.ts';
import type { SceneKind } from '../../sample-data/generator/scene.ts';

/** One roof, photographed once. */
export interface AccuracyCase {
  readonly kind: SceneKind;
  readonly seed: number;
  readonly noise: NoiseModel;
  /** [m] */
  readonly spacing: number;
}

export const NOISES: readonly NoiseModel[] = ['white', 'correlated', 'domed'];
export const SPACINGS: readonly number[] = [0.02, 0.05, 0.1, 0.25];

/** Seeds up to here are for looking at while the methods change; those from 1001 are kept for the figures shown. */
export const FIRST_HELD_OUT_SEED = 1001;
const SEEDS_PER_KIND = 5;

export interface Selection {
  readonly kinds?: readonly SceneKind[] | undefined;
  readonly noises?: readonly NoiseModel[] | undefined;
  readonly spacings?: readonly number[] | undefined;
  readonly firstSeed: number;
  readonly seedCount?: number | undefined;
  /** Seeds of the cases that are not of the promise, default as many. */
  readonly besideCount?: number | undefined;
}

/** All combinations, by default twelve kinds of roof × five seeds × three noise models × four spacings. */
export function listCases(selection: Selection): AccuracyCase[] {
  const { kinds = ROOF_KINDS, noises = NOISES, spacings = SPACINGS, firstSeed, seedCount = SEEDS_PER_KIND, besideCount = seedCount } = selection;
  return spacings.flatMap((spacing) => noises.flatMap((noise) => kinds.flatMap((kind) =>
    Array.from({ length: isOfPromise(noise, spacing) ? seedCount : besideCount }, (_, i): AccuracyCase => ({ kind, seed: firstSeed + i, noise, spacing })),
  )));
}

/** The figures of the promise are for 2 and 5 cm with correlated noise; the others stand beside them. */
export const isOfPromise = (noise: NoiseModel, spacing: number): boolean => noise === 'correlated' && spacing <= 0.05;

/** Two minutes' worth: every kind once or twice at 5 cm with correlated noise, the harbour, and half the kinds at 2.5 cm. */
export function shortCases(): AccuracyCase[] {
  const at = (kind: SceneKind, seed: number, spacing: number): AccuracyCase => ({ kind, seed, noise: 'correlated', spacing });
  return [
    ...ROOF_KINDS.flatMap((kind) => [at(kind, 11, 0.05), at(kind, 12, 0.05)]),
    at('harbour', 11, 0.05),
    ...ROOF_KINDS.filter((_, i) => i % 2 === 0).map((kind) => at(kind, 13, 0.025)),
  ];
}

export const caseName = (c: AccuracyCase): string => `${c.kind} ${c.seed} (${c.noise}, ${Math.round(c.spacing * 1000) / 10} cm)`;
