import { finishCell } from '../cloud/finish-cell.ts';
import { sampleMesh } from '../cloud/sample-mesh.ts';
import { poolPart } from '../find/voxels/pooled-normals.ts';
import { labelCell } from '../find/voxels/label-cell.ts';
import { answerBuilding } from '../find/measure-alone.ts';
import { sumTile } from '../find/measure/raster/tile-sums.ts';
import { splitClusters } from '../find/facets/split-surface.ts';
import { sumVoxels } from '../find/voxels/sum-voxels.ts';
import { readerFor } from '../io/readers.ts';
import { fitGroup } from '../layout/fit-group.ts';
import { turnUpInPlace } from '../site/to-local.ts';
import { lightOnCells } from '../sun/cell-light.ts';
import { heightsOfPart } from './heights-of-part.ts';
import { countInSquares } from './plan-squares.ts';
import { boundsOf, placePoints, readUpright } from './read-points.ts';
import { InputError } from '../units/input-error.ts';
import type { Environment } from './source-handle.ts';
import type { TaskName, Tasks } from './tasks.ts';

export interface TaskContext {
  readonly environment: Environment;
  readonly onProgress: (fraction: number) => void;
  readonly shouldStop: () => boolean;
}

type TaskBodies = {
  readonly [Name in TaskName]: (input: Tasks[Name]['input'], context: TaskContext) => Tasks[Name]['output'] | Promise<Tasks[Name]['output']>;
};

/** What each task does; the same code in a worker and outside one. */
export const taskBodies: TaskBodies = {
  'let-go': (_, { environment }) => {
    environment.collect?.();
    return {};
  },

  'hash-file': ({ file }, { environment, onProgress }) => environment.hash(file, onProgress),

  async 'describe-file'({ file, salvage }, { environment }) {
    const source = environment.open(file);
    const reader = await readerFor(source);
    return reader.describe(source, { salvage }, file.beside?.map((one) => environment.open(one)));
  },

  async 'measure-part'({ file, ...part }, { environment }) {
    const batch = await readUpright(environment.open(file), part);
    return { bounds: boundsOf(batch.positions) };
  },

  async 'count-part'({ file, side, ...part }, { environment }) {
    const batch = await readUpright(environment.open(file), part);
    return countInSquares(batch.positions, side);
  },

  async 'read-part'({ file, toLocal, grid, region, ...part }, { environment }) {
    const batch = await readUpright(environment.open(file), part, region);
    return placePoints(batch, { toLocal, grid, region });
  },

  async 'read-mesh'({ file, description, up }, { environment }) {
    const source = environment.open(file);
    const reader = await readerFor(source);
    if (!reader.readMesh) throw new Error(`The reader of ${description.format} has no meshes.`);
    const mesh = await reader.readMesh(source, description, file.beside?.map((one) => environment.open(one)));
    turnUpInPlace(mesh.positions, up);
    const bounds = boundsOf(mesh.positions);
    if (!bounds || mesh.triangles.length === 0) throw new InputError(file.name, 'holds no triangle, expected a mesh with a surface.');
    return { mesh, bounds };
  },

  'sample-mesh'({ mesh, spacing, ...placement }) {
    return { ...placePoints(sampleMesh(mesh, spacing), placement), mesh };
  },

  'finish-cells': ({ grid, fragments, shared }) => fragments.map((ofCell) => finishCell(grid, ofCell, shared)),

  'sum-voxels': ({ work }) => work.map(sumVoxels),

  'pool-normals': poolPart,

  'split-clusters': ({ search, clusters }) => splitClusters(search, clusters),

  'label-cells': ({ work }) => work.map(labelCell),

  'heights-of-part': (work, { environment }) => heightsOfPart(work, environment),

  'fit-buildings': (group, { onProgress }) => fitGroup(group, onProgress),

  'light-on-cells': (work, { onProgress }) => lightOnCells(work, onProgress),

  'measure-building': ({ work }) => ({ answer: work && answerBuilding(work) }),

  'sum-tiles': ({ work }) => work.map(sumTile),
};
