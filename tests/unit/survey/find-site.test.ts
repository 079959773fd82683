import { describe, expect, it } from 'vitest';
import { directRunner } from '../../../src/survey/direct-runner.ts';
import { findSite, isDoubtful } from '../../../src/survey/find-site.ts';
import { countInSquares, joinSquares, squareKey, squareOfKey } from '../../../src/survey/plan-squares.ts';
import { portableEnvironment } from '../../../src/survey/portable-environment.ts';
import { surveyFiles } from '../../../src/survey/survey-files.ts';
import { bytesOf } from '../../fixtures/read-source.ts';
import { writeLas } from '../../fixtures/las-writer.ts';

type Point = readonly [x: number, y: number, z: number];

/** A gable of 8 m by 12 m, 30° steep, on flat ground of 24 m by 28 m; no noise. */
function house(x0: number, y0: number, step = 0.2): Point[] {
  const points: Point[] = [];
  for (let x = -8; x < 16; x += step) {
    for (let y = -8; y < 20; y += step) {
      const roof = x > 0 && x < 8 && y > 0 && y < 12;
      points.push([x0 + x, y0 + y, roof ? 5 + (4 - Math.abs(x - 4)) * Math.tan(Math.PI / 6) : 0.004 * ((x * 7 + y * 13) % 3)]);
    }
  }
  return points;
}

const text = (points: readonly Point[]): Uint8Array => bytesOf(points.map((p) => p.map((value) => value.toFixed(3)).join(' ')).join('\n'));
const survey = async (files: readonly { readonly name: string; readonly where: Uint8Array }[]) => (await surveyFiles(files, {}, directRunner(portableEnvironment))).record;

const rounded = (value: unknown): unknown => JSON.parse(JSON.stringify(value, (_key, one: unknown) => (typeof one === 'number' ? Number(one.toFixed(5)) : one)));

describe('squares of a plan', () => {
  it('are told apart by one number, south and west of zero as well', () => {
    for (const [column, row] of [[0, 0], [-1, -1], [3_000_000, -30_000_000], [-5, 33_000_000]] as const) expect(squareOfKey(squareKey(column, row))).toEqual([column, row]);
  });

  it('count the same however the points are parted', () => {
    const positions = Float64Array.from(house(100, -100).flat());
    const cut = 3 * 4000;
    const parted = joinSquares([countInSquares(positions.slice(cut), 64), countInSquares(positions.slice(0, cut), 64)]);
    expect(parted).toEqual(countInSquares(positions, 64));
    expect(parted.counts.reduce((sum, count) => sum + count, 0)).toBe(positions.length / 3);
  });
});

describe('where the points of a survey lie', () => {
  it('only wide and empty bounds are doubted', () => {
    expect(isDoubtful(500 * 500, 10)).toBe(false);
    expect(isDoubtful(2e6, 20e6)).toBe(false);
    expect(isDoubtful(2e6, 1e6)).toBe(true);
    expect(isDoubtful(2e7, 1e9)).toBe(true);
  });

  it('strays are left outside, two houses far apart are not', () => {
    const two = [...house(0, 0), ...house(5000, 0)];
    const site = findSite([countInSquares(Float64Array.from([...two, [-4e5, 3e5, 50]].flat()), 64)])!;
    expect(site.places).toBe(2);
    expect(site.strays).toBe(1);
    expect(site.bounds.min[0]).toBe(-8);
    expect(Math.abs(site.bounds.max[0] - 5016)).toBeLessThan(0.25);
    expect(site.bounds.max[2]).toBeCloseTo(5 + 4 * Math.tan(Math.PI / 6), 1);
  });

  it('points as thin everywhere are no strays', () => {
    const thin = Float64Array.from({ length: 3 * 400 }, (_, i) => (i % 3 === 2 ? 0 : 1000 * ((i % 3 === 0 ? i / 3 : Math.floor(i / 60)) % 20)));
    expect(findSite([countInSquares(thin, 64)])?.strays ?? 0).toBe(0);
  });
});

