import { areaReadings, togetherReadings } from '../../reading/area-uncertainty.ts';
import type { Assumptions } from '../../reading/assumptions.ts';
import type { Building } from '../../roof/record.ts';
import type { Measured } from '../../units/measured.ts';
import type { CornerWeight } from './corners/adjust-corners.ts';
import { ringsPlanArea, type FaceRings } from './corners/face-rings.ts';
import type { MeasuredRoof } from './measure-building.ts';
import { pieceLength } from './corners/solve-corners.ts';

type Measures = Pick<MeasuredRoof, 'map' | 'solved' | 'sigmaOf' | 'fits'>;

/** Plan and slope area of one face; shared corners and lines are counted as what they are. */
export function faceArea(roof: Measures, rings: FaceRings, assumptions: Assumptions): { plan: Measured; slope: Measured } {
  const edgeSigma = roof.sigmaOf(rimWeights(roof, (face) => (face === rings.face ? 1 : 0)));
  return areaReadings(roof.fits[rings.face - 1]!, { planArea: ringsPlanArea(rings), edgeSigma }, assumptions);
}

/** All faces together: a border between two of them moves area from one to the other, and little of it in or out. */
export function roofAreaTogether(roof: Measures, all: readonly FaceRings[], assumptions: Assumptions): NonNullable<Building['roofArea']> {
  const stretchOf = (face: number): number => Math.hypot(1, roof.fits[face - 1]!.slopeX, roof.fits[face - 1]!.slopeY);
  const faces = new Set(all.map(({ face }) => face));
  const shared = (share: (face: number) => number): number => roof.sigmaOf(rimWeights(roof, (face) => (faces.has(face) ? share(face) : 0)));
  const together = togetherReadings(
    all.map((rings) => ({ plane: roof.fits[rings.face - 1]!, planArea: ringsPlanArea(rings) })),
    { plan: shared(() => 1), slope: shared(stretchOf) },
    outerSides(roof, faces),
    assumptions,
  );
  return { planAreaM2: together.plan, slopeAreaM2: together.slope };
}

/** Sides with no roof beyond: their length, stretched as their plane is, and the wider spacing of points at either. [m] */
function outerSides({ map, solved, fits }: Measures, faces: ReadonlySet<number>): { length: number; spacing: number } {
  let [length, spacing] = [0, 0];
  map.pieces.forEach((piece, i) => {
    const [left, right] = [faces.has(piece.left), faces.has(piece.right)];
    if (solved.vanished[i] || left === right) return;
    const { density, slopeX, slopeY } = fits[(left ? piece.left : piece.right) - 1]!;
    length += pieceLength(piece, solved.positions) * Math.hypot(1, slopeX, slopeY);
    spacing = Math.max(spacing, 1 / Math.sqrt(Math.max(1e-6, density)));
  });
  return { length, spacing };
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
