import { chiSquareTail } from '../geometry/distributions.ts';
import type { Building, PlaneSeparation, RoofPlane } from '../roof/record.ts';
import type { Join, Segmentation } from './segmentation.ts';

/** The distribution's tail is lost in rounding below this: here it still has seven digits, and four are told. */
const SMALLEST_P = 1e-9;

/**
 * Adds to a measured building what finding its planes knows: which planes stand for one curved surface, and how sure it is
 * that neighbours at a shallow angle are two planes. Lines between the strips of a curved surface are no edges of the roof and go.
 *
 * @param labelOf  Label of each plane of the record, by id.
 */
export function addFinding(building: Building, labelOf: ReadonlyMap<string, number>, { curvedSurfaces, separations, joins }: Pick<Segmentation, 'curvedSurfaces' | 'separations' | 'joins'>): Building {
  const surfaceOf = new Map<string, number>();
  const here = curvedSurfaces.map((labels) => building.roofPlanes.filter(({ id }) => labels.includes(labelOf.get(id) ?? 0))).filter((strips) => strips.length > 0);
  here.forEach((strips, i) => strips.forEach(({ id }) => surfaceOf.set(id, i + 1)));
  const apartFrom = (id: string): PlaneSeparation[] =>
    separations.flatMap(({ first, second, chiSquared, independentCount }) => {
      const own = labelOf.get(id);
      if (own !== first && own !== second) return [];
      const other = own === first ? second : first;
      const pValue = chanceOf(chiSquared);
      return building.roofPlanes.flatMap((plane) => (labelOf.get(plane.id) === other ? [{ plane: plane.id, pValue, independentCount }] : []));
    });
  return {
    ...building,
    roofPlanes: building.roofPlanes.map((plane) => withFinding(plane, surfaceOf.get(plane.id), here, apartFrom(plane.id), joins.find(({ label }) => label === labelOf.get(plane.id)))),
    edges: building.edges.filter(({ planes: [a, b] }) => b === undefined || surfaceOf.get(a!) === undefined || surfaceOf.get(a!) !== surfaceOf.get(b)),
  };
}

const chanceOf = (chiSquared: number): number => Number(Math.min(1, Math.max(SMALLEST_P, chiSquareTail(chiSquared, 3))).toPrecision(4));

function withFinding(plane: RoofPlane, curvedSurface: number | undefined, surfaces: readonly (readonly RoofPlane[])[], apartFrom: readonly PlaneSeparation[], join: Join | undefined): RoofPlane {
  if (!plane.evidence || (curvedSurface === undefined && apartFrom.length === 0 && !join)) return plane;
  const strips = curvedSurface === undefined ? 0 : surfaces[curvedSurface - 1]!.length;
  const note = strips > 1 ? [`one of ${strips} flat strips that stand for a curved surface`] : strips === 1 ? ['bends: one flat plane does not describe it'] : [];
  return {
    ...plane,
    evidence: {
      ...plane.evidence,
      ...(curvedSurface === undefined ? {} : { curvedSurface }),
      ...(apartFrom.length > 0 ? { apartFrom } : {}),
      ...(join ? { joinedFrom: { patches: join.patches, leastPValue: chanceOf(join.chiSquared) } } : {}),
      notes: [...plane.evidence.notes, ...note],
    },
  };
}
