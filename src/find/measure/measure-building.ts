import { planeElevationAt, type Plane } from '../../geometry/plane.ts';
import { signedPlanArea } from '../../geometry/polygon.ts';
import { intersect, regionArea, unite, type Region } from '../../geometry/region.ts';
import type { Vector2 } from '../../geometry/vector.ts';
import { traceLabelArcs } from '../../geometry/label-arcs.ts';
import type { LowPoint, Parapet } from '../../roof/record.ts';
import { adjustCorners, type AdjustedCorners } from './corners/adjust-corners.ts';
import type { CornerRule } from './corners/corner-rules.ts';
import { judgeRules, type JudgedRules } from './corners/judge-rules.ts';
import { dissolveBridges } from './borders/dissolve-bridges.ts';
import { dissolveFalls } from './borders/dissolve-falls.ts';
import { drawnLines, type DrawnBorder, type DrawnLineOf } from './borders/drawn-border.ts';
import { faceRings, type FaceRings } from './corners/face-rings.ts';
import { fillFaces } from './faces/roof-faces.ts';
import { fitFaces, type FaceFit } from './faces/fit-faces.ts';
import { fitToRims } from './faces/fit-to-rims.ts';
import { crossingPieces, partedCorners } from './borders/crossing-pieces.ts';
import { mendRings } from './borders/mend-rings.ts';
import type { MeasuredObstruction } from './obstructions/measure-obstruction.ts';
import { loosenPlates } from './faces/plates.ts';
import { poolCells, type RunOn } from './raster/pool-cells.ts';
import { pointLookup, type PointTile } from './raster/point-lookup.ts';
import { gatherCorners } from './corners/gather-corners.ts';
import { runOnBorders } from './borders/run-on-borders.ts';
import { refineEdges } from './edges/refine-edges.ts';
import { lowPoints } from './hollows/low-points.ts';
import { settleBorders } from './borders/settle-borders.ts';
import { regularPieces, type RegularPiece } from './corners/regularise.ts';
import { heightsAbove } from './obstructions/find-obstructions.ts';
import { roofObstructions, stepCells } from './obstructions/roof-obstructions.ts';
import { roofParapets } from './edges/roof-parapets.ts';
import { roofEdges, type FoundEdge } from './edges/roof-edges.ts';
import { proposeSmall, type ProposedFeature } from '../small/propose-small.ts';
import { cellCentre, type Face, type RoofRaster } from './raster/roof-raster.ts';
import { solveCorners, type SolvedCorners } from './corners/solve-corners.ts';
import { dropChoppedCorners, joinPiecesInLine } from './borders/tidy-pieces.ts';
import { renewMeetings, splitArcs, type RoofMap } from './borders/split-arcs.ts';

/** Everything measured of one building's roof, still by faces. */
export interface MeasuredRoof {
  readonly raster: RoofRaster;
  readonly faces: readonly Face[];
  readonly fits: readonly FaceFit[];
  readonly rings: readonly FaceRings[];
  readonly map: RoofMap;
  readonly solved: SolvedCorners;
  readonly edges: readonly FoundEdge[];
  readonly obstructions: readonly MeasuredObstruction[];
  readonly parapets: readonly Omit<Parapet, 'id'>[];
  readonly lowPoints: readonly Omit<LowPoint, 'id'>[];
  readonly proposed: readonly ProposedFeature[];
  readonly sigmaOf: AdjustedCorners['sigmaOf'];
  readonly scatterOf: AdjustedCorners['scatterOf'];
  readonly regular: RegularRoof;
  /** Rules that corners of shallow borders were tested for. */
  readonly rules: JudgedRules;
  /** Faces that the noise explains, and the one that took most of each. */
  readonly takenBy: ReadonlyMap<number, number>;
}

/** The same corners with the sides drawn to rules that passed their tests. */
export interface RegularRoof {
  readonly pieces: ReadonlyMap<number, RegularPiece>;
  /** By vertex, like those of the measured corners. */
  readonly positions: readonly Vector2[];
}

export interface BuildingContext {
  readonly planeOf: (label: number) => Plane;
  readonly noise: number;
  readonly tiles: ReadonlyMap<number, PointTile>;
  readonly groundSampleDistance: number | null;
  /** Borders that a person drew. Default: none. */
  readonly drawn?: readonly DrawnBorder[];
  /** Labels that a person made: planes whatever the noise would explain. Default: none. */
  readonly madeLabels?: ReadonlySet<number>;
}

