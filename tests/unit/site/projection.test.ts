import { readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { lookUpEpsg } from '../../../src/site/epsg/epsg-entry.ts';
import { projectionOf } from '../../../src/site/projection.ts';
import { makeEpsgTable } from '../../fixtures/epsg/make-epsg-table.mjs';

const shipped = readFileSync(new URL('../../../src/site/epsg/epsg-table.json', import.meta.url));

describe('the table of coordinate systems', () => {
  it('is what its script makes of the package', () => {
    expect(shipped.toString() === makeEpsgTable()).toBe(true);
  });

  it('stays under 300 kB packed', () => expect(gzipSync(shipped).length).toBeLessThan(300_000));

  it('tells kinds and units apart', async () => {
    expect(await lookUpEpsg(2154)).toMatchObject({ kind: 'projected', unitToMetre: 1, needsGrid: false });
    expect(await lookUpEpsg(2232)).toMatchObject({ kind: 'projected', unitToMetre: 12 / 39.37 });
    expect(await lookUpEpsg(4326)).toMatchObject({ kind: 'geographic' });
    expect(await lookUpEpsg(4978)).toMatchObject({ kind: 'geocentric' });
    expect(await lookUpEpsg(6360)).toMatchObject({ kind: 'vertical', unitToMetre: 12 / 39.37 });
    expect(await lookUpEpsg(7415)).toMatchObject({ kind: 'compound', horizontal: 28992, vertical: 5709 });
    expect(await lookUpEpsg(27700)).toMatchObject({ kind: 'projected', needsGrid: true });
    expect(await lookUpEpsg(1)).toBeNull();
  });
});

describe('longitude and latitude', () => {
  it('come from metres also where the system counts feet', async () => {
    // Colorado Central, US survey feet: its origin of 914 401.8289 m, 304 800.6096 m lies at 105.5° W, 37°50' N.
    const projection = await projectionOf('EPSG:2232');
    const [lon, lat] = projection.toLonLat(914401.828803657, 304800.609601219);
    expect(lon).toBeCloseTo(-105.5, 7);
    expect(lat).toBeCloseTo(37 + 50 / 60, 7);
  });

  it('go there and back', async () => {
    for (const [code, x, y] of [[2154, 770580, 6277550], [28992, 84916, 447413], [2056, 2674561, 1206759], [27700, 651409, 313177]] as const) {
      const projection = await projectionOf(`EPSG:${code}`);
      const [backX, backY] = projection.fromLonLat(...projection.toLonLat(x, y));
      // The way back of a seven-parameter shift is the usual approximation of small angles: millimetres.
      expect(Math.hypot(backX - x, backY - y), `EPSG:${code}`).toBeLessThan(0.01);
      // Iterations of the way back end at 1e-10 rad, 0.64 mm on the ground.
      const [sameX, sameY] = projection.fromOwnLonLat(...projection.toOwnLonLat(x, y));
      expect(Math.hypot(sameX - x, sameY - y), `EPSG:${code}, own datum`).toBeLessThan(6.4e-4);
    }
  });

  it('take the projected part of a compound system', async () => {
    expect((await projectionOf('EPSG:7415')).entry.code).toBe(28992);
  });

  it('say when a grid of datum shifts is missing, and how far off they may be', async () => {
    expect((await projectionOf('EPSG:27700')).note).toMatch(/good to some metres/);
    expect((await projectionOf('EPSG:31467')).note).toMatch(/grid file of datum shifts is not included/);
    expect((await projectionOf('EPSG:2154')).note).toBeNull();
  });

  it('are refused for what is not projected', async () => {
    await expect(projectionOf('EPSG:4326')).rejects.toMatchObject({ name: 'InputError' });
    await expect(projectionOf('2154')).rejects.toThrow(/expected EPSG: and a number/);
  });
});
