import { describe, expect, it } from 'vitest';
import { normalize, type Vector3 } from '../../../src/geometry/vector.ts';
import { AZIMUTHS, azimuthNumber, horizonFinder, type ShadeScene, type Solid } from '../../../src/sun/horizon.ts';
import { recordScene } from '../../../src/sun/record-scene.ts';
import { shadeHours, shadeOverDay, sunMoments, winterSolstice } from '../../../src/sun/shade-hours.ts';
import { skyViewOf } from '../../../src/sun/sky-view.ts';
import { solarAccess, type ShadeCells } from '../../../src/sun/solar-access.ts';
import { monthlyDiffuseShare, sunYear } from '../../../src/sun/sun-year.ts';
import { surfaceOfRecord, surfaceWindow } from '../../../src/sun/surface-model.ts';
import { SurfaceRaiser } from '../../../src/sun/surface-raiser.ts';
import { tidySurface } from '../../../src/sun/tidy-surface.ts';
import { boxOn, leanTo } from '../../fixtures/record-roofs.ts';

const RADIAN = Math.PI / 180;
const LEVEL: Vector3 = [0, 0, 1];
const box = (id: string, x: number, y: number, width: number, depth: number, top: number): Solid =>
  ({ id, top, footprint: [[x, y], [x + width, y], [x + width, y + depth], [x, y + depth]] });
const horizonAt = (scene: ShadeScene, x: number, y: number, z: number): Float32Array => {
  const horizon = new Float32Array(AZIMUTHS);
  horizonFinder(scene).find(x, y, z, horizon);
  return horizon;
};
const cellsAt = (positions: readonly Vector3[], normal: Vector3 = LEVEL): ShadeCells =>
  ({ positions: Float64Array.from(positions.flat()), orientation: new Uint16Array(positions.length), orientations: [normal] });
const clear = (latitudeDeg: number, more = {}) =>
  sunYear({ latitudeDeg, longitudeDeg: 0, linkeTurbidity: Array.from({ length: 12 }, () => 3), monthlyKwhM2: null, elevationM: 0, gridToTrueDeg: 0, ...more });

