import type { Resolvability } from '../roof/record.ts';

export interface ResolvabilityInput {
  /** Height above or depth below the roof; its sign does not matter. [m] */
  readonly height: number;
  /** Least width in plan. [m] */
  readonly width: number;
  /** One sigma of points about the roof plane. [m] */
  readonly noise: number;
  /** Distance over which their errors go together. [m] */
  readonly correlationLength: number;
  /** Point spacing in plan. [m] */
  readonly spacing: number;
  /** Ground sample distance where it is known. [m] */
  readonly groundSampleDistance?: number | null;
}

export interface ResolvabilityVerdict {
  readonly resolvability: Resolvability;
  /** One sentence for a person. */
  readonly why: string;
}

/** Limit of the test in sigmas: 0.14 false alarms expected on 200 m² of roof (methods C). */
const LIMIT_SIGMAS = 4.5;
/** Twice the limit: an object there passes in 19 cases of 20 and its height is worth stating. */
const SURE = 2;
/** Widths below the first show nothing but their existence, from the second on a shape. [samples] */
const LEAST_SAMPLES = 4;
const SURE_SAMPLES = 10;

/**
 * Height times width over the least the noise lets through; under 1 a thing cannot be told from noise.
 *
 * White noise still shares one sample with its neighbours through the reconstruction; waves longer than the thing lift it
 * and the roof around it alike, so the formula's D ≥ 2 ℓ is kept by counting no more than half the width.
 */
export function detectionRatio({ height, width, noise, correlationLength, spacing }: ResolvabilityInput): number {
  const reach = Math.max(Math.min(correlationLength, width / 2), spacing);
  return (Math.abs(height) * width) / (2 * LIMIT_SIGMAS * noise * reach);
}

/**
 * What a survey can show of a thing on a roof. A thing of width D and height h passes a test at z sigmas when
 * h D ≥ 2 z σ ℓ (methods C, closed form for D ≥ 2 ℓ), and it must be wide enough to be sampled at all.
 */
export function resolvabilityOf(input: ResolvabilityInput): ResolvabilityVerdict {
  const { width, spacing, groundSampleDistance } = input;
  const height = Math.abs(input.height);
  const sample = Math.max(spacing, groundSampleDistance ?? 0);
  const ratio = detectionRatio(input);
  const samples = width / sample;
  const size = `${centimetres(width)} wide and ${centimetres(height)} high`;
  if (ratio < 1) {
    return { resolvability: 'below', why: `${size}: at this width the noise hides what is lower than ${centimetres(height / ratio)}.` };
  }
  if (samples < LEAST_SAMPLES) return { resolvability: 'below', why: `${size}: only ${samples.toFixed(1)} samples across, ${LEAST_SAMPLES} are needed.` };
  if (ratio >= SURE && samples >= SURE_SAMPLES) {
    return { resolvability: 'resolved', why: `${size}: ${samples.toFixed(0)} samples across, ${ratio.toFixed(1)} times the limit of detection.` };
  }
  const limit = ratio < SURE ? `${ratio.toFixed(1)} times the limit of detection` : `${samples.toFixed(1)} samples across, ${SURE_SAMPLES} show a shape`;
  return { resolvability: 'marginal', why: `${size}: ${limit}.` };
}

const centimetres = (length: number): string => `${(100 * length).toFixed(1)} cm`;
