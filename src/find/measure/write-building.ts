import { signedPlanArea } from '../../geometry/polygon.ts';
import { regionParts, unite } from '../../geometry/region.ts';
import { dot, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import { lengthReading, withScale } from '../../reading/area-uncertainty.ts';
import type { Assumptions } from '../../reading/assumptions.ts';
import { azimuthReading, pitchReading, planeOf, SIGMAS_95 } from '../../reading/plane-uncertainty.ts';
import type { Building, EdgeMeasuredAs, LowPoint, Obstruction, Parapet, PlaneEvidence, RoofEdge, RoofPlane } from '../../roof/record.ts';
import { measured, type Measured } from '../../units/measured.ts';
import { commonHeights, type HeightOf } from './corners/common-heights.ts';
import { ruleNotes } from './corners/judge-rules.ts';
import { faceRings, ringsPlanArea, type FaceRings } from './corners/face-rings.ts';
import { degreesOfFreedom, sigmasFor95, type FaceFit } from './faces/fit-faces.ts';
import { hiddenCorners, reachBeyond, type HiddenCorner } from './hidden-corners.ts';
import type { MeasuredRoof } from './measure-building.ts';
import { faceArea, roofAreaTogether } from './roof-area.ts';
import type { Piece } from './borders/split-arcs.ts';
import type { FoundEdge } from './edges/roof-edges.ts';
import { residualHistogram } from './faces/residual-histogram.ts';

export interface WriteContext {
  readonly id: string;
  readonly groundElevationM: Measured;
  readonly gridToTrue: number;
  readonly assumptions: Assumptions;
}

/** The record of one building from what was measured. Planes are numbered from the largest down. */
export function writeBuilding(roof: MeasuredRoof, context: WriteContext): { building: Building; planeIdOf: Map<number, string> } {
  const bySize = [...roof.rings].sort((a, b) => ringsPlanArea(b) - ringsPlanArea(a) || a.face - b.face);
  const planeIdOf = new Map(bySize.map((rings, i) => [rings.face, `${context.id}.p${i + 1}`]));
  const drawn = { ...roof.solved, positions: roof.regular.positions };
  const regular = new Map(faceRings(roof.map, drawn).map((rings) => [rings.face, rings]));
  const heights: Heights = { measured: commonHeights(roof.map, roof.solved, roof.fits), regular: commonHeights(roof.map, drawn, roof.fits) };
  const hidden = hiddenCorners(roof);
  const roofPlanes = bySize.map((rings) => writePlane(roof, rings, regular.get(rings.face), planeIdOf.get(rings.face)!, heights, hidden, context));
  const rims = new Set(roof.rings.flatMap(({ face, outline, holes }) => [outline, ...holes].flatMap((ring) => ring.map((corner) => placeOf(face, corner)))));
  const edges = roof.edges
    // A hole squeezed to a line has sides but is on no rim.
    .filter((edge) => edge.faces.every((face) => planeIdOf.has(face) && edge.vertices.every((v) => rims.has(placeOf(face, roof.solved.positions[v]!)))))
    .map((edge, i) => writeEdge(roof, edge, `${context.id}.e${i + 1}`, planeIdOf, heights, hidden, context.assumptions));
  const building: Building = {
    id: context.id,
    groundElevationM: context.groundElevationM,
    outline: buildingOutline(roof.rings),
    roofPlanes,
    roofArea: roofAreaTogether(roof, bySize, hidden, context.assumptions),
    edges,
    parapets: roof.parapets.map((parapet, i) => ({ id: `${context.id}.w${i + 1}`, ...scaledParapet(parapet, context.assumptions) })),
    obstructions: roof.obstructions
      .filter((thing) => planeIdOf.has(thing.face))
      .map(({ face, ...thing }, i) => ({ id: `${context.id}.o${i + 1}`, onPlane: planeIdOf.get(face)!, ...scaledThing(thing, context.assumptions) })),
    lowPoints: roof.lowPoints.map((low, i) => ({ id: `${context.id}.d${i + 1}`, ...scaledLow(low, context.assumptions) })),
  };
  return { building, planeIdOf };
}

type WithoutId<T extends { readonly id: string }> = Omit<T, 'id'>;

const scaledParapet = (parapet: WithoutId<Parapet>, assumptions: Assumptions): WithoutId<Parapet> => ({
  ...parapet, heightAboveRoofM: withScale(parapet.heightAboveRoofM, 1, assumptions), thicknessM: withScale(parapet.thicknessM, 1, assumptions),
});

const scaledThing = <T extends Pick<Obstruction, 'planAreaM2' | 'heightAboveRoofM'>>(thing: T, assumptions: Assumptions): T => ({
  ...thing, planAreaM2: withScale(thing.planAreaM2, 2, assumptions), heightAboveRoofM: withScale(thing.heightAboveRoofM, 1, assumptions),
});

const scaledLow = (low: WithoutId<LowPoint>, assumptions: Assumptions): WithoutId<LowPoint> => ({
  ...low, depthM: withScale(low.depthM, 1, assumptions), drainedPlanAreaM2: withScale(low.drainedPlanAreaM2, 2, assumptions),
  ...(low.pond ? { pond: { ...low.pond, planAreaM2: withScale(low.pond.planAreaM2, 2, assumptions) } } : {}),
});

/** Heights of corners as measured, and where the sides are drawn to rules. */
interface Heights {
  readonly measured: HeightOf;
  readonly regular: HeightOf;
}

const placeOf = (face: number, [x, y]: Vector2): string => `${face} ${x} ${y}`;

function buildingOutline(rings: readonly FaceRings[]): readonly Vector2[] {
  const parts = regionParts(unite(...rings.map(({ outline }) => [outline])));
  const outers = parts.map((part) => part[0]!);
  return outers.reduce((a, b) => (signedPlanArea(b) > signedPlanArea(a) ? b : a), outers[0] ?? []);
}

function writePlane(roof: MeasuredRoof, rings: FaceRings, drawn: FaceRings | undefined, id: string, heights: Heights, hidden: readonly HiddenCorner[], { gridToTrue, assumptions }: WriteContext): RoofPlane {
  const fit = roof.fits[rings.face - 1]!;
  const { normal, offset } = planeOf(fit);
  const lift = (ring: readonly Vector2[], heightOf: HeightOf = heights.measured): Vector3[] => ring.map((p) => [p[0], p[1], heightOf(rings.face, p)]);
  const outline = lift(rings.outline);
  const holes = rings.holes.map((hole) => lift(hole));
  const area = faceArea(roof, rings, hidden, assumptions);
  return {
    id,
    normal,
    offset,
    pitchDeg: pitchReading(fit, assumptions),
    azimuthDeg: azimuthReading(fit, gridToTrue, assumptions),
    slopeAreaM2: area.slope,
    planAreaM2: area.plan,
    outline,
    holes,
    pointCount: fit.pointCount,
    residualRmsM: fit.noise,
    evidence: {
      ...evidenceOf(roof, rings.face, fit),
      cornersOffPlaneM: [outline, ...holes].flat().reduce((most, corner) => Math.max(most, Math.abs(dot(normal, corner) + offset)), 0),
    },
    ...regularPlane(roof, rings, drawn, (ring) => lift(ring, heights.regular), Math.sqrt(1 + fit.slopeX ** 2 + fit.slopeY ** 2)),
  };
}

const measuredAs = ({ kind, meets }: FoundEdge, { counted }: Piece): EdgeMeasuredAs =>
  meets ? 'intersection' : !counted ? 'labels' : kind === 'parapet' || kind === 'abutment' ? 'upright-face' : 'cover-edge';

/** Corners that move less than this by the rules have not moved. [m] */
const UNMOVED = 0.0005;

/** The plane's rings with regular corners; nothing where no rule moves a corner of it. */
function regularPlane(
  { map, solved, regular }: MeasuredRoof, rings: FaceRings, drawn: FaceRings | undefined, lift: (ring: readonly Vector2[]) => Vector3[], stretch: number,
): Pick<RoofPlane, 'regular'> {
  const vertices = rings.pieces.flatMap((i) => [map.pieces[i]!.from, map.pieces[i]!.to]);
  const greatestShiftM = vertices.reduce((most, v) => Math.max(most, shiftOf(solved.positions[v]!, regular.positions[v]!)), 0);
  if (!drawn || greatestShiftM < UNMOVED) return {};
  return { regular: { outline: lift(drawn.outline), holes: drawn.holes.map(lift), slopeAreaM2: ringsPlanArea(drawn) * stretch, greatestShiftM } };
}

const shiftOf = (a: Vector2, b: Vector2): number => Math.hypot(a[0] - b[0], a[1] - b[1]);

function regularEdge({ solved, regular }: MeasuredRoof, edge: FoundEdge, heightOf: HeightOf, [nx, ny]: Vector2): Pick<RoofEdge, 'regular'> {
  const rules = regular.pieces.get(edge.piece);
  if (!rules) return {};
  const moved = edge.vertices.map((v) => [regular.positions[v]![0] - solved.positions[v]![0], regular.positions[v]![1] - solved.positions[v]![1]] as const);
  const [from, to] = edge.vertices.map((v) => endAt(edge, regular.positions[v]!, heightOf)) as [Vector3, Vector3];
  return {
    regular: {
      from, to,
      shiftM: Math.max(...moved.map(([dx, dy]) => Math.abs(dx * nx + dy * ny))), kept: rules.kept, refused: rules.refused, tests: rules.tests,
    },
  };
}

/** End of an edge over a corner: at the height its planes have in common there. */
function endAt({ faces }: FoundEdge, corner: Vector2, heightOf: HeightOf): Vector3 {
  const heights = faces.map((face) => heightOf(face, corner));
  const level = heights.every((height) => height === heights[0]);
  return [corner[0], corner[1], level ? heights[0]! : heights.reduce((sum, height) => sum + height, 0) / heights.length];
}

function evidenceOf(roof: MeasuredRoof, face: number, fit: FaceFit): PlaneEvidence {
  const histogram = residualHistogram(roof.raster, roof.faces[face - 1]!, fit);
  return {
    method: 'least squares over raster cells away from the rim, clutter cut by the lower half of the residuals',
    noiseM: fit.noise,
    correlationLengthM: fit.correlation.length,
    effectivePointCount: Math.max(1, fit.pointCount / fit.correlation.inflation),
    degreesOfFreedom: degreesOfFreedom(fit),
    sigmasIn95: sigmasFor95(degreesOfFreedom(fit)),
    covariance: fit.covariance,
    centroid: [fit.centroid[0], fit.centroid[1], fit.elevation],
    ...(histogram ? { residualHistogram: histogram } : {}),
    notes: fit.notes,
  };
}

const noteOf = (notes: readonly string[]): Pick<RoofEdge, 'note'> => (notes.length > 0 ? { note: notes.join('; ') } : {});

function writeEdge(roof: MeasuredRoof, edge: FoundEdge, id: string, planeIdOf: Map<number, string>, heights: Heights, hidden: readonly HiddenCorner[], assumptions: Assumptions): RoofEdge {
  const [from, to] = edge.vertices.map((v) => endAt(edge, roof.solved.positions[v]!, heights.measured)) as [Vector3, Vector3];
  const [dx, dy, dz] = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
  const plan = Math.hypot(dx, dy);
  const slope = Math.hypot(plan, dz);
  const [ux, uy] = [dx / plan, dy / plan];
  const ends = (first: number, last: number, x: number, y: number): number =>
    roof.sigmaOf([{ vertex: edge.vertices[0], x: first * x, y: first * y }, { vertex: edge.vertices[1], x: last * x, y: last * y }]);
  // Plan scatter of the ends stretches with the slope of the edge.
  const along = ends(-1, 1, ux, uy) * (slope / plan);
  const beyond = reachBeyond(hidden, edge) * (slope / plan);
  const beside = ends(0.5, 0.5, -uy, ux);
  return {
    id,
    kind: edge.kind,
    planes: edge.faces.map((face) => planeIdOf.get(face)!),
    from,
    to,
    slopeLengthM: lengthReading(slope, along, 0, assumptions, beyond),
    measuredAs: measuredAs(edge, roof.map.pieces[edge.piece]!),
    ...regularEdge(roof, edge, heights.regular, [-uy, ux]),
    positionM: measured(0, [{ name: edge.meets ? 'intersection' : 'edge', u95: SIGMAS_95 * beside }]),
    ...noteOf([...(edge.note ? [edge.note] : []), ...(beyond > 0 ? [`goes on by ${beyond.toFixed(2)} m or less if its corner stands behind what is before it`] : []), ...ruleNotes(roof.rules, edge.piece)]),
  };
}