describe('horizon', () => {
  it('a box 10 m to the north, 5 m high: tangent 0.5 straight north, none to the south', () => {
    const horizon = horizonAt({ solids: [box('a', -2, 10, 4, 3, 5)], surface: null }, 0, 0, 0);
    expect(horizon[azimuthNumber(0.001)]).toBeCloseTo(0.5, 4);
    // Ten degrees east of north the near side is 10 / cos 10 away.
    expect(horizon[azimuthNumber(10.125 * RADIAN)]).toBeCloseTo(0.5 * Math.cos(10.125 * RADIAN), 6);
    expect(horizon[azimuthNumber(12 * RADIAN)]).toBe(0);
    expect(horizon[azimuthNumber(Math.PI)]).toBe(0);
  });

  it('is the same whichever way the footprint runs, and dark all round inside it', () => {
    const one = box('a', 3, -2, 4, 3, 5);
    const reversed = { ...one, footprint: one.footprint.toReversed() };
    expect(horizonAt({ solids: [reversed], surface: null }, 0, 0, 1)).toEqual(horizonAt({ solids: [one], surface: null }, 0, 0, 1));
    expect(Math.min(...horizonAt({ solids: [one], surface: null }, 5, -1, 1))).toBe(Infinity);
    expect(Math.max(...horizonAt({ solids: [one], surface: null }, 5, -1, 6))).toBe(0);
  });

  it('a raster wall gives what the solid gives, to the width of a cell', () => {
    const cellSize = 0.25;
    const [columns, rows] = [200, 200];
    const elevation = new Float32Array(columns * rows);
    for (let row = 140; row < 152; row++) for (let column = 60; column < 140; column++) elevation[row * columns + column] = 4;
    const surface = { origin: [-25, -25] as const, cellSize, columns, rows, elevation };
    const raster = horizonAt({ solids: [], surface }, 0, 0, 0);
    const solid = horizonAt({ solids: [box('wall', -10, 10, 20, 3, 4)], surface: null }, 0, 0, 0);
    for (const bearing of [-35, -20, 0.5, 17, 33]) {
      const at = azimuthNumber(bearing * RADIAN);
      expect(Math.abs(raster[at]! - solid[at]!)).toBeLessThan(0.4 * (cellSize / 10));
    }
    expect(raster[azimuthNumber(Math.PI)]).toBe(0);
  });

  it('leaping over the own roof changes nothing: the same skyline whichever part of the plane was judged', () => {
    const [columns, rows] = [160, 160];
    const [east, north] = [0.3, -0.4];
    const plane = (x: number, y: number): number => 20 + east * x + north * y;
    const middle = (i: number): number => -20 + (i + 0.5) * 0.25;
    const elevation = Float32Array.from({ length: columns * rows }, (_, i) => {
      const [x, y] = [middle(i % columns), middle(Math.floor(i / columns))];
      const isTree = (x - 9) ** 2 + (y + 6) ** 2 < 4 || (x + 12) ** 2 + y ** 2 < 1;
      return isTree ? plane(x, y) + 2 : Math.abs(x) < 15 && Math.abs(y) < 12 ? plane(x, y) : 8;
    });
    const { find, inclineFor } = horizonFinder({ solids: [], surface: { origin: [-20, -20], cellSize: 0.25, columns, rows, elevation } });
    const normal = normalize([-east, -north, 1]);
    for (const [x, y] of [[0, 0], [-7.3, 4.1], [11.9, -9.6]] as const) {
      const [here, all, free] = [new Float32Array(AZIMUTHS), new Float32Array(AZIMUTHS), new Float32Array(AZIMUTHS)];
      find(x, y, plane(x, y), here, inclineFor(normal, [x, y, x, y]));
      find(x, y, plane(x, y), all, inclineFor(normal, [-15, -12, 15, 12]));
      find(x, y, plane(x, y), free);
      expect(all).toEqual(here);
      // Above the plane, where the sun can shine on it, the skyline is that of a free look.
      let above = 0;
      all.forEach((tangent, a) => {
        const azimuth = ((a + 0.5) * 2 * Math.PI) / AZIMUTHS;
        const slope = east * Math.sin(azimuth) + north * Math.cos(azimuth);
        if (free[a]! > slope + 0.05) {
          above++;
          expect(Math.abs(tangent - free[a]!)).toBeLessThan(0.02);
        } else expect(tangent).toBeLessThan(Math.max(slope, 0) + 0.06);
      });
      expect(above).toBeGreaterThan(20);
    }
  });

  it('where the sun never stands the skyline is drawn from fewer looks, elsewhere it is the same', () => {
    const [columns, rows] = [160, 160];
    const elevation = Float32Array.from({ length: columns * rows }, (_, i) => 3 + 2 * Math.sin(i / 977) + ((i * 7919) % 13) / 13);
    const scene: ShadeScene = { solids: [], surface: { origin: [-20, -20], cellSize: 0.25, columns, rows, elevation } };
    const sunless = new Uint8Array(360).fill(1, 0, 60).fill(1, 300, 360);
    const [all, fewer] = [new Float32Array(AZIMUTHS), new Float32Array(AZIMUTHS)];
    horizonFinder(scene).find(0, 0, 1, all);
    horizonFinder(scene, sunless).find(0, 0, 1, fewer);
    expect(fewer.subarray(4 * 61, 4 * 299)).toEqual(all.subarray(4 * 61, 4 * 299));
    const mean = (horizon: Float32Array): number => horizon.reduce((sum, tangent) => sum + Math.atan(tangent), 0) / AZIMUTHS;
    expect(Math.abs(mean(fewer) - mean(all))).toBeLessThan(1 * RADIAN);
    expect(fewer).not.toEqual(all);
  });

  it('a sloping roof does not shade itself from its raster', () => {
    const record = leanTo(35);
    const plane = record.buildings[0]!.roofPlanes[0]!;
    const surface = surfaceOfRecord(record);
    const z = -(plane.normal[0] * 5 + plane.normal[1] * 2 + plane.offset) / plane.normal[2];
    const horizon = horizonAt({ solids: [], surface }, 5, 2, z);
    // Up the slope, to the north, the roof itself stands at its pitch.
    expect(horizon[azimuthNumber(0)]).toBeLessThan(Math.tan(35 * RADIAN) * 1.001);
    expect(horizon[azimuthNumber(Math.PI)]).toBe(0);
  });
});

describe('sky', () => {
  it.each([0, 20, 45, 90])('an open sky on a tilt of %i is (1 + cos tilt) / 2', (tilt) => {
    const normal: Vector3 = [Math.sin(tilt * RADIAN), 0, Math.cos(tilt * RADIAN)];
    expect(skyViewOf(normal)(new Float32Array(AZIMUTHS))).toBeCloseTo((1 + Math.cos(tilt * RADIAN)) / 2, 4);
  });

  it('a horizon of 30 degrees all round leaves cos² 30 of a level sky', () => {
    expect(skyViewOf(LEVEL)(new Float32Array(AZIMUTHS).fill(Math.tan(30 * RADIAN)))).toBeCloseTo(0.75, 6);
    expect(skyViewOf(LEVEL)(new Float32Array(AZIMUTHS).fill(Infinity))).toBeCloseTo(0, 9);
  });
});

