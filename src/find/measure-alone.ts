import type { Plane } from '../geometry/plane.ts';
import type { Assumptions } from '../reading/assumptions.ts';
import type { Building, SmallFeature } from '../roof/record.ts';
import { missing } from '../units/measured.ts';
import { addFinding } from './add-finding.ts';
import type { DrawnBorder } from './measure/borders/drawn-border.ts';
import { measureBuilding, type MeasuredRoof } from './measure/measure-building.ts';
import { tileKey, type PointTile } from './measure/raster/point-lookup.ts';
import type { RoofRaster } from './measure/raster/roof-raster.ts';
import { writeBuilding } from './measure/write-building.ts';
import type { Segmentation } from './segmentation.ts';

/** Everything that measuring one building needs. Plain data: it crosses threads. */
export interface BuildingWork {
  readonly raster: RoofRaster;
  /** Points of the raster's cells, at least. */
  readonly tiles: readonly PointTile[];
  /** Four numbers a label, label 0 included: unit normal and offset. Of all labels of the raster, other buildings' too. */
  readonly planes: Float64Array;
  /** One sigma of points about their local plane. [m] */
  readonly noise: number;
  readonly groundSampleDistance: number | null;
  /** Borders that a person drew. Default: none. */
  readonly drawn?: readonly DrawnBorder[];
  /** Labels that a person made: planes whatever the noise would explain. Default: none. */
  readonly madeLabels?: ReadonlySet<number>;
  /** Angle to add to a grid bearing to get a true one. [rad] */
  readonly gridToTrue: number;
  /** What is taken for granted about level, scale and north. */
  readonly assumptions: Assumptions;
  /** Id of the building. */
  readonly id: string;
  /** What finding knew of the labels it gave. */
  readonly finding: Pick<Segmentation, 'curvedSurfaces' | 'separations' | 'joins'>;
}

export interface MeasuredAlone {
  /** Its ground is left open: it does not depend on labels. */
  readonly building: Building;
  readonly roof: MeasuredRoof;
  /** Record id of the plane each face became, by face number. */
  readonly planeIdOf: ReadonlyMap<number, string>;
}

/** Measures one building and writes it down. @returns null when no roof is left of it. */
export function measureAlone({ raster, tiles, planes, noise, groundSampleDistance, gridToTrue, assumptions, id, finding, drawn, madeLabels }: BuildingWork): MeasuredAlone | null {
  const planeOf = (label: number): Plane => ({ normal: [planes[4 * label]!, planes[4 * label + 1]!, planes[4 * label + 2]!], offset: planes[4 * label + 3]! });
  const byPlace = new Map(tiles.map((tile) => [tileKey(tile.column, tile.row), tile]));
  const roof = measureBuilding(raster, { planeOf, noise, tiles: byPlace, groundSampleDistance, ...(drawn ? { drawn } : {}), ...(madeLabels ? { madeLabels } : {}) });
  if (roof.rings.length === 0) return null;
  const { building, planeIdOf } = writeBuilding(roof, { id, gridToTrue, assumptions, groundElevationM: missing('not looked for') });
  const labelOf = new Map(roof.faces.flatMap(({ number, label }) => (planeIdOf.has(number) ? [[planeIdOf.get(number)!, label] as const] : [])));
  return { building: addFinding(building, labelOf, finding), roof, planeIdOf };
}

/** What a survey keeps of a measured building. Plain data: it crosses threads. */
export interface BuildingAnswer {
  readonly building: Building;
  /** Small things proposed, for a person to look at. */
  readonly smallFeatures: readonly SmallFeature[];
  /** Label and plane of each face; null for a face that became no plane. */
  readonly planeOfLabel: readonly (readonly [label: number, plane: string | null])[];
  readonly scatter: readonly FaceScatter[];
}

/** How the points of one face lie about it. */
export interface FaceScatter {
  readonly pointCount: number;
  /** One sigma. [m] */
  readonly noise: number;
  /** [m] */
  readonly correlationLength: number;
}

/** Face that has a face's cells now: itself, or the larger one it was given to. */
export function takerOf({ takenBy }: MeasuredRoof, face: number): number {
  let owner = face;
  for (let next = takenBy.get(owner); next !== undefined; next = takenBy.get(owner)) owner = next;
  return owner;
}

/** `measureAlone` as a task. */
export function answerBuilding(work: BuildingWork): BuildingAnswer | null {
  const measured = measureAlone(work);
  if (!measured) return null;
  const { building, roof, planeIdOf } = measured;
  return {
    building,
    smallFeatures: roof.proposed
      .filter(({ face }) => planeIdOf.has(face))
      .map(({ face, ...feature }, i) => ({ id: `${work.id}.f${i + 1}`, onPlane: planeIdOf.get(face)!, ...feature })),
    planeOfLabel: roof.faces.map(({ label, number }) => [label, planeIdOf.get(takerOf(roof, number)) ?? null]),
    scatter: roof.fits.map(({ pointCount, noise, correlation }) => ({ pointCount, noise, correlationLength: correlation.length })),
  };
}
