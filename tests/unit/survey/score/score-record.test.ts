import { describe, expect, test } from 'vitest';
import type { Vector3 } from '../../../../src/geometry/vector.ts';
import type { Building, RoofPlane, RoofRecord } from '../../../../src/roof/record.ts';
import { figuresOf } from '../../../../src/survey/score/figures.ts';
import { printScore } from '../../../../src/survey/score/print-score.ts';
import { poolScores } from '../../../../src/survey/score/score.ts';
import { scoreRecord } from '../../../../src/survey/score/score-record.ts';
import { gableTruth } from '../../../fixtures/gable-truth.ts';
import { recordOfTruth } from '../../../fixtures/record-of-truth.ts';

const perfect = recordOfTruth(gableTruth);
const withBuilding = (change: (b: Building) => Partial<Building>): RoofRecord => ({
  ...perfect, buildings: perfect.buildings.map((b) => ({ ...b, ...change(b) })),
});
const withPlane = (id: string, change: (p: RoofPlane) => Partial<RoofPlane>): RoofRecord =>
  withBuilding((b) => ({ roofPlanes: b.roofPlanes.map((p) => (p.id === id ? { ...p, ...change(p) } : p)) }));
/** A corner on the south plane above a plan position. */
const onSouth = (x: number, y: number): Vector3 => [x, y, 106 + 0.75 * y];

describe('a perfect record', () => {
  const score = scoreRecord(perfect, gableTruth);
  const figures = figuresOf(score);

  test('finds everything and errs nowhere', () => {
    expect(figures.planesFrom2M2.completeness.share).toBe(1);
    expect(figures.planesFrom2M2.correctness.share).toBe(1);
    expect(figures.planesFrom2M2.quality).toBe(1);
    expect(score.topology).toMatchObject({ oneToOne: 2, oneToMany: 0, manyToOne: 0, manyToMany: 0, missed: 0, invented: 0 });
    expect(figures.pitchErrorDeg.from2M2.at95).toBe(0);
    expect(figures.slopeAreaErrorPercent.from10M2.at95).toBe(0);
    expect(figures.sides.rmsSpacings).toBeCloseTo(0, 9);
    expect(figures.polisM.at95).toBeCloseTo(0, 9);
    expect(figures.corners.recall).toMatchObject({ hits: 8, of: 8 });
    expect(figures.edgeKind).toMatchObject({ hits: 7, of: 7 });
    expect(figures.edgesExtra).toBe(0);
    expect(figures.edgeLengthCover).toEqual({ recall: expect.closeTo(1, 9), precision: expect.closeTo(1, 9) });
    expect(figures.obstructions[3]!.recall).toMatchObject({ hits: 1, of: 1 });
    expect(figures.falseObstructionsPerBuilding).toBe(0);
    expect(figures.parapets.lengthFound).toBeCloseTo(1, 9);
    expect(figures.drains.found.share).toBe(1);
    expect(figures.coverage.at(-1)!.within95.share).toBe(1);
  });

  test('reads the same from any frame', () => {
    const moved = scoreRecord(recordOfTruth(gableTruth, [500_000, 5_000_000, 90]), gableTruth);
    expect(figuresOf(moved).planesFrom2M2.completeness.share).toBe(1);
    expect(figuresOf(moved).polisM.at95).toBeLessThan(1e-6);
  });

  test('is printed without a list of troubles', () => {
    const page = printScore(score);
    expect(page).toContain('one to one 2');
    expect(page).not.toContain('What went wrong');
  });
});

