import type { TruthBuilding, TruthDrain, TruthEdge, TruthObstruction, TruthParapet, TruthPlane } from '../../src/survey/score/truth.ts';
import type { P2, P3 } from './points.ts';

export type Paint =
  | 'clay tile' | 'slate' | 'membrane' | 'zinc' | 'brick' | 'plaster' | 'timber' | 'concrete' | 'quay' | 'grass' | 'water'
  | 'glass' | 'metal' | 'leaf' | 'white van' | 'blue van' | 'fascia';

/** One flat piece of what the camera sees; the ring runs counter-clockwise seen from outside. */
export interface Surface {
  readonly ring: P3[];
  readonly holes: P3[][];
  readonly paint: Paint;
  /** Share of the points that survive (glass and water lose theirs). */
  readonly keep: number;
  /** Further independent noise along the normal, e.g. leaves. [m] */
  readonly extraSigma: number;
  /** A free edge rolls over as if a board stood under it. */
  readonly freeEdgesRollOver: boolean;
}

/** A scene before it is photographed, in local metres. */
export interface Model {
  readonly surfaces: Surface[];
  readonly buildings: TruthBuilding[];
  readonly planes: TruthPlane[];
  readonly edges: TruthEdge[];
  readonly obstructions: TruthObstruction[];
  readonly parapets: TruthParapet[];
  readonly drains: TruthDrain[];
  readonly curved: { id: string; ring: P2[] }[];
}

export const emptyModel = (): Model => ({
  surfaces: [], buildings: [], planes: [], edges: [], obstructions: [], parapets: [], drains: [], curved: [],
});

export const surface = (ring: P3[], paint: Paint, more: Partial<Surface> = {}): Surface => ({
  ring, paint, holes: [], keep: 1, extraSigma: 0, freeEdgesRollOver: false, ...more,
});

/** Four walls and a lid. `base` runs counter-clockwise; each corner has its own foot, all share one top. */
export function addPrism(model: Model, base: readonly P3[], topZ: number, paint: Paint, lid: Paint = paint, lidKeep = 1): void {
  const top = base.map((p): P3 => [p[0], p[1], topZ]);
  model.surfaces.push(surface(top, lid, { keep: lidKeep }));
  base.forEach((a, i) => {
    const j = (i + 1) % base.length;
    model.surfaces.push(surface([a, base[j]!, top[j]!, top[i]!], paint));
  });
}
