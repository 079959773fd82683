import { expect, it } from 'vitest';
import { findRoof } from '../../../src/find/find-roof.ts';
import { directKernels, type RoofKernels } from '../../../src/find/roof-kernels.ts';
import { splitClusters, type SurfaceGroup, type SurfaceSearch } from '../../../src/find/facets/split-surface.ts';
import { roofKernelsOn } from '../../../src/survey/runner-kernels.ts';
import { normalsInThreads } from '../../../src/survey/normals-kernel.ts';
import { clustersInThreads } from '../../../src/survey/surface-kernel.ts';
import { cloningRunner } from '../../fixtures/cloning-runner.ts';
import { cloudOf, fallsToDrain, gable, samplePoints, type Slab } from '../../fixtures/roof-points.ts';

const eastward = (slabs: readonly Slab[], by: number): Slab[] =>
  slabs.map(({ plan: [x0, y0, x1, y1], where, ...rest }) => ({
    ...rest, plan: [x0 + by, y0, x1 + by, y1], ...(where ? { where: (x: number, y: number) => where(x - by, y) } : {}),
  }));

const points = samplePoints([...fallsToDrain(), ...eastward(gable(20), 20), ...eastward(fallsToDrain(), 40)], { spacing: 0.12, seed: 5, ground: [0, 0, 60, 20] });
const cloud = cloudOf(points);

it('searches roofs that do not touch apart from each other, with the same answers in any company', async () => {
  let asked: { search: SurfaceSearch; clusters: readonly (readonly SurfaceGroup[])[] } | null = null;
  const kernels: RoofKernels = {
    ...directKernels,
    splitClusters: async (search, clusters) => {
      asked = structuredClone({ search, clusters });
      return splitClusters(search, clusters);
    },
  };
  const found = await findRoof(cloud, {}, kernels);
  expect(found.buildings).toHaveLength(3);
  const { search, clusters } = asked!;
  expect(clusters).toHaveLength(3);
  const together = splitClusters(search, clusters);
  // The two flat roofs are cut into their four falls, the gable stays as it is.
  expect(together.flat().filter((split) => split !== null && split.facets.length === 4)).toHaveLength(2);
  const alone = [...clusters].reverse().map((cluster) => splitClusters(search, [cluster])[0]!).reverse();
  expect(alone).toEqual(together);
});

it('finds the same in threads that share memory', async () => {
  const { runner, names } = cloningRunner(2);
  const kernels: RoofKernels = {
    ...roofKernelsOn(runner, undefined),
    poolNormals: (table, skip) => normalsInThreads(runner, table, skip, undefined, 0, 1000),
    splitClusters: (search, clusters) => clustersInThreads(runner, search, clusters, undefined, 0),
  };
  expect(await findRoof(cloud, {}, kernels)).toEqual(await findRoof(cloud));
  expect(names.filter((name) => name === 'pool-normals').length).toBeGreaterThan(2);
  expect(names).toContain('split-clusters');
});