describe('outlines', () => {
  test('a shift of 12 cm along the eave moves two sides, keeps the area and leaves no bias', () => {
    const shifted = withPlane('south', (p) => ({ outline: p.outline.map((c): Vector3 => [c[0] + 0.12, c[1], c[2]]) }));
    const score = scoreRecord(shifted, gableTruth);
    const outline = score.outlines.find((o) => o.plane === 'south')!;
    // Overlap of 9.88 m in a union of 10.12 m.
    expect(score.truthPlanes[0]!.overlap).toBeCloseTo(9.88 / 10.12, 6);
    const offsets = score.sides.filter((s) => s.plane === 'south').map((s) => s.offsetM!);
    // Sides: eave, east rake, ridge, west rake.
    expect(offsets[0]).toBeCloseTo(0, 6);
    expect(offsets[1]).toBeCloseTo(0.12, 6);
    expect(offsets[2]).toBeCloseTo(0, 6);
    expect(offsets[3]).toBeCloseTo(-0.12, 6);
    // Two of four corners of each ring lie 0.12 m off, the two others on a side of the other ring.
    expect(outline.polisM).toBeCloseTo(0.06, 6);
    expect(outline.greatestM).toBeCloseTo(0.12, 6);
    expect(outline.cornersWithin).toEqual({ oneSpacing: 0, twoSpacings: 0, tenCentimetres: 0 });
    expect(outline.cornerDistancesM).toHaveLength(4);
    expect(outline.cornerDistancesM[0]).toBeCloseTo(0.12, 6);
  });

  test('10 cm more on every side is a bias of two spacings', () => {
    // In the plane: 10.2 m by 5.2 m; up the slope 0.1 m is 0.08 m in plan.
    const outline = [onSouth(-0.1, -4.08), onSouth(10.1, -4.08), onSouth(10.1, 0.08), onSouth(-0.1, 0.08)];
    const grown = withPlane('south', () => ({ outline, slopeAreaM2: { value: 10.2 * 5.2, u95: 1 } }));
    const score = scoreRecord(grown, gableTruth);
    for (const side of score.sides.filter((s) => s.plane === 'south')) expect(side.offsetM).toBeCloseTo(0.1, 6);
    const match = score.planeMatches.find((m) => m.truth === 'south')!;
    expect(match.slopeAreaErrorShare).toBeCloseTo((10.2 * 5.2) / 50 - 1, 9);
    expect(score.outlines[0]!.biasM).toBeGreaterThan(0.09);
    expect(score.outlines[0]!.biasM).toBeLessThan(0.11);
    // Four sides at two spacings and four at none.
    const figures = figuresOf(score);
    expect(figures.sides.biasSpacings).toBeCloseTo(1, 6);
    expect(figures.sides.rmsSpacings).toBeCloseTo(Math.SQRT2, 6);
  });

  test('a further corner on a straight side changes neither corners nor distances', () => {
    const more = withPlane('south', (p) => ({ outline: [p.outline[0]!, onSouth(3, -4), ...p.outline.slice(1)] }));
    const outline = scoreRecord(more, gableTruth).outlines[0]!;
    expect(outline.recordCorners).toBe(4);
    expect(outline.rmsM).toBeCloseTo(0, 9);
  });
});

