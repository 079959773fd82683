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
/**
 * Limits below are those of the simulation in the accuracy run: of features called resolved at least 95 in 100 are found
 * with their size, of those called below at most 10.
 */
const SURE = 2.5;
/** Fewer samples across show nothing but existence, from the second figure on a size; a line needs half of it. [samples] */
export const LEAST_SAMPLES = 3;
export const SURE_SAMPLES = 7;
const LINE_GAIN = 2;
/** A thing this many times longer than wide is a line. */
const LINE_ASPECT = 4;
/** Evidence is gathered along a line up to this many widths: farther, its waves and bends are not its own. */
const LONGEST_WIDTHS = 10;
/** Nothing lower is called a thing, however fine the cloud: tiles, seams, laps; from twice that on it is sure. [m] */
export const LOWEST = 0.025;

/**
 * Height over the least the noise lets through at this size; under 1 a thing cannot be told from noise.
 *
 * White noise still shares one sample with its neighbours through the reconstruction; waves longer than the thing lift it
 * and the roof around it alike, so the formula's D ≥ 2 ℓ is kept by counting no more than half the width. A long thing
 * gathers evidence along its length: its area takes the place of D².
 */
export function detectionRatio({ height, width, length, noise, correlationLength, spacing }: FeatureInput & { readonly height: number }): number {
  const reach = Math.max(Math.min(correlationLength, width / 2), spacing);
  return (Math.abs(height) * Math.sqrt(width * Math.max(width, Math.min(length ?? width, LONGEST_WIDTHS * width)))) / (2 * LIMIT_SIGMAS * noise * reach);
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
    resolvingSample: (width * ((input.length ?? width) >= LINE_ASPECT * width ? LINE_GAIN : 1)) / SURE_SAMPLES,
    meetsClient: clientGsd && gsd !== null ? gsd <= clientGsd : null,
  };
}

function verdictOf(input: FeatureInput, samples: number): { resolvability: Resolvability; why: string } {
  const { width, height, length } = input;
  const gain = (length ?? width) >= LINE_ASPECT * width ? LINE_GAIN : 1;
  const [least, sure] = [LEAST_SAMPLES / gain, SURE_SAMPLES / gain];
  const across = `${samples.toFixed(samples < 10 ? 1 : 0)} samples across`;
  const few = `only ${across}, ${least} are needed`;
  if (height === null) {
    const size = `${centimetres(width)} wide, height not known`;
    if (samples < least) return { resolvability: 'below', why: `${size}: ${few}.` };
    return { resolvability: 'marginal', why: `${size}: ${across}; without its height nobody can say whether the noise hides it.` };
  }
  const rise = Math.abs(height);
  const size = `${centimetres(width)} wide and ${centimetres(rise)} high`;
  const ratio = detectionRatio({ ...input, height });
  if (ratio < 1) return { resolvability: 'below', why: `${size}: at this size the noise hides what is lower than ${centimetres(rise / ratio)}.` };
  if (rise < LOWEST) return { resolvability: 'below', why: `${size}: what is lower than ${centimetres(LOWEST)} is not told from tiles, seams and laps.` };
  if (samples < least) return { resolvability: 'below', why: `${size}: ${few}.` };
  if (ratio >= SURE && samples >= sure && rise >= 2 * LOWEST) return { resolvability: 'resolved', why: `${size}: ${across}, ${ratio.toFixed(1)} times the limit of detection.` };
  if (samples < sure) return { resolvability: 'marginal', why: `${size}: ${across}, ${sure} show its size.` };
  return { resolvability: 'marginal', why: ratio < SURE ? `${size}: ${ratio.toFixed(1)} times the limit of detection.` : `${size}: little more than tiles, seams and laps.` };
}

/** Whether the pictures are as fine as the client asks, as a sentence with a space before it. */
export function clientSentence(gsd: number | null, limit: number): string {
  if (gsd === null) return ` Whether the survey meets the client's ${centimetres(limit)} per pixel is not known: its ground sample distance is missing.`;
  return gsd <= limit
    ? ` The survey's ${centimetres(gsd)} per pixel meets the client's limit of ${centimetres(limit)}.`
    : ` The survey's ${centimetres(gsd)} per pixel does not meet the client's limit of ${centimetres(limit)}.`;
}

const centimetres = (length: number): string => `${(100 * length).toFixed(1)} cm`;