describe('a survey with strays', () => {
  it('is measured as without them, and says so', async () => {
    const base = await survey([{ name: 'house.xyz', where: text(house(600_000, 5_000_000)) }]);
    expect(base.buildings).toHaveLength(1);
    const far: Point[] = [[2_000_000, 2_000_000, 0], [600_000, 5_100_000, 9000]];
    const record = await survey([{ name: 'house.xyz', where: text([far[0]!, ...house(600_000, 5_000_000), far[1]!]) }]);
    expect(record.buildings[0]!.roofPlanes).toHaveLength(2);
    // The count that cells are sized by differs by the two strays, so the last digits of sums do.
    expect(rounded(record.buildings)).toEqual(rounded(base.buildings));
    expect(record.frame).toEqual(base.frame);
    expect(record.sources[0]!.pointCount).toBe(base.sources[0]!.pointCount);
    expect(record.sources[0]!.notes.join()).toContain(`2 of ${base.sources[0]!.pointCount + 2} points lie far from all others and were left out`);
  });

  it('two sites too far apart for one are refused by name', async () => {
    await expect(survey([{ name: 'a.xyz', where: text(house(0, 0)) }, { name: 'b.xyz', where: text(house(30_000, 40_000)) }])).rejects.toThrow(/a\.xyz, b\.xyz: the points lie in 2 places up to 50 km apart/);
  });
});

describe('a LAS header that lies', () => {
  const points = house(600_000, 5_000_000).map(([x, y, z]) => ({ x, y, z }));
  const spoilt = (spoil: (view: DataView) => void): { name: string; where: Uint8Array } => {
    const bytes = writeLas({ version: '1.2', pdrf: 0, scale: [0.001, 0.001, 0.001], offset: [600_000, 5_000_000, 0], points });
    spoil(new DataView(bytes.buffer));
    return { name: 'house.las', where: bytes };
  };

  it.each([
    ['too small', [600_001, 600_000, 5_000_001, 5_000_000, 1, 0]],
    ['elsewhere', [4000, 0, 4000, 0, 10, 0]],
    ['too large', [1e8, -1e8, 1e8, -1e8, 1e6, -1e6]],
  ])('about its bounds (%s) changes nothing', async (_what, bounds) => {
    const record = await survey([spoilt((view) => bounds.forEach((value, i) => view.setFloat64(179 + 8 * i, value, true)))]);
    expect(record.buildings.flatMap(({ roofPlanes }) => roofPlanes)).toHaveLength(2);
    expect(record.buildings[0]!.roofPlanes[0]!.pitchDeg.value).toBeCloseTo(30, 1);
    expect(record.sampling.pointSpacingM).toBeCloseTo(0.2, 1);
  });

  it('about its scale is refused where coordinates can be none', async () => {
    await expect(survey([spoilt((view) => view.setFloat64(131, 1e300, true))])).rejects.toThrow(/house\.las: coordinates reach .*scale or offset look damaged/);
  });
});

it('one file given twice is refused, two with other bytes are not', async () => {
  const where = text(house(0, 0, 0.4));
  await expect(survey([{ name: 'a.xyz', where }, { name: 'b.xyz', where: where.slice() }])).rejects.toThrow(/b\.xyz: holds the same bytes as a\.xyz/);
  const other = bytesOf(new TextDecoder().decode(where).split('\n').reverse().join('\n'));
  expect((await survey([{ name: 'a.xyz', where }, { name: 'b.xyz', where: other }])).sources).toHaveLength(2);
});

it('a mesh without area is told so', async () => {
  await expect(survey([{ name: 'flat.obj', where: bytesOf('v 0 0 0\nv 1 0 0\nv 2 0 0\nf 1 2 3\n') }])).rejects.toThrow('flat.obj: its triangles have no area');
});