describe('planes', () => {
  test('a dropped plane is missed', () => {
    const score = scoreRecord(withBuilding((b) => ({ roofPlanes: b.roofPlanes.slice(0, 1) })), gableTruth);
    expect(figuresOf(score).planesFrom2M2.completeness).toMatchObject({ hits: 1, of: 2, share: 0.5 });
    expect(figuresOf(score).planesFrom2M2.correctness.share).toBe(1);
    expect(score.topology).toMatchObject({ oneToOne: 1, missed: 1 });
    expect(printScore(score)).toContain('missed plane gable 0: north');
  });

  test('a plane split at 6 m is found by its larger part, and counted as split', () => {
    const split = withBuilding((b) => {
      const [south, north] = b.roofPlanes as [RoofPlane, RoofPlane];
      return { roofPlanes: [
        { ...south, id: 'large', outline: [onSouth(0, -4), onSouth(6, -4), onSouth(6, 0), onSouth(0, 0)] },
        { ...south, id: 'small', outline: [onSouth(6, -4), onSouth(10, -4), onSouth(10, 0), onSouth(6, 0)] }, north,
      ] };
    });
    const score = scoreRecord(split, gableTruth);
    expect(score.topology).toMatchObject({ oneToOne: 1, oneToMany: 1, manyToMany: 0 });
    expect(score.truthPlanes[0]).toMatchObject({ partner: 'large' });
    expect(score.truthPlanes[0]!.overlap).toBeCloseTo(0.6, 6);
    expect(figuresOf(score).planesFrom2M2.correctness).toMatchObject({ hits: 2, of: 3 });
  });

  test('two true planes found as one are merged', () => {
    const south = gableTruth.planes[0]!;
    const halves = [0, 5].map((x, i) => ({
      ...south, id: `half ${i}`, slopeAreaM2: 25, planAreaM2: 20, ring: [onSouth(x, -4), onSouth(x + 5, -4), onSouth(x + 5, 0), onSouth(x, 0)],
    }));
    const score = scoreRecord(perfect, { ...gableTruth, planes: [...halves, gableTruth.planes[1]!] });
    expect(score.topology).toMatchObject({ oneToOne: 1, manyToOne: 1 });
    expect(score.topology.groups[0]!.truth).toEqual(['half 0', 'half 1']);
  });

  test('a plane 0.2 m too high, or turned by 12 degrees, is another plane', () => {
    const high = withPlane('south', (p) => ({ offset: p.offset - 0.2 * 0.8 }));
    expect(scoreRecord(high, gableTruth).truthPlanes[0]!.partner).toBeNull();
    const steeper = (36.8699 + 12) * (Math.PI / 180);
    const turned = withPlane('south', () => ({ normal: [0, -Math.sin(steeper), Math.cos(steeper)], offset: -(2 * Math.sin(steeper) + 104.5 * Math.cos(steeper)) }));
    expect(scoreRecord(turned, gableTruth).truthPlanes[0]!.partner).toBeNull();
  });

  test('pitch, azimuth and height errors keep their sign', () => {
    // Half a degree steeper about the line through the middle of the plane (y = -2, z = 104.5).
    const pitch = Math.atan(0.75) + Math.PI / 360;
    const normal: Vector3 = [0, -Math.sin(pitch), Math.cos(pitch)];
    const offset = -(normal[1] * -2 + normal[2] * 104.5);
    const steeper = withPlane('south', () => ({ normal, offset, pitchDeg: { value: (pitch * 180) / Math.PI, u95: 0.4 }, azimuthDeg: { value: 181.5, u95: 2 } }));
    const score = scoreRecord(steeper, gableTruth);
    const match = score.planeMatches[0]!;
    expect(match.pitchErrorDeg).toBeCloseTo(0.5, 9);
    expect(match.angleDeg).toBeCloseTo(0.5, 9);
    expect(match.azimuthErrorDeg).toBeCloseTo(1.5, 9);
    expect(match.offsetM).toBeCloseTo(0, 9);
    const coverage = figuresOf(score).coverage;
    // One of two pitches lies outside its ±, both azimuths inside.
    expect(coverage.find((c) => c.quantity === 'pitch')!.within95).toMatchObject({ hits: 1, of: 2 });
    expect(coverage.find((c) => c.quantity === 'azimuth')!.within95).toMatchObject({ hits: 2, of: 2 });
    const raised = withPlane('north', (p) => ({ offset: p.offset - 0.05 }));
    expect(scoreRecord(raised, gableTruth).planeMatches[1]!.offsetM).toBeCloseTo(0.05, 9);
  });

  test('azimuths are compared about true north, across the zero', () => {
    const record: RoofRecord = { ...withPlane('north', () => ({ azimuthDeg: { value: 2, u95: 1 } })), frame: { origin: [0, 0, 0], gridToTrueDeg: 1.5, scaleFactor: 1 } };
    const errors = scoreRecord(record, gableTruth).planeMatches.map((m) => m.azimuthErrorDeg);
    expect(errors[0]).toBeCloseTo(-1.5, 9);
    expect(errors[1]).toBeCloseTo(0.5, 9);
  });

  test('a plane laid on a curved roof is counted apart', () => {
    const score = scoreRecord(perfect, { ...gableTruth, planes: [], curved: [{ id: 'vault', ring: [[-1, -5], [11, -5], [11, 5], [-1, 5]] }] });
    expect(score.planesOnCurves).toBe(2);
    expect(score.recordPlanes).toHaveLength(0);
  });
});