describe('a year of sun', () => {
  it('on the level, beam and sky add up to the irradiation of the level', () => {
    const year = clear(45);
    const { unshadedMonthlyKwhM2, yearly } = solarAccess({ solids: [], surface: null }, cellsAt([[0, 0, 0]]), year, { albedo: 0.2 });
    year.monthlyKwhM2.forEach((value, month) => expect(unshadedMonthlyKwhM2[0]![month]! / value).toBeCloseTo(1, 1));
    expect(yearly[0]).toBeCloseTo(1, 4);
  });

  it('monthly values are met to the digit, with the diffuse share of the correlation', () => {
    const wanted = [30, 45, 90, 120, 160, 170, 165, 140, 100, 60, 35, 25];
    const year = clear(48, { monthlyKwhM2: wanted });
    const global = Array.from({ length: 12 }, () => 0);
    const diffuse = Array.from({ length: 12 }, () => 0);
    for (let i = 0; i < year.count; i++) {
      global[year.month[i]!]! += year.global[i]! / 1000;
      diffuse[year.month[i]!]! += year.diffuse[i]! / 1000;
    }
    wanted.forEach((value, month) => {
      expect(global[month]).toBeCloseTo(value, 6);
      expect(diffuse[month]! / value).toBeCloseTo(monthlyDiffuseShare(value, month, 48 * RADIAN), 9);
    });
  });

  it('a wall to the south costs more than one to the north; both halves of the Earth mirror', () => {
    const access = (latitude: number, y: number): number =>
      solarAccess({ solids: [box('wall', -10, y, 20, 0.3, 3)], surface: null }, cellsAt([[0, 0, 0]]), clear(latitude), { albedo: 0.2 }).yearly[0]!;
    expect(access(50, -3)).toBeLessThan(access(50, 2.7));
    expect(access(-50, 2.7)).toBeCloseTo(access(50, -3), 1);
  });

  it('no light is lost or made: months sum to the year, access lies between 0 and 1', () => {
    const { monthlyKwhM2, unshadedMonthlyKwhM2, yearly } = solarAccess(
      { solids: [box('a', 1, -1, 1, 2, 2)], surface: null }, cellsAt([[0, 0, 0], [-3, 2, 0], [1.5, 0, 0.5]]), clear(50), { albedo: 0.2 });
    const sum = (values: Float64Array): number => values.reduce((total, value) => total + value, 0);
    for (const cell of [0, 1, 2]) {
      expect(sum(monthlyKwhM2.subarray(cell * 12, cell * 12 + 12)) / sum(unshadedMonthlyKwhM2[0]!)).toBeCloseTo(yearly[cell]!, 9);
    }
    expect(yearly[0]!).toBeLessThan(yearly[1]!);
    expect(yearly[2]!).toBeCloseTo(0, 6);
  });

  it('stops when asked', () => {
    expect(() => solarAccess({ solids: [], surface: null }, cellsAt([[0, 0, 0]]), clear(50), { albedo: 0.2, shouldStop: () => true })).toThrow('stopped');
  });
});

describe('hours of shade', () => {
  const options = { latitudeDeg: 45, longitudeDeg: 10, gridToTrueDeg: 0 };

  it('9 to 15 h at the winter solstice is six hours, all of them dark behind a wall', () => {
    const moments = sunMoments(winterSolstice(45, 2025), { ...options, fromHour: 9, toHour: 15 });
    const { possible, shaded } = shadeHours({ solids: [box('wall', -50, -2, 100, 0.2, 3)], surface: null }, cellsAt([[0, 0, 0], [0, 40, 0]]), moments);
    expect(possible[0]).toBeCloseTo(6, 9);
    expect(shaded[0]).toBeCloseTo(6, 9);
    expect(shaded[1]).toBe(0);
  });

  it('solstices are those of the half of the Earth', () => {
    expect(new Date(winterSolstice(45, 2025)).getUTCMonth()).toBe(11);
    expect(new Date(winterSolstice(-45, 2025)).getUTCMonth()).toBe(5);
  });

  it('pictures of a day agree with the hours, and the shadow of a mast moves from west to east', () => {
    const scene = { solids: [box('mast', -0.2, -0.2, 0.4, 0.4, 2)], surface: null };
    const cells = cellsAt([[-2, 1, 0], [2, 1, 0]]);
    const moments = sunMoments(Date.UTC(2025, 2, 21), options);
    const pictures = shadeOverDay(scene, cells, moments);
    const { shaded } = shadeHours(scene, cells, moments);
    const darkAt = (cell: number): number[] => moments.flatMap((_, i) => (pictures[i * 2 + cell] === 1 ? [i] : []));
    expect(darkAt(0).length / 12).toBeCloseTo(shaded[0]!, 9);
    expect(darkAt(0).length).toBeGreaterThan(0);
    expect(Math.max(...darkAt(0))).toBeLessThan(Math.min(...darkAt(1)));
  });
});

