/** How the scene is photographed and reconstructed. All lengths in metres. */
export interface SceneOptions {
  /** Point spacing on a level surface seen well, 0.005 to 0.5. Default 0.05. */
  readonly spacing?: number;
  /** Pixel size on the roof; edges are rounded over about two of it. Default half the spacing: a cloud kept at every other pixel. */
  readonly groundSampleDistance?: number;
  /** Independent noise along the normal, one sigma; half of it sideways. Default 0.005. */
  readonly whiteSigma?: number;
  /** Smooth noise along the normal. Default none. */
  readonly correlated?: readonly { readonly sigma: number; readonly length: number }[];
  /** Rise of the middle of the scene over its border. Default 0. */
  readonly dome?: number;
  /** Share of stray points. Default 0.01. */
  readonly outlierShare?: number;
  /** Round patches of roof or ground without points (a hole in the coverage): how many. Default 0. */
  readonly coverageHoles?: number;
  /** Points kept on the ground, share. Default 1. */
  readonly groundKeep?: number;
  /** Source coordinates of the scene's local origin. Default: zone 32 north of EPSG:25832, a made-up harbour. */
  readonly sourceOrigin?: readonly [number, number, number];
  /** Harbour only: how many copies of the town stand side by side, each with its own seed. Default 1. */
  readonly blocks?: number;
}

export type NoiseModel = 'white' | 'correlated' | 'domed';

/** The three noise models every accuracy figure is given for. Two centimetres in all; see README for the make-up. */
export const NOISE_MODELS: Readonly<Record<NoiseModel, Pick<SceneOptions, 'whiteSigma' | 'correlated' | 'dome' | 'outlierShare'>>> = {
  white: { whiteSigma: 0.02, outlierShare: 0.01 },
  correlated: {
    whiteSigma: 0.006, outlierShare: 0.01,
    correlated: [{ sigma: 0.0186, length: 0.1 }, { sigma: 0.004, length: 0.4 }, { sigma: 0.002, length: 3 }],
  },
  domed: {
    whiteSigma: 0.006, outlierShare: 0.03, dome: 0.03,
    correlated: [{ sigma: 0.0186, length: 0.1 }, { sigma: 0.004, length: 0.4 }, { sigma: 0.002, length: 3 }],
  },
};
