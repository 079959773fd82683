import { describe, expect, it } from 'vitest';
import { distanceSquaredRaster, nearDistanceSquaredRaster } from '../../../src/geometry/distance-raster.ts';
import { traceLabelArcs } from '../../../src/geometry/label-arcs.ts';
import { persistentMinima } from '../../../src/geometry/persistent-minima.ts';
import { rasterComponents } from '../../../src/geometry/raster-components.ts';
import { seededRandom } from '../../../src/geometry/seeded-random.ts';
import { rectangleSum, summedRaster } from '../../../src/geometry/summed-raster.ts';

describe('distance raster', () => {
  it('agrees with the slow way on a random raster (seed 4)', () => {
    const random = seededRandom(4);
    const [columns, rows] = [23, 17];
    const marked = Uint8Array.from({ length: columns * rows }, () => (random.uniform() < 0.05 ? 1 : 0));
    const fast = distanceSquaredRaster(marked, columns, rows);
    for (let k = 0; k < marked.length; k++) {
      let least = Infinity;
      marked.forEach((m, n) => {
        if (m) least = Math.min(least, ((k % columns) - (n % columns)) ** 2 + (Math.floor(k / columns) - Math.floor(n / columns)) ** 2);
      });
      expect(fast[k]).toBe(least);
    }
  });

  it('is infinite when nothing is marked', () => {
    expect([...distanceSquaredRaster(new Uint8Array(6), 3, 2)].every((d) => d === Infinity)).toBe(true);
  });
});

describe('near distances', () => {
  it('are those of the whole raster within reach, and infinite beyond (seeds 5 to 8)', () => {
    const [columns, rows] = [31, 19];
    for (const [seed, share, reach] of [[5, 0.03, 3], [6, 0.3, 1.6], [7, 0.97, 4], [8, 0.002, 9.5]] as const) {
      const random = seededRandom(seed);
      const marked = Uint8Array.from({ length: columns * rows }, () => (random.uniform() < share ? 1 : 0));
      const all = distanceSquaredRaster(marked, columns, rows);
      const near = nearDistanceSquaredRaster(marked, columns, rows, reach);
      expect([...near]).toEqual(Array.from(all, (d) => (d <= reach * reach ? d : Infinity)));
    }
  });
});

describe('summed raster', () => {
  it('sums rectangles, cut at the rim', () => {
    const sums = summedRaster([1, 2, 3, 4, 5, 6], 3, 2);
    expect(rectangleSum(sums, 0, 0, 3, 2)).toBe(21);
    expect(rectangleSum(sums, 1, 0, 3, 1)).toBe(5);
    expect(rectangleSum(sums, -5, 1, 2, 9)).toBe(9);
    expect(rectangleSum(sums, 2, 2, 3, 3)).toBe(0);
  });
});

describe('components', () => {
  const values = [1, 1, -1, -1, 1, 2, 1, -1, 2];
  it('join cells of one value that share sides', () => {
    const { sizes } = rasterComponents(3, 3, (k) => values[k]!);
    expect(sizes.slice(1)).toEqual([3, 2, 1]);
  });
  it('or corners when asked', () => {
    const { component } = rasterComponents(3, 3, (k) => values[k]!, true);
    expect(component[4]).toBe(component[6]);
  });
});

describe('label arcs', () => {
  // Two labels side by side in a frame of zeros.
  const labels = Uint16Array.from([0, 0, 0, 0, 0, 1, 2, 0, 0, 1, 2, 0, 0, 0, 0, 0]);
  const map = traceLabelArcs(labels, 4, 4);

  it('cuts the rims where three labels meet', () => {
    expect(map.arcs).toHaveLength(3);
    expect(map.arcs.map(({ left, right }) => [left, right].sort().join()).sort()).toEqual(['0,1', '0,2', '1,2']);
    expect(map.arcs.every(({ closed }) => !closed)).toBe(true);
  });

  it('gives each label one ring with itself on the left, of its own area', () => {
    for (const label of [1, 2]) {
      const rings = map.rings.filter((ring) => ring.label === label);
      expect(rings).toHaveLength(1);
      const path = rings[0]!.arcs.flatMap(({ arc, forward }) => {
        const { path: stored } = map.arcs[arc]!;
        const corners = Array.from({ length: stored.length / 2 }, (_, i) => [stored[2 * i]!, stored[2 * i + 1]!] as const);
        return (forward ? corners : corners.reverse()).slice(0, -1);
      });
      let twice = 0;
      path.forEach(([x, y], i) => {
        const [u, v] = path[(i + 1) % path.length]!;
        twice += x * v - u * y;
      });
      expect(twice / 2).toBe(2);
    }
  });

  it('a hole is a ring of its own', () => {
    const ring = Uint16Array.from([0, 0, 0, 0, 0, 0, 3, 3, 3, 0, 0, 3, 0, 3, 0, 0, 3, 3, 3, 0, 0, 0, 0, 0, 0]);
    const { arcs, rings } = traceLabelArcs(ring, 5, 5);
    expect(arcs.map(({ closed }) => closed)).toEqual([true, true]);
    expect(rings.filter(({ label }) => label === 3)).toHaveLength(2);
  });
});

describe('persistent minima', () => {
  it('ranks hollows by the water they hold before spilling', () => {
    // One row: 5 1 3 0 5: the hollow at 1 spills over 3 into the one at 0.
    const walls = [9, 9, 9, 9, 9, 9, 9, 9, 5, 1, 3, 0, 5, 9, 9, 9, 9, 9, 9, 9, 9];
    const minima = persistentMinima(walls, 7, 3, 0.5, false);
    expect(minima.map(({ cell, persistence }) => [cell - 7, persistence])).toEqual([[4, 3], [2, 2]]);
    expect(minima.reduce((sum, { cells }) => sum + cells, 0)).toBe(21);
  });

  it('swallows hollows shallower than asked and gives their cells away', () => {
    const minima = persistentMinima([5, 1, 1.2, 0.9, 5], 5, 1, 0.5, false);
    expect(minima).toHaveLength(1);
    expect(minima[0]).toMatchObject({ cell: 3, cells: 5 });
  });

  it('an open rim lets water out', () => {
    expect(persistentMinima([3, 2, 1], 3, 1, 0.1, true)).toEqual([]);
    expect(persistentMinima([Number.NaN, Number.NaN, Number.NaN], 3, 1, 0.1, true)).toEqual([]);
  });
});