describe('surfaces and scenes', () => {
  it('takes the highest point of a cell but one, and leaves cells without points unseen', () => {
    const points: readonly (readonly [number, number])[] = [[0, 2], [0, 9], [0, 2.1], [7, 4], [7, 5]];
    const made = (order: readonly (readonly [number, number])[]) => {
      const raiser = new SurfaceRaiser([0, 0, 2.4, 2.4], 0.5);
      for (const [cell, z] of order) raiser.add(Uint32Array.of(cell), Float32Array.of(z));
      return raiser.finish();
    };
    const surface = made(points);
    expect([surface.columns, surface.rows]).toEqual([5, 5]);
    // A stray point at 9 m over two at 2 m; two points are too few to call one astray.
    expect(surface.elevation[0]).toBeCloseTo(2.1, 6);
    expect(surface.elevation[7]).toBe(5);
    expect(surface.elevation[12]).toBeNaN();
    expect(made(points.toReversed())).toEqual(surface);
  });

  it('a thing the record knows is taken out of the raster and put in as a solid, so that it counts once', () => {
    const record = leanTo(0, [boxOn('o1', 'b1.p1', 4, 2, 1, 1, 1.5)]);
    const measured = surfaceOfRecord(record);
    const elevation = measured.elevation.slice();
    // The raster begins two cells outside the roof.
    for (let row = 10; row < 14; row++) for (let column = 18; column < 22; column++) elevation[row * measured.columns + column] = 6.5;
    const scene = recordScene(record, { ...measured, elevation });
    expect(scene.solids).toEqual([{ id: 'o1', footprint: record.buildings[0]!.obstructions[0]!.footprint, top: 6.5 }]);
    expect(Math.max(...scene.surface!.elevation.filter((z) => !Number.isNaN(z)))).toBeCloseTo(5, 5);
  });

  it('takes a mast thinner than a cell out, keeps a wall, closes a gap between points, leaves an opening', () => {
    const [columns, rows] = [12, 12];
    const elevation = new Float32Array(columns * rows).fill(2);
    elevation[3 * columns + 3] = 9;
    for (let row = 0; row < rows; row++) elevation[row * columns + 8] = 6;
    elevation[6 * columns + 3] = Number.NaN;
    for (let row = 9; row < 12; row++) for (let column = 0; column < 6; column++) elevation[row * columns + column] = Number.NaN;
    const tidy = tidySurface({ origin: [0, 0], cellSize: 0.25, columns, rows, elevation }).elevation;
    expect(tidy[3 * columns + 3]).toBe(2);
    expect(tidy[5 * columns + 8]).toBe(6);
    expect(tidy[6 * columns + 3]).toBe(2);
    expect(tidy[11 * columns + 1]).toBeNaN();
  });

  it('a window keeps its cells where they were', () => {
    const surface = { origin: [-3, 2] as const, cellSize: 0.5, columns: 20, rows: 10, elevation: Float32Array.from({ length: 200 }, (_, i) => i) };
    const window = surfaceWindow(surface, [0, 4, 1, 5], 1);
    expect([window.origin, window.columns, window.rows]).toEqual([[-1, 3], 7, 7]);
    expect(window.elevation[0]).toBe(2 * 20 + 4);
    expect(window.elevation.at(-1)).toBe(8 * 20 + 10);
    expect(surfaceWindow(surface, [-3, 2, 7, 7], 1)).toBe(surface);
  });

  it('what the record does not know stays in the raster', () => {
    const record = leanTo(0);
    const measured = surfaceOfRecord(record);
    const elevation = measured.elevation.slice();
    elevation[5] = 9;
    expect(recordScene(record, { ...measured, elevation }).surface!.elevation[5]).toBe(9);
  });
});
