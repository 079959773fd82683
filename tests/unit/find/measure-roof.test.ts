import { beforeAll, describe, expect, it } from 'vitest';
import { answerBuilding } from '../../../src/find/measure-alone.ts';
import { directMeasureKernels, measureRoof, type MeasuredRoofs, type MeasureKernels } from '../../../src/find/measure-roof.ts';
import { signedPlanArea } from '../../../src/geometry/polygon.ts';
import type { LocalFrame } from '../../../src/site/local-frame.ts';
import { isKnown, type Measured } from '../../../src/units/measured.ts';
import { radians } from '../../../src/units/quantity.ts';
import { labelledFlatRoof, labelledGable, labelledRoof, type Patch } from '../../fixtures/labelled-roof.ts';

const frame: LocalFrame = { origin: [0, 0, 0], gridToTrue: radians(0), scaleFactor: 1 };
const value = (number: Measured): number => {
  if (!isKnown(number)) throw new Error(number.why);
  return number.value;
};
const expectWithin = (number: Measured, truth: number, slack = 1): void => {
  if (!isKnown(number)) throw new Error(number.why);
  expect(Math.abs(number.value - truth)).toBeLessThan(slack * number.u95);
};
const measure = async (patches: Patch[], noise: Parameters<typeof labelledRoof>[1]): Promise<MeasuredRoofs> => {
  const { cloud, segmentation } = labelledRoof(patches, noise);
  return measureRoof(cloud, segmentation, frame);
};

describe('a gable of 10 × 8 m, rise 1 in 2', () => {
  let roof: MeasuredRoofs;
  beforeAll(async () => {
    roof = await measure(labelledGable(), { spacing: 0.05, white: 0.006, smooth: { sigma: 0.01, length: 0.3 } });
  });

  it('has two planes, four corners each, and knows its ids', () => {
    const [building] = roof.buildings;
    expect(roof.buildings).toHaveLength(1);
    expect(building!.roofPlanes.map((plane) => plane.outline.length)).toEqual([4, 4]);
    expect([...roof.planeIds].sort()).toEqual(['b1.p1', 'b1.p2', null].sort());
  });

  it('states pitch, azimuth and areas within their uncertainty (twice it, as one draw may miss)', () => {
    const pitch = (Math.atan(0.5) * 180) / Math.PI;
    for (const plane of roof.buildings[0]!.roofPlanes) {
      expectWithin(plane.pitchDeg, pitch, 2);
      expectWithin(plane.azimuthDeg, plane.normal[1] < 0 ? 180 : plane.azimuthDeg.value! > 180 ? 360 : 0, 2);
      expectWithin(plane.planAreaM2, 40, 2);
      expectWithin(plane.slopeAreaM2, 40 * Math.sqrt(1.25), 2);
      expect(Math.abs(value(plane.slopeAreaM2) / (40 * Math.sqrt(1.25)) - 1)).toBeLessThan(0.007);
    }
  });

  it('calls its edges by their kinds', () => {
    const kinds = roof.buildings[0]!.edges.map(({ kind }) => kind).sort();
    expect(kinds).toEqual(['eave', 'eave', 'rake', 'rake', 'rake', 'rake', 'ridge']);
    const ridge = roof.buildings[0]!.edges.find(({ kind }) => kind === 'ridge')!;
    expect(ridge.planes).toHaveLength(2);
    expectWithin(ridge.slopeLengthM, 10, 2);
    expect(Math.abs(ridge.from[1] - 7)).toBeLessThan(0.02);
    expect(Math.abs(ridge.from[2] - 6)).toBeLessThan(0.01);
  });

  it('puts every corner on its plane as well as the planes agree, and shares the ridge exactly', () => {
    const [a, b] = roof.buildings[0]!.roofPlanes;
    for (const plane of [a!, b!]) {
      for (const [x, y, z] of plane.outline) expect(Math.abs(plane.normal[0] * x + plane.normal[1] * y + plane.normal[2] * z + plane.offset)).toBeLessThan(plane.evidence!.cornersOffPlaneM! + 1e-9);
      // Two planes meet in their intersection; the network places corners to well under a millimetre of it.
      expect(plane.evidence!.cornersOffPlaneM).toBeLessThan(1e-4);
    }
    const shared = a!.outline.filter(([x, y, z]) => b!.outline.some(([u, v, w]) => u === x && v === y && w === z));
    expect(shared).toHaveLength(2);
    const ridge = roof.buildings[0]!.edges.find(({ kind }) => kind === 'ridge')!;
    for (const end of [ridge.from, ridge.to]) expect(shared).toContainEqual(end);
  });

  it('adds up: plan areas of the planes make the outline of the building', () => {
    const building = roof.buildings[0]!;
    const sum = building.roofPlanes.reduce((total, plane) => total + value(plane.planAreaM2), 0);
    expect(Math.abs(sum - signedPlanArea(building.outline))).toBeLessThan(1e-3);
  });

  it('invents nothing', () => {
    const [building] = roof.buildings;
    expect(building!.obstructions).toEqual([]);
    expect(building!.parapets).toEqual([]);
    expect(building!.lowPoints).toEqual([]);
    expect(building!.groundElevationM).toEqual({ value: null, why: 'no ground seen' });
  });

  it('shows what stands behind a plane', () => {
    const evidence = roof.buildings[0]!.roofPlanes[0]!.evidence!;
    expect(evidence.covariance).toHaveLength(9);
    expect(evidence.noiseM).toBeGreaterThan(0.009);
    expect(evidence.noiseM).toBeLessThan(0.014);
    expect(evidence.correlationLengthM).toBeGreaterThan(0.15);
    expect(evidence.correlationLengthM).toBeLessThan(0.45);
    // Correlated residuals weigh far less than independent ones: pi 0.3² / 0.05² points share each other's error.
    expect(evidence.effectivePointCount).toBeLessThan(roof.buildings[0]!.roofPlanes[0]!.pointCount / 20);
    expect(evidence.residualHistogram!.counts.reduce((a, b) => a + b)).toBeGreaterThan(10_000);
  });
});

