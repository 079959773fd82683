import type { SnapTargets } from '../survey/measure/snap-targets.ts';
import type { CutPiece } from './section-cut.ts';

/** In a section the ends and lines of the cut are what can be taken. */
export function sectionTargets(cut: readonly CutPiece[]): SnapTargets {
  const pieces = cut.filter(({ kind }) => kind !== 'ground');
  return {
    planes: [],
    corners: pieces.flatMap(({ path, id, name }) =>
      path.map((at, i) => ({ at, of: id, name: `end of ${name} in this section`, key: `cut ${id} ${i}`, sidewaysSigmaM: null, planeCount: 1, planes: [], slope: 0 }))),
    edges: pieces.flatMap(({ path, id, name }) =>
      path.slice(1).map((to, i) => ({ id, key: `cut line ${id} ${i}`, name: `${name} as cut here`, from: path[i]!, to, sidewaysSigmaM: null, planes: [], slope: 0 }))),
  };
}
