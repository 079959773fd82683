import type { Cell, CellGrid } from '../cloud/cloud.ts';
import type { CellFragment } from '../cloud/bin-into-cells.ts';
import type { CellVoxels, SumVoxelsWork } from '../find/voxels/sum-voxels.ts';
import type { PooledPart, PoolWork } from '../find/voxels/pooled-normals.ts';
import type { LabelCellWork, LabelledCell } from '../find/voxels/label-cell.ts';
import type { BuildingAnswer, BuildingWork } from '../find/measure-alone.ts';
import type { TileAnswer, TileInput } from '../find/measure/raster/tile-sums.ts';
import type { SplitSurface, SurfaceGroup, SurfaceSearch } from '../find/facets/split-surface.ts';
import type { Mesh } from '../cloud/mesh.ts';
import type { Bounds3, FileDescription } from '../io/survey-file.ts';
import type { Region } from '../io/region.ts';
import type { FitGroup, FittedBuilding } from '../layout/fit-group.ts';
import type { SourceToLocal } from '../site/local-frame.ts';
import type { CellLight, CellLightWork } from '../sun/cell-light.ts';
import type { Heights, HeightsWork } from './heights-of-part.ts';
import type { PlanSquares } from './plan-squares.ts';
import type { SourceHandle } from './source-handle.ts';

/** Every task with its input and output. All are plain data, so that any of them can run in a worker. */
export interface Tasks {
  /** Frees what a thread no longer refers to. */
  'let-go': { input: Record<never, never>; output: Record<never, never> };
  'hash-file': { input: { readonly file: SourceHandle }; output: string };
  'describe-file': { input: { readonly file: SourceHandle; readonly salvage: boolean }; output: FileDescription };
  /** Only for files that do not state their bounds. */
  'measure-part': { input: PartInput; output: { readonly bounds: Bounds3 | null } };
  /** Only for surveys whose bounds are doubted. `side` of a square in the source unit. */
  'count-part': { input: PartInput & { readonly side: number }; output: PlanSquares };
  'read-part': { input: PartInput & Placement; output: PlacedPoints };
  'read-mesh': {
    input: { readonly file: SourceHandle; readonly description: FileDescription; readonly up: 'z' | 'y' };
    /** Source unit, z up. */
    output: { readonly mesh: Mesh; readonly bounds: Bounds3 };
  };
  'sample-mesh': { input: { readonly mesh: Mesh; readonly spacing: number } & Placement; output: PlacedPoints & { readonly mesh: Mesh } };
  'finish-cells': { input: { readonly grid: CellGrid; readonly fragments: readonly (readonly CellFragment[])[]; readonly shared: boolean }; output: readonly Cell[] };
  'sum-voxels': { input: { readonly work: readonly SumVoxelsWork[] }; output: readonly CellVoxels[] };
  /** Only where memory is shared. */
  'pool-normals': { input: PoolWork; output: PooledPart };
  'split-clusters': { input: { readonly search: SurfaceSearch; readonly clusters: readonly (readonly SurfaceGroup[])[] }; output: readonly (readonly (SplitSurface | null)[])[] };
  'label-cells': { input: { readonly work: readonly LabelCellWork[] }; output: readonly LabelledCell[] };
  'heights-of-part': { input: HeightsWork; output: Heights };
  'fit-buildings': { input: FitGroup; output: readonly FittedBuilding[] };
  'light-on-cells': { input: CellLightWork; output: CellLight };
  'measure-building': { input: { readonly work: BuildingWork | null }; output: { readonly answer: BuildingAnswer | null } };
  'sum-tiles': { input: { readonly work: readonly TileInput[] }; output: readonly TileAnswer[] };
}

export type TaskName = keyof Tasks;

export interface PartInput {
  readonly file: SourceHandle;
  readonly description: FileDescription;
  readonly part: number;
  readonly up: 'z' | 'y';
  /** Colours, intensities and classes too, where the file has them. */
  readonly attributes: boolean;
}

/** Where points go once they are read. */
export interface Placement {
  readonly toLocal: SourceToLocal;
  readonly grid: CellGrid;
  readonly region: Region | null;
}

export interface PlacedPoints {
  readonly fragments: readonly CellFragment[];
  readonly pointCount: number;
}
