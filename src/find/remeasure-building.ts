import type { Cell, CellGrid } from '../cloud/cloud.ts';
import type { Assumptions } from '../reading/assumptions.ts';
import type { Building } from '../roof/record.ts';
import { measureAlone, takerOf } from './measure-alone.ts';
import type { DrawnBorder } from './measure/borders/drawn-border.ts';
import type { MeasuredRoof } from './measure/measure-building.ts';
import { tileKey, type Tile } from './measure/raster/point-lookup.ts';
import { cutOutRaster, labelBoxes } from './measure/raster/roof-raster.ts';
import { sumTile } from './measure/raster/tile-sums.ts';
import { fineSide } from './measure-roof.ts';
import type { Segmentation } from './segmentation.ts';

/** The points of one building, and what they are labelled with. */
export interface LabelledBuilding {
  readonly grid: CellGrid;
  /** Every cell within two metres of the building. */
  readonly cells: readonly LabelledCloudCell[];
  /** Four numbers a label, label 0 included: unit normal and offset. Of all labels in the cells, other buildings' too. */
  readonly planes: Float64Array;
  readonly ownLabels: Iterable<number>;
  /** One sigma of points about their local plane. [m] */
  readonly noise: number;
  /** [m] */
  readonly pointSpacing: number;
  readonly groundSampleDistance: number | null;
  /** Angle to add to a grid bearing to get a true one. [rad] */
  readonly gridToTrue: number;
  /** What is taken for granted about level, scale and north. */
  readonly assumptions: Assumptions;
  /** Borders that a person drew. Default: none. */
  readonly drawn?: readonly DrawnBorder[];
  /** Labels that a person made: planes whatever the noise would explain. Default: none. */
  readonly madeLabels?: ReadonlySet<number>;
  /** Id of the building. */
  readonly id: string;
  /** What finding knew of the labels it gave. */
  readonly finding: Pick<Segmentation, 'curvedSurfaces' | 'separations' | 'joins'>;
}

export interface LabelledCloudCell extends Pick<Cell, 'column' | 'row' | 'origin' | 'positions' | 'pointCount'> {
  readonly labels: Uint16Array;
}

export interface RemeasuredBuilding {
  /** Its ground is left open: it does not depend on labels. */
  readonly building: Building;
  readonly roof: MeasuredRoof;
  /** Record ids of the planes each label became. */
  readonly planesOf: ReadonlyMap<number, readonly string[]>;
  /** Record id of the plane that took the points of a label which became none. */
  readonly takenOf: ReadonlyMap<number, string>;
  readonly tiles: ReadonlyMap<number, Tile>;
}

/**
 * Measures one building from labelled points, as `measureRoof` does for a whole cloud: equal labels give an equal building.
 *
 * @returns null when no roof is left of it.
 */
export function remeasureBuilding(input: LabelledBuilding): RemeasuredBuilding | null {
  const { grid, planes, pointSpacing } = input;
  const side = fineSide(grid.cellSize, pointSpacing);
  const step = grid.cellSize / side;
  const tiles = new Map<number, Tile>();
  for (const { labels, ...rest } of input.cells) {
    const cell: Cell = { ...rest, colours: null, intensity: null, classification: null };
    const answer = sumTile({ positions: cell.positions, origin: cell.origin, labels, side, step, planes });
    tiles.set(tileKey(cell.column, cell.row), { column: cell.column, row: cell.row, cell, labels, ...answer });
  }
  const own = new Uint8Array(planes.length / 4);
  for (const label of input.ownLabels) own[label] = 1;
  const raster = cutOutRaster(tiles, labelBoxes(tiles, side, own.length), grid, side, own);
  if (!raster) return null;
  const measured = measureAlone({ ...input, raster, tiles: [...tiles.values()] });
  if (!measured) return null;
  const { building, roof, planeIdOf } = measured;
  const planesOf = new Map<number, string[]>();
  const takenOf = new Map<number, string>();
  for (const face of roof.faces) {
    const plane = planeIdOf.get(face.number);
    const taker = planeIdOf.get(takerOf(roof, face.number));
    if (plane !== undefined) planesOf.set(face.label, [...(planesOf.get(face.label) ?? []), plane]);
    else if (taker !== undefined) takenOf.set(face.label, taker);
  }
  return { building, roof, planesOf, takenOf, tiles };
}
