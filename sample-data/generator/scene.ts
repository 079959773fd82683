import type { Truth } from '../../src/survey/score/truth.ts';
import { harbour } from './harbour.ts';
import { photograph } from './photograph.ts';
import type { P2, P3 } from './points.ts';
import type { SceneOptions } from './scene-options.ts';
import { ROOF_KINDS, singleRoof, type SingleRoofKind } from './single-roofs.ts';
import type { Model } from './surface.ts';

export type SceneKind = 'harbour' | SingleRoofKind;
export const SCENE_KINDS: readonly SceneKind[] = ['harbour', ...ROOF_KINDS];

export interface Scene {
  /** Source coordinates, x y z, `n × 3`. [m] */
  readonly positions: Float64Array;
  /** Red, green, blue, `n × 3`. */
  readonly colours: Uint8Array;
  readonly truth: Truth;
  /** What was photographed, in local metres (source minus `sourceOrigin`): for the mesh and for pictures. */
  readonly model: Model;
  readonly sourceOrigin: P3;
}

const SOURCE_ORIGIN = [571_200, 6_020_400, 0] as const;

/**
 * A made-up scene as a drone reconstruction gives it, with the truth about it. Same kind, seed and options: same bytes.
 *
 * @param kind  The harbour town or one roof of a kind.
 * @param seed  A whole number; it draws both the buildings and the noise.
 * @throws RangeError for an option outside its range.
 */
export function makeScene(kind: SceneKind, seed: number, options: SceneOptions = {}): Scene {
  const spacing = options.spacing ?? 0.05;
  const settings = {
    spacing,
    groundSampleDistance: options.groundSampleDistance ?? spacing / 2,
    whiteSigma: options.whiteSigma ?? 0.005,
    correlated: options.correlated ?? [],
    dome: options.dome ?? 0,
    outlierShare: options.outlierShare ?? 0.01,
    coverageHoles: options.coverageHoles ?? 0,
    groundKeep: options.groundKeep ?? 1,
  };
  if (!(spacing >= 0.005 && spacing <= 0.5)) throw new RangeError(`Expected a spacing of 0.005 to 0.5 m, got ${spacing}.`);
  if (!(settings.outlierShare >= 0 && settings.outlierShare < 0.5)) {
    throw new RangeError(`Expected a share of stray points of 0 to 0.5, got ${settings.outlierShare}.`);
  }
  const model = kind === 'harbour' ? harbour(seed, options.blocks ?? 1) : singleRoof(kind, seed);
  const origin: P3 = [...(options.sourceOrigin ?? SOURCE_ORIGIN)];
  const points = photograph(model.surfaces, seed, settings);
  const positions = points.positions.slice(0, 3 * points.count);
  for (let i = 0; i < positions.length; i++) positions[i]! += origin[i % 3]!;
  return { positions, colours: points.colours.slice(0, 3 * points.count), truth: truthOf(kind, seed, model, origin, settings), model, sourceOrigin: origin };
}

type Settings = Parameters<typeof photograph>[2];

function truthOf(kind: SceneKind, seed: number, model: Model, origin: P3, settings: Settings): Truth {
  const p3 = (p: readonly [number, number, number]): P3 => [p[0] + origin[0], p[1] + origin[1], p[2] + origin[2]];
  const p2 = (p: readonly [number, number]): P2 => [p[0] + origin[0], p[1] + origin[1]];
  return {
    schema: 'roofdatum-truth/1',
    scene: { kind, seed, note: 'Made by sample-data/generator.' },
    buildings: model.buildings.map((b) => ({ ...b, groundElevationM: b.groundElevationM + origin[2] })),
    planes: model.planes.map((p) => ({ ...p, ring: p.ring.map(p3), holes: p.holes.map((hole) => hole.map(p3)) })),
    edges: model.edges.map((e) => ({ ...e, from: p3(e.from), to: p3(e.to) })),
    obstructions: model.obstructions.map((o) => ({ ...o, footprint: o.footprint.map(p2) })),
    parapets: model.parapets.map((p) => ({ ...p, path: p.path.map(p3), topElevationM: p.topElevationM === null ? null : p.topElevationM + origin[2] })),
    drains: model.drains.map((d) => ({ ...d, at: p3(d.at) })),
    curved: model.curved.map((c) => ({ ...c, ring: c.ring.map(p2) })),
    groundElevationM: model.buildings[0]!.groundElevationM + origin[2],
    sampling: {
      spacingM: settings.spacing, groundSampleDistanceM: settings.groundSampleDistance, whiteSigmaM: settings.whiteSigma,
      correlated: settings.correlated.map((c) => ({ sigmaM: c.sigma, lengthM: c.length })), domeM: settings.dome, outlierShare: settings.outlierShare,
    },
  };
}
