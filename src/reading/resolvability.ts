import type { Resolvability } from '../roof/record.ts';

export interface FeatureInput {
  /** Height above or depth below the roof; its sign does not matter. Null when nobody knows it. [m] */
  readonly height: number | null;
  /** Least width in plan. [m] */
  readonly width: number;
  /** Along the feature, for pipes, gutters and kerbs. Default the width. [m] */
  readonly length?: number;
  /** One sigma of points about the roof plane. [m] */
  readonly noise: number;
  /** Distance over which their errors go together. [m] */
  readonly correlationLength: number;
  /** Point spacing in plan. [m] */
  readonly spacing: number;
  /** Ground sample distance where it is known. [m] */
  readonly groundSampleDistance?: number | null;
}

export interface FeatureVerdict {
  readonly resolvability: Resolvability;
  /** One or two sentences for a person; the second judges the survey by the client's limit, if there is one. */
  readonly why: string;
  readonly verifyOnSite: boolean;
  /** Samples across the width, by the coarser of point spacing and ground sample distance. */
  readonly samplesAcross: number;
  /** Sample distance at which the feature would be resolved, as far as its width decides. [m] */
  readonly resolvingSample: number;
  /** Whether the pictures are as fine as the client asks; null without a limit or without a known ground sample distance. */
  readonly meetsClient: boolean | null;
}

/** Limit of the test in sigmas: 0.14 false alarms expected on 200 m² of roof (methods C). */
const LIMIT_SIGMAS = 4.5;
/** Twice the limit: an object there passes in 19 cases of 20 and its height is worth stating. */
const SURE = 2;
/** Widths below the first show nothing but their existence, from the second on a shape. [samples] */
export const LEAST_SAMPLES = 4;
export const SURE_SAMPLES = 10;

/**
 * Height over the least the noise lets through at this size; under 1 a thing cannot be told from noise.
 *
 * White noise still shares one sample with its neighbours through the reconstruction; waves longer than the thing lift it
 * and the roof around it alike, so the formula's D ≥ 2 ℓ is kept by counting no more than half the width. A long thing
 * gathers evidence along its length: its area takes the place of D².
 */
export function detectionRatio({ height, width, length, noise, correlationLength, spacing }: FeatureInput & { readonly height: number }): number {
  const reach = Math.max(Math.min(correlationLength, width / 2), spacing);
  return (Math.abs(height) * Math.sqrt(width * Math.max(width, length ?? width))) / (2 * LIMIT_SIGMAS * noise * reach);
}

/**
 * What a survey can show of a thing on a roof. A thing of width D and height h passes a test at z sigmas when
 * h D ≥ 2 z σ ℓ (methods C, closed form for D ≥ 2 ℓ), and it must be wide enough to be sampled at all. A thing of unknown
 * height is judged by its width alone and is never called resolved.
 *
 * @param clientGsd  Coarsest ground sample distance the client allows; adds a sentence on whether the survey meets it. [m]
 */
export function judgeFeature(input: FeatureInput, clientGsd?: number | null): FeatureVerdict {
  const { width, spacing } = input;
  const gsd = input.groundSampleDistance ?? null;
  const samplesAcross = width / Math.max(spacing, gsd ?? 0);
  const { resolvability, why } = verdictOf(input, samplesAcross);
  const client = clientGsd ? clientSentence(gsd, clientGsd) : '';
  return {
    resolvability,
    why: why + client,
    verifyOnSite: resolvability !== 'resolved',
    samplesAcross,
    resolvingSample: width / SURE_SAMPLES,
    meetsClient: clientGsd && gsd !== null ? gsd <= clientGsd : null,
  };
}

function verdictOf(input: FeatureInput, samples: number): { resolvability: Resolvability; why: string } {
  const { width, height } = input;
  const across = `${samples.toFixed(samples < SURE_SAMPLES ? 1 : 0)} samples across`;
  if (height === null) {
    const size = `${centimetres(width)} wide, height not known`;
    if (samples < LEAST_SAMPLES) return { resolvability: 'below', why: `${size}: only ${across}, ${LEAST_SAMPLES} are needed.` };
    return { resolvability: 'marginal', why: `${size}: ${across}; without its height nobody can say whether the noise hides it.` };
  }
  const size = `${centimetres(width)} wide and ${centimetres(Math.abs(height))} high`;
  const ratio = detectionRatio({ ...input, height });
  if (ratio < 1) {
    return { resolvability: 'below', why: `${size}: at this width the noise hides what is lower than ${centimetres(Math.abs(height) / ratio)}.` };
  }
  if (samples < LEAST_SAMPLES) return { resolvability: 'below', why: `${size}: only ${across}, ${LEAST_SAMPLES} are needed.` };
  if (ratio >= SURE && samples >= SURE_SAMPLES) return { resolvability: 'resolved', why: `${size}: ${across}, ${ratio.toFixed(1)} times the limit of detection.` };
  const limit = ratio < SURE ? `${ratio.toFixed(1)} times the limit of detection` : `${across}, ${SURE_SAMPLES} show a shape`;
  return { resolvability: 'marginal', why: `${size}: ${limit}.` };
}

function clientSentence(gsd: number | null, limit: number): string {
  if (gsd === null) return ` Whether the survey meets the client's ${centimetres(limit)} per pixel is not known: its ground sample distance is missing.`;
  return gsd <= limit
    ? ` The survey's ${centimetres(gsd)} per pixel meets the client's limit of ${centimetres(limit)}.`
    : ` The survey's ${centimetres(gsd)} per pixel does not meet the client's limit of ${centimetres(limit)}.`;
}

const centimetres = (length: number): string => `${(100 * length).toFixed(1)} cm`;