describe('edges', () => {
  test('a rake called an eave shows in the confusion', () => {
    const wrong = withBuilding((b) => ({ edges: b.edges.map((e) => (e.id === 'south-east rake' ? { ...e, kind: 'eave' as const } : e)) }));
    const figures = figuresOf(scoreRecord(wrong, gableTruth));
    expect(figures.edgeKind).toMatchObject({ hits: 6, of: 7 });
    expect(figures.edgeConfusion).toEqual([{ truth: 'rake', record: 'eave', count: 1 }]);
  });

  test('an edge run the other way and cut short by 2 m is found, with its length', () => {
    const short = withBuilding((b) => ({ edges: b.edges.map((e) => (e.id === 'ridge' ? { ...e, from: [10, 0, 106] as Vector3, to: [2, 0, 106] as Vector3, slopeLengthM: { value: 8, u95: 0.1 } } : e)) }));
    const seen = scoreRecord(short, gableTruth).edges.find((e) => e.truth === 'ridge')!;
    expect(seen.record).toBe('ridge');
    expect(seen.lengthErrorM).toBeCloseTo(-2, 9);
  });

  test('an edge moved by 0.3 m is lost and extra, and its length covers nothing', () => {
    const moved = withBuilding((b) => ({ edges: b.edges.map((e) => (e.id === 'ridge' ? { ...e, from: [0, 0, 106.3] as Vector3, to: [10, 0, 106.3] as Vector3 } : e)) }));
    const score = scoreRecord(moved, gableTruth);
    expect(score.edges.find((e) => e.truth === 'ridge')!.record).toBeNull();
    expect(score.extraEdges.map((e) => e.id)).toEqual(['ridge']);
    // Ridge 10 m, eaves 20 m, rakes 20 m; near the rakes' tops a decimetre or so of it still counts.
    expect(figuresOf(score).edgeLengthCover.recall).toBeCloseTo(0.8, 1);
  });
});

