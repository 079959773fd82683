import { areaReadings, slopeAreaGradient, stretchOf, togetherReadings, type AreaScatter } from '../../reading/area-uncertainty.ts';
import type { Assumptions } from '../../reading/assumptions.ts';
import type { Building } from '../../roof/record.ts';
import type { Measured } from '../../units/measured.ts';
import type { CornerWeight, PlaneWeight } from './corners/corner-scatter.ts';
import { ringsPlanArea, type FaceRings } from './corners/face-rings.ts';
import type { HiddenCorner } from './hidden-corners.ts';
import type { MeasuredRoof } from './measure-building.ts';

type Measures = Pick<MeasuredRoof, 'map' | 'solved' | 'scatterOf' | 'fits'>;

/** Plan and slope area of one face; shared corners, lines and fits are counted as what they are. */
export function faceArea(roof: Measures, rings: FaceRings, hidden: readonly HiddenCorner[], assumptions: Assumptions): { plan: Measured; slope: Measured } {
  const planArea = ringsPlanArea(rings);
  return areaReadings(roof.fits[rings.face - 1]!, { planArea, ...scatterOfAreas(roof, [rings]), hidden: hiddenOn(hidden, rings) }, assumptions);
}

/** All faces together: a border between two of them moves area from one to the other, and little of it in or out. */
export function roofAreaTogether(roof: Measures, all: readonly FaceRings[], hidden: readonly HiddenCorner[], assumptions: Assumptions): NonNullable<Building['roofArea']> {
  const together = togetherReadings(
    all.map((rings) => ({ plane: roof.fits[rings.face - 1]!, planArea: ringsPlanArea(rings), hidden: hiddenOn(hidden, rings) })),
    scatterOfAreas(roof, all),
    assumptions,
  );
  return { planAreaM2: together.plan, slopeAreaM2: together.slope };
}

const hiddenOn = (hidden: readonly HiddenCorner[], { face }: FaceRings): number => hidden.reduce((sum, corner) => sum + (corner.face === face ? corner.planArea : 0), 0);

/** Scatter of the plan and slope areas of some faces together. */
function scatterOfAreas(roof: Measures, all: readonly FaceRings[]): { plan: AreaScatter; slope: AreaScatter } {
  const faces = new Set(all.map(({ face }) => face));
  const gradients = all.map((rings): PlaneWeight => ({ face: rings.face, elevation: 0, ...slopeAreaGradient(roof.fits[rings.face - 1]!, ringsPlanArea(rings)) }));
  return {
    plan: roof.scatterOf(rimWeights(roof, (face) => (faces.has(face) ? 1 : 0)), []),
    slope: roof.scatterOf(rimWeights(roof, (face) => (faces.has(face) ? stretchOf(roof.fits[face - 1]!) : 0)), gradients),
  };
}

/** Share of every corner in a sum of plan areas, half of x dy - y dx along the rims; `shareOf` says how much each face counts. */
function rimWeights({ map, solved }: Measures, shareOf: (face: number) => number): CornerWeight[] {
  const weights: CornerWeight[] = [];
  map.pieces.forEach(({ left, right, from, to }, i) => {
    if (solved.vanished[i] || left === right) return;
    const sense = ((left ? shareOf(left) : 0) - (right ? shareOf(right) : 0)) / 2;
    if (sense === 0) return;
    const [a, b] = [solved.positions[from]!, solved.positions[to]!];
    weights.push({ vertex: from, x: sense * b[1], y: -sense * b[0] }, { vertex: to, x: -sense * a[1], y: sense * a[0] });
  });
  return weights;
}