describe('a flat roof with parapet and box', () => {
  let roof: MeasuredRoofs;
  beforeAll(async () => {
    roof = await measure(labelledFlatRoof(), { spacing: 0.05, white: 0.008 });
  });

  it('ends at the inner face of its parapet', () => {
    const [plane] = roof.buildings[0]!.roofPlanes;
    expect(roof.buildings[0]!.roofPlanes).toHaveLength(1);
    expect(plane!.holes).toEqual([]);
    expect(Math.abs(value(plane!.planAreaM2) / 80 - 1)).toBeLessThan(0.005);
    expect(plane!.azimuthDeg).toEqual({ value: null, why: 'level plane' });
    expect(roof.buildings[0]!.edges.map(({ kind }) => kind)).toEqual(['parapet', 'parapet', 'parapet', 'parapet']);
  });

  it('measures the parapet', () => {
    const [parapet] = roof.buildings[0]!.parapets;
    expect(roof.buildings[0]!.parapets).toHaveLength(1);
    expect(Math.abs(value(parapet!.heightAboveRoofM) - 0.6)).toBeLessThan(0.02);
    expect(Math.abs(value(parapet!.thicknessM) - 0.3)).toBeLessThan(0.04);
    expect(parapet!.path.at(-1)).toEqual(parapet!.path[0]);
  });

  it('measures the box', () => {
    const [box] = roof.buildings[0]!.obstructions;
    expect(roof.buildings[0]!.obstructions).toHaveLength(1);
    expect(box!.shape).toBe('box');
    expect(box!.resolvability).toBe('resolved');
    expect(Math.abs(value(box!.heightAboveRoofM) - 0.9)).toBeLessThan(0.015);
    expect(Math.abs(value(box!.planAreaM2) / (1.6 * 1.2) - 1)).toBeLessThan(0.06);
  });
});