describe('things on the roof', () => {
  const change = (more: object) => withBuilding((b) => ({ obstructions: b.obstructions.map((o) => ({ ...o, ...more })) }));

  test('20 cm too high is ten GSD of 2 cm', () => {
    const figures = figuresOf(scoreRecord(change({ heightAboveRoofM: { value: 1.4, u95: 0.1 } }), gableTruth));
    expect(figures.obstructions[3]!.heightBiasGsd).toBeCloseTo(10, 9);
    expect(figures.coverage.find((c) => c.quantity === 'obstruction height')!.within95.share).toBe(0);
  });

  test('a find 3 m away is a miss and a false alarm', () => {
    const score = scoreRecord(change({ footprint: [[7, -2], [8, -2], [8, -1], [7, -1]] }), gableTruth);
    expect(score.obstructions[0]!.record).toBeNull();
    expect(figuresOf(score).falseObstructionsPerBuilding).toBe(1);
  });

  test('a half footprint counts as found and its other half as a piece and false', () => {
    const halves = withBuilding((b) => ({ obstructions: [
      { ...b.obstructions[0]!, id: 'west half', footprint: [[4, -2], [4.6, -2], [4.6, -1], [4, -1]] },
      { ...b.obstructions[0]!, id: 'east half', footprint: [[4.6, -2], [5, -2], [5, -1], [4.6, -1]] },
    ] }));
    const score = scoreRecord(halves, gableTruth);
    expect(score.obstructions[0]).toMatchObject({ record: 'west half', pieces: 1 });
    expect(score.falseObstructions.map((o) => o.id)).toEqual(['east half']);
  });

  test('a parapet half as long is found by half; one elsewhere is false', () => {
    const half = withBuilding((b) => ({ parapets: [
      { ...b.parapets[0]!, path: [[20, 0, 100], [22, 0, 100]] as Vector3[], heightAboveRoofM: { value: 0.55, u95: 0.1 } },
      { ...b.parapets[0]!, id: 'other', path: [[20, 2, 100], [22, 2, 100]] as Vector3[] },
    ] }));
    const score = scoreRecord(half, gableTruth);
    expect(score.parapets[0]!.foundM).toBeCloseTo(2, 0);
    expect(score.parapets[0]!.heightErrorM).toBeCloseTo(0.05, 9);
    expect(score.falseParapets.map((p) => p.id)).toEqual(['other']);
  });

  test('of a wall between two roofs either face may be the inner one', () => {
    // 0.45 m thick, its outer face 0.45 m to the right of the path; what stands as far to the left is another thing.
    const truth = { ...gableTruth, parapets: [{ id: 'wall', path: [[20, 0, 100], [24, 0, 100]] as Vector3[], heightAboveRoofM: 0.5, topElevationM: null, thicknessM: 0.45 }] };
    const at = (y: number) => withBuilding((b) => ({ parapets: [{ ...b.parapets[0]!, path: [[24, y, 100], [20, y, 100]] as Vector3[] }] }));
    expect(scoreRecord(at(-0.45), truth)).toMatchObject({ parapets: [{ foundM: 4 }], falseParapets: [] });
    expect(scoreRecord(at(0.45), truth)).toMatchObject({ parapets: [{ foundM: 0 }], falseParapets: [{}] });
  });

  test('a level parapet on a falling roof is judged by the part that was found', () => {
    // The roof falls by 0.2 m along 4 m; the top stands 0.5 m above it on average, 0.45 m along the higher half.
    const truth = { ...gableTruth, parapets: [{ id: 'wall', path: [[20, 0, 100.1], [24, 0, 99.9]] as Vector3[], heightAboveRoofM: 0.5, topElevationM: 100.5, thicknessM: 0.3 }] };
    const half = withBuilding((b) => ({ parapets: [{ ...b.parapets[0]!, path: [[20, 0, 100.1], [22, 0, 100]] as Vector3[], heightAboveRoofM: { value: 0.45, u95: 0.1 } }] }));
    expect(scoreRecord(half, truth).parapets[0]!.heightErrorM).toBeCloseTo(0, 9);
  });

  test('low points near a drain, far from it, and withheld', () => {
    const at = (x: number, verdict: 'likely' | 'cannot-tell') => withBuilding((b) => ({ lowPoints: b.lowPoints.map((l) => ({ ...l, at: [x, 0, 100] as Vector3, verdict })) }));
    expect(scoreRecord(at(30.4, 'likely'), gableTruth).drains[0]!.distanceM).toBeCloseTo(0.4, 9);
    expect(scoreRecord(at(32, 'likely'), gableTruth)).toMatchObject({ drains: [{ record: null }], falseDrains: [{ id: 'drain' }] });
    expect(scoreRecord(at(32, 'cannot-tell'), gableTruth).falseDrains).toEqual([]);
  });
});

test('pooled scores count together', () => {
  const missing = scoreRecord(withBuilding((b) => ({ roofPlanes: b.roofPlanes.slice(0, 1) })), gableTruth, 'second');
  const figures = figuresOf(poolScores([scoreRecord(perfect, gableTruth, 'first'), missing]));
  expect(figures.planesFrom2M2.completeness).toMatchObject({ hits: 3, of: 4 });
  expect(figures.falseObstructionsPerBuilding).toBe(0);
});

test('a number declared unknown is neither inside nor outside', () => {
  const record = withPlane('south', () => ({ pitchDeg: { value: null, why: 'too few points' } }));
  const score = scoreRecord(record, gableTruth);
  expect(score.unknowns).toEqual([{ quantity: 'pitch', about: 'south', why: 'too few points' }]);
  expect(score.intervals.filter((i) => i.quantity === 'pitch')).toHaveLength(1);
});