export function measureBuilding(raster: RoofRaster, { planeOf, noise, tiles, groundSampleDistance, drawn = [], madeLabels }: BuildingContext): MeasuredRoof {
  const points = pointLookup(raster, tiles);
  loosenPlates(raster, noise, planeOf);
  const faces = fillFaces(raster, { noise, planeOf });
  const runOn = poolCells(raster, faces, points, noise);
  const drawnLineOf = drawnLines(drawn, faces);
  const { fits: settled, takenBy } = settledFits(raster, faces, drawnLineOf, runOn, faces.filter(({ label }) => !madeLabels?.has(label)));
  const insideFits = runOnBorders(raster, faces, settled, drawnLineOf) > 0 ? fitFaces(raster, faces, runOn) : settled;
  const map = splitArcs(traceLabelArcs(raster.face, raster.columns, raster.rows), raster, insideFits, drawnLineOf);
  dropChoppedCorners(map, raster.step);
  refineEdges(map, solveCorners(map, raster.step), faces, insideFits, raster, points);
  // Pieces in line are counted once more as the one edge they are.
  if (joinPiecesInLine(map, raster.step) > 0) refineEdges(map, solveCorners(map, raster.step), faces, insideFits, raster, points);
  const measuredFits = fitToRims(raster, faces, insideFits, { map, solved: solveCorners(map, raster.step) }, points, runOn);
  renewMeetings(map, raster.step, measuredFits);
  gatherCorners(map, measuredFits, () => solveCorners(map, raster.step));
  const { solved, sigmaOf, scatterOf, rules, adjusted } = settleCorners(map, measuredFits, raster);
  const fits = measuredFits.map((fit, i) => adjusted.get(i + 1) ?? fit);
  const regular = regularise(map, solved, measuredFits, raster, rules.kept);
  const rings = faceRings(map, solved);
  const edges = roofEdges(map, solved, fits, raster, topsOf(raster, planeOf));
  const steps = stepCells(raster, fits);
  const heights = heightsAbove(raster, faces, fits);
  const outlines = unite(...rings.map(({ outline }) => [outline]));
  const things = roofObstructions({ raster, faces, fits, points, groundSampleDistance }, steps, heights).filter((thing) => standsWithin(thing.footprint, outlines));
  const parapets = roofParapets(edges, map, solved, fits, raster, points);
  const proposals = proposeSmall({ raster, fits, points, steps, heights, obstructions: things, groundSampleDistance });
  const obstructions = things.filter((thing) => !proposals.joined.has(thing));
  const hollows = lowPoints({ raster, faces, fits, edges, map, points, solved });
  return { raster, faces, fits, rings, map, solved, edges, obstructions, parapets, lowPoints: hollows, proposed: proposals.features, sigmaOf, scatterOf, regular, rules, takenBy };
}

/** Corners of the building with its sides drawn to parallels, right angles and lines that run on, where the points allow. */
function regularise(map: RoofMap, solved: SolvedCorners, fits: readonly FaceFit[], raster: RoofRaster, rules: readonly CornerRule[]): RegularRoof {
  const pieces = regularPieces(map, solved);
  for (;;) {
    const drawn = { ...map, pieces: map.pieces.map((piece, i) => ({ ...piece, ...pieces.get(i) })) };
    const { positions } = adjustCorners(drawn, solved, raster.step, { fits, rules });
    const crossing = crossingPieces(map, { ...solved, positions }).flat().filter((i) => pieces.has(i));
    // Sides that would cross when drawn to rules stay as measured.
    for (const i of crossing) pieces.delete(i);
    if (crossing.length === 0) return { pieces, positions: partedCorners(map, { ...solved, positions }) };
  }
}

/** Redrawing one face may spoil another. */
const MENDING_ROUNDS = 4;

function settleCorners(map: RoofMap, fits: readonly FaceFit[], raster: RoofRaster): { solved: SolvedCorners; rules: JudgedRules; adjusted: AdjustedCorners['fits'] } & Pick<AdjustedCorners, 'sigmaOf' | 'scatterOf'> {
  for (let round = 0; ; round++) {
    const first = solveCorners(map, raster.step);
    const free = adjustCorners(map, first, raster.step, { fits });
    const rules = judgeRules(map, first, fits, free);
    const adjusted = rules.kept.length > 0 ? adjustCorners(map, first, raster.step, { fits, rules: rules.kept }) : free;
    const solved = { ...first, positions: adjusted.positions };
    if (round < MENDING_ROUNDS && mendRings(map, solved, raster) > 0) continue;
    return { solved: { ...solved, positions: partedCorners(map, solved) }, sigmaOf: adjusted.sigmaOf, scatterOf: adjusted.scatterOf, rules, adjusted: adjusted.fits };
  }
}

/** Borders and planes depend on each other; a few rounds settle both. */
const SETTLING_ROUNDS = 6;

function settledFits(raster: RoofRaster, faces: readonly Face[], drawnLineOf: DrawnLineOf, runOn: RunOn, doubted: readonly Face[]): { fits: FaceFit[]; takenBy: Map<number, number> } {
  let fits = fitFaces(raster, faces, runOn);
  const settle = (): void => {
    for (let round = 0; round < SETTLING_ROUNDS && settleBorders(raster, faces, fits, drawnLineOf) > 0; round++) fits = fitFaces(raster, faces, runOn);
  };
  settle();
  const takenBy = new Map<number, number>();
  const dissolve = (dissolved: ReadonlyMap<number, number>): boolean => {
    if (dissolved.size === 0) return false;
    for (const [own, taker] of dissolved) takenBy.set(own, taker);
    fits = fitFaces(raster, faces, runOn);
    settle();
    return true;
  };
  dissolve(dissolveFalls(raster, faces, fits, drawnLineOf, doubted));
  // Every round with a bridge in it leaves fewer faces.
  while (dissolve(dissolveBridges(raster, faces, fits, drawnLineOf, doubted)));
  return { fits, takenBy };
}

/** Share of a footprint that must lie within the outlines: less is a wall or a parapet seen past the rim. */
const SHARE_WITHIN = 0.5;

function standsWithin(footprint: readonly Vector2[], outlines: Region): boolean {
  const within = regionArea(intersect([footprint], outlines));
  return within >= SHARE_WITHIN * Math.abs(signedPlanArea(footprint));
}

/** Elevation of what stands highest in each cell: loose points, or the plane of the label seen there. */
function topsOf(raster: RoofRaster, planeOf: (label: number) => Plane): (k: number) => number {
  return (k) => {
    const loose = raster.looseCount[k]! > 0 ? raster.looseHigh[k]! : -Infinity;
    return raster.count[k]! > 0 ? Math.max(loose, planeElevationAt(planeOf(raster.label[k]!), cellCentre(raster, k))) : loose;
  };
}