describe('other roofs', () => {
  it('keeps a courtyard as a hole, not the shadow of a box', async () => {
    const patches: Patch[] = [
      { label: 0, plan: [0, 0, 16, 14], surface: [0, 0, 0] },
      { label: 1, plan: [3, 3, 13, 11], surface: [4, 0.05, 0], where: (x, y) => !(x > 6 && x < 9 && y > 5 && y < 8) },
    ];
    const { buildings } = await measure(patches, { spacing: 0.08, white: 0.01 });
    const [plane] = buildings[0]!.roofPlanes;
    expect(plane!.holes).toHaveLength(1);
    expect(Math.abs(-signedPlanArea(plane!.holes[0]!) - 9)).toBeLessThan(0.35);
  });

  it('finds a chimney through the ridge once', async () => {
    const patches: Patch[] = [...labelledGable(), { label: 0, plan: [7, 6.6, 7.8, 7.3], surface: [7, 0, 0] }];
    const { buildings } = await measure(patches, { spacing: 0.05, white: 0.01 });
    expect(buildings[0]!.obstructions).toHaveLength(1);
    expect(buildings[0]!.obstructions[0]!.shape).toBe('box');
    expect(buildings[0]!.edges.filter(({ kind }) => kind === 'ridge')).toHaveLength(1);
  });

  it('makes two edges of a step: eave above, abutment below', async () => {
    const patches: Patch[] = [
      { label: 0, plan: [0, 0, 16, 14], surface: [0, 0, 0] },
      { label: 1, plan: [3, 3, 8, 11], surface: [7, 0, -0.4] },
      { label: 2, plan: [8, 3, 13, 11], surface: [5, 0, -0.4] },
    ];
    const { buildings } = await measure(patches, { spacing: 0.08, white: 0.01 });
    const along = buildings[0]!.edges.filter(({ from, to }) => Math.abs(from[0] - 8) < 0.1 && Math.abs(to[0] - 8) < 0.1);
    expect(along.map(({ kind }) => kind).sort()).toEqual(['abutment', 'rake']);
    expect(buildings[0]!.edges.some(({ note }) => note === 'high edge of a single slope')).toBe(true);
  });

  it('gives the same bytes whoever sums the tiles and measures the buildings', async () => {
    const patches: Patch[] = [
      ...labelledGable(),
      { label: 0, plan: [14, 0, 30, 14], surface: [0, 0, 0] },
      { label: 3, plan: [17, 3, 22, 11], surface: [7, 0, -0.1] },
      { label: 4, plan: [24, 4, 29, 10], surface: [4, 0.1, 0] },
    ];
    const { cloud, segmentation: one } = labelledRoof(patches, { spacing: 0.1, white: 0.01 });
    // The second building has no point: those after it move up, and nothing of it is left.
    const segmentation = { ...one, buildings: [[1, 2], [9], [3], [4]].map((segments, index) => ({ index, segments })) };
    const inReverse: MeasureKernels = {
      sumTiles: async (work) => (await Promise.all([...work].reverse().map((tile) => directMeasureKernels.sumTiles([structuredClone(tile)])))).flat().reverse(),
      async measureBuildings(count, workOf, onAnswer) {
        const work = Array.from({ length: count }, (_, turn) => structuredClone(workOf(turn)));
        for (let turn = count - 1; turn >= 0; turn--) onAnswer(structuredClone(work[turn]! && answerBuilding(work[turn]!)), turn);
      },
    };
    const fractions: number[] = [];
    const a = await measureRoof(cloud, segmentation, frame);
    const b = await measureRoof(cloud, segmentation, frame, {}, inReverse, (fraction) => fractions.push(fraction));
    expect(JSON.stringify(b)).toBe(JSON.stringify(a));
    expect(a.buildings.map(({ id, roofPlanes }) => [id, ...roofPlanes.map((plane) => plane.id)])).toEqual([['b1', 'b1.p1', 'b1.p2'], ['b2', 'b2.p1'], ['b3', 'b3.p1']]);
    expect(a.planeIds.filter((id) => id !== null).sort()).toEqual(['b1.p1', 'b1.p2', 'b2.p1', 'b3.p1']);
    expect(fractions).toEqual([...fractions].sort((p, q) => p - q));
    expect(fractions.at(-1)).toBe(1);
  });

  it('turns with the grid: azimuths follow the bearing of true north', async () => {
    const { cloud, segmentation } = labelledRoof(labelledGable(), { spacing: 0.1, white: 0.01 });
    const straight = await measureRoof(cloud, segmentation, frame);
    const turned = await measureRoof(cloud, segmentation, { ...frame, gridToTrue: radians(0.1) });
    const before = value(straight.buildings[0]!.roofPlanes[0]!.azimuthDeg);
    const after = value(turned.buildings[0]!.roofPlanes[0]!.azimuthDeg);
    expect((after - before + 360) % 360).toBeCloseTo((0.1 * 180) / Math.PI, 9);
  });

  it('stops when asked', async () => {
    const { cloud, segmentation } = labelledRoof(labelledGable(), { spacing: 0.2 });
    await expect(measureRoof(cloud, segmentation, frame, { shouldStop: () => true })).rejects.toThrow('Stopped on request');
  });
});
