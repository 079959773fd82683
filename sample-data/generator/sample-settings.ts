import type { SceneOptions } from './scene-options.ts';

export const SAMPLE_SEED = 8;

/** The committed sample: thin enough to open at once and stay under 3 MB, dense enough that its roof planes are found. */
export const SAMPLE_OPTIONS: SceneOptions = {
  spacing: 0.092, groundSampleDistance: 0.03, whiteSigma: 0.004, outlierShare: 0.01, groundKeep: 0.5,
  correlated: [{ sigma: 0.007, length: 0.12 }, { sigma: 0.003, length: 0.5 }, { sigma: 0.002, length: 3 }],
};
