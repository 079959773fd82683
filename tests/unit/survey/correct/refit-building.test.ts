import { beforeAll, describe, expect, test } from 'vitest';
import { measureRoof, planeTable } from '../../../../src/find/measure-roof.ts';
import { DEFAULT_ASSUMPTIONS } from '../../../../src/reading/assumptions.ts';
import type { AppliedCorrection, Building } from '../../../../src/roof/record.ts';
import type { SurveyCommand } from '../../../../src/survey/commands.ts';
import type { LabelEdit } from '../../../../src/survey/correct/label-edit.ts';
import { cellsFor, placesOf, refitOrder, type OpenSurvey } from '../../../../src/survey/correct/refit-order.ts';
import { placeOf } from '../../../../src/survey/correct/stretch-model.ts';
import { doStep, startHistory, undo, type History } from '../../../../src/survey/history.ts';
import { measureParapet } from '../../../../src/survey/correct/mark-parapet.ts';
import { refitBuilding, type RefitOrder } from '../../../../src/survey/correct/refit-building.ts';
import { isKnown, type Measured } from '../../../../src/units/measured.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';
import { labelledRoof, type Patch } from '../../../fixtures/labelled-roof.ts';

/**
 * Roofs whose every number can be had in the head. Two shallow slopes of 10 × 4 m that finding took for one plane, a
 * gable whose one slope it took for two, a shed it did not see, and a wall at the rim.
 */
const KINK: Patch[] = [
  { label: 1, plan: [0, 0, 10, 4], surface: [5, 0, 0.5] },
  { label: 1, plan: [0, 4, 10, 8], surface: [6.2, 0, 0.2] },
];
const CUT_GABLE: Patch[] = [
  { label: 1, plan: [0, 0, 4, 4], surface: [5, 0, 0.6] },
  { label: 2, plan: [4, 0, 10, 4], surface: [5, 0, 0.6] },
  { label: 3, plan: [0, 4, 10, 8], surface: [9.8, 0, -0.6] },
];
const SHED: Patch = { label: 0, plan: [13, 1, 17, 5], surface: [3, 0.1, 0] };
const WALL: Patch = { label: 0, plan: [0, -0.3, 10, 0], surface: [5.9, 0, 0] };
const NOISE = { spacing: 0.06, white: 0.006, smooth: { sigma: 0.006, length: 0.2 } };

interface Survey {
  readonly building: Building;
  readonly order: RefitOrder;
  readonly cells: Parameters<typeof refitBuilding>[1];
}

async function survey(patches: readonly Patch[]): Promise<Survey> {
  const { cloud, segmentation } = labelledRoof(patches, NOISE);
  const { buildings, buildingLabels } = await measureRoof(cloud, segmentation, { origin: [0, 0, 0], gridToTrue: 0, scaleFactor: 1, crs: null } as never);
  const building = buildings[0]!;
  const order: RefitOrder = {
    id: 'b1', grid: cloud.grid, planes: planeTable(segmentation), ownLabels: buildingLabels[0]!, noise: segmentation.noise, pointSpacing: segmentation.pointSpacing,
    groundSampleDistance: null, gridToTrue: 0, assumptions: DEFAULT_ASSUMPTIONS, edits: [], byHand: [], before: building, surveyed: building, taken: [], ground: segmentation.ground, finding: segmentation, moves: [],
  };
  return { building, order, cells: cloud.cells.map((cell, i) => ({ ...cell, labels: segmentation.labels[i]! })) };
}

/** Degrees of the arctangent: pitch from rise over run. */
const pitch = (slope: number): number => (Math.atan(slope) * 180) / Math.PI;
const holds = (number: Measured, truth: number): boolean => isKnown(number) && Math.abs(number.value - truth) <= number.u95;

let kink: Survey;
let gable: Survey;
beforeAll(async () => {
  kink = await survey(KINK);
  gable = await survey([...CUT_GABLE, SHED, WALL]);
});

describe('refitBuilding', () => {
  test('without an edit it is the building the survey measured, part by part', () => {
    const { building } = refitBuilding(gable.order, gable.cells);
    expect(building).toEqual(gable.building);
    building.roofPlanes.forEach((plane, i) => expect(plane).toBe(gable.building.roofPlanes[i]));
  });

  test('one slope found as two becomes one again, with the pitch and area it has', () => {
    const halves = gable.building.roofPlanes.filter(({ outline }) => outline.every(([, y]) => y < 4.3));
    expect(halves).toHaveLength(2);
    const [a, b] = halves as [typeof halves[0], typeof halves[0]];
    const { building, made } = refitBuilding({ ...gable.order, edits: [{ kind: 'merge', of: [a.id, b.id], planes: placesOf(gable.building) }] }, gable.cells);
    expect(building.roofPlanes).toHaveLength(2);
    const merged = building.roofPlanes.find(({ id }) => id === made[0])!;
    // The larger of the two goes on.
    expect(merged.id).toBe(a.slopeAreaM2.value! > b.slopeAreaM2.value! ? a.id : b.id);
    expect(holds(merged.pitchDeg, pitch(0.6))).toBe(true);
    expect(holds(merged.planAreaM2, 40)).toBe(true);
    expect(building.edges.filter(({ kind }) => kind === 'ridge')).toHaveLength(1);
  });

  test('planes that do not touch cannot be one', async () => {
    const apart = await survey([{ label: 1, plan: [0, 0, 4, 4], surface: [5, 0, 0.2] }, { label: 3, plan: [4, 0, 8, 4], surface: [8, 0, 0] }, { label: 2, plan: [8, 0, 12, 4], surface: [5, 0, 0.2] }]);
    const { roofPlanes } = apart.building;
    const [a, b] = [roofPlanes.find(({ outline }) => outline.every(([x]) => x < 4.5))!, roofPlanes.find(({ outline }) => outline.every(([x]) => x > 7.5))!];
    expect(() => refitBuilding({ ...apart.order, edits: [{ kind: 'merge', of: [a.id, b.id], planes: placesOf(apart.building) }] }, apart.cells)).toThrow(/do not touch/);
  });

  test('a kinked plane splits into its two slopes; the border moves from the drawn line to where they meet', () => {
    const [plane] = kink.building.roofPlanes;
    expect(kink.building.roofPlanes).toHaveLength(1);
    // Drawn 25 cm off, and askew.
    const { building, made } = refitBuilding({ ...kink.order, edits: [{ kind: 'split', of: plane!.id, along: [[0, 4.25], [10, 4.1]], planes: placesOf(kink.building) }] }, kink.cells);
    const planes = made.map((id) => building.roofPlanes.find((candidate) => candidate.id === id)!).toSorted((a, b) => b.pitchDeg.value! - a.pitchDeg.value!);
    expect(planes).toHaveLength(2);
    expect(made).toContain(plane!.id);
    expect(holds(planes[0]!.pitchDeg, pitch(0.5))).toBe(true);
    expect(holds(planes[1]!.pitchDeg, pitch(0.2))).toBe(true);
    for (const part of planes) expect(holds(part.planAreaM2, 40)).toBe(true);
    const border = building.edges.find(({ planes: of }) => of.length === 2)!;
    for (const [, y] of [border.from, border.to]) expect(Math.abs(y - 4)).toBeLessThan(0.03);
  });

  test('a line that leaves one side empty is refused, and nothing else is', () => {
    const [plane] = kink.building.roofPlanes;
    const split = (x: number) => refitBuilding({ ...kink.order, edits: [{ kind: 'split', of: plane!.id, along: [[x, 0], [x, 1]], planes: placesOf(kink.building) }] }, kink.cells);
    expect(() => split(-1)).toThrow(/fewer than 20 points/);
    expect(split(5).building.roofPlanes).toHaveLength(2);
  });

  test('points in a ring become a plane, of the building beside or of a new one', () => {
    const lasso = { kind: 'lasso', ring: [[12.5, 0.5], [17.5, 0.5], [17.5, 5.5], [12.5, 5.5]] } as const;
    const { building, made } = refitBuilding({ ...gable.order, id: 'b2', ownLabels: [], before: null, surveyed: null, edits: [lasso] }, gable.cells);
    expect(building.roofPlanes.map(({ id }) => id)).toEqual(['b2.p1']);
    expect(made).toEqual(['b2.p1']);
    const [shed] = building.roofPlanes;
    expect(holds(shed!.pitchDeg, pitch(0.1))).toBe(true);
    expect(holds(shed!.planAreaM2, 16)).toBe(true);
    const nothing = { kind: 'lasso', ring: [[11, 6], [12, 6], [12, 7]] } as const;
    expect(() => refitBuilding({ ...gable.order, edits: [nothing] }, gable.cells)).toThrow(/points lie inside/);
    const twoSlopes = { kind: 'lasso', ring: [[12.5, 3], [17.5, 3], [17.5, 5.5], [9, 5.5], [9, -1], [8, 8], [12, 8]] } as const;
    expect(() => refitBuilding({ ...gable.order, edits: [twoSlopes] }, gable.cells)).not.toThrow(RangeError);
  });

  test('what hands changed is done again on the new planes, and what cannot is named', () => {
    const [plane] = kink.building.roofPlanes;
    const corner = plane!.outline.find(([x, y]) => x > 9 && y > 7)!;
    const byHand: SurveyCommand[] = [
      { kind: 'move-corner', building: 'b1', from: corner, to: [corner[0] + 0.5, corner[1], corner[2]], sigmaM: 0.01 },
      { kind: 'move-corner', building: 'b1', from: [50, 50, 0], to: [51, 50, 0], sigmaM: 0.01 },
    ];
    const { building, lost } = refitBuilding({ ...kink.order, byHand, edits: [{ kind: 'split', of: plane!.id, along: [[0, 4], [10, 4]], planes: placesOf(kink.building) }] }, kink.cells);
    expect(building.roofPlanes.flatMap(({ outline }) => outline).some(([x]) => Math.abs(x - corner[0] - 0.5) < 0.1)).toBe(true);
    expect(lost).toEqual([expect.stringMatching(/^A moved corner: corner: no outline has a corner there/)]);
  });

  test('edits follow one another: split, then merged, is what it was', () => {
    const [plane] = kink.building.roofPlanes;
    const split = { kind: 'split', of: plane!.id, along: [[5, 0], [5, 8]], planes: placesOf(kink.building) } as const;
    const parted = refitBuilding({ ...kink.order, edits: [split] }, kink.cells);
    const merge = { kind: 'merge', of: parted.made as [string, string], planes: placesOf(parted.building) } as const;
    const { building } = refitBuilding({ ...kink.order, before: parted.building, edits: [split, merge] }, kink.cells);
    expect(building.roofPlanes).toHaveLength(1);
    expect(building.roofPlanes[0]!.planAreaM2.value).toBeCloseTo(plane!.planAreaM2.value!, 1);
  });
});

/**
 * A slope with a dormer on it, 2 m wide from 2 m behind the eave to where its roof meets the slope at 4.5 m. Both halves
 * of the slope are one plane, so that nothing but the drawn line says where they part.
 */
describe('a plane with a dormer on it is split', () => {
  const DORMER: Patch[] = [{ label: 1, plan: [0, 0, 10, 6], surface: [5, 0, 0.6] }, { label: 2, plan: [4, 2, 6, 4.5], surface: [7.5, 0, 0.09] }];
  /** Corners of slope and dormer. */
  const STANDING: readonly (readonly [number, number])[] = [[0, 0], [10, 0], [10, 6], [0, 6], [4, 2], [6, 2], [6, 4.5], [4, 4.5]];
  let dormer: Survey;
  beforeAll(async () => void (dormer = await survey(DORMER)));

  test.each([
    { line: 'through the dormer', along: [[5, 0], [5, 6]], crossings: [[5, 0], [5, 2], [5, 4.5], [5, 6]], areas: [27.5, 27.5] },
    { line: 'beside the dormer', along: [[3, 0], [3, 6]], crossings: [[3, 0], [3, 6]], areas: [37, 18] },
    { line: 'across the slope and the dormer', along: [[0, 3], [10, 3]], crossings: [[0, 3], [4, 3], [6, 3], [10, 3]], areas: [28, 27] },
    { line: 'below the dormer', along: [[0, 1], [10, 1]], crossings: [[0, 1], [10, 1]], areas: [45, 10] },
    { line: 'along a cheek of the dormer', along: [[4, 0], [4, 6]], crossings: [[4, 0], [4, 6]], areas: [31, 24] },
    { line: 'slanting, near a corner of the dormer', along: [[2, 0], [7, 6]], crossings: [[2, 0], [4, 2.4], [5.75, 4.5], [7, 6]], areas: [30.05, 24.95] },
  ] as const)('$line: every corner stands where the line meets what is there, or where it stood', ({ along, crossings, areas }) => {
    const slope = dormer.building.roofPlanes.toSorted((a, b) => b.planAreaM2.value! - a.planAreaM2.value!)[0]!;
    const edit: LabelEdit = { kind: 'split', of: slope.id, along, planes: placesOf(dormer.building) };
    const { building, made } = refitBuilding({ ...dormer.order, edits: [edit] }, dormer.cells);
    const away = ([x, y]: readonly number[], places: readonly (readonly [number, number])[]): number => Math.min(...places.map(([u, v]) => Math.hypot(x! - u, y! - v)));
    const corners = building.roofPlanes.flatMap(({ outline, holes }) => [...outline, ...holes.flat()]);
    for (const corner of corners) expect(away(corner, [...STANDING, ...crossings]), corner.join(' ')).toBeLessThan(0.15);
    for (const place of crossings) expect(away(place, corners.map(([x, y]) => [x, y] as const)), place.join(' ')).toBeLessThan(0.1);
    const found = made.map((id) => building.roofPlanes.find((plane) => plane.id === id)!.planAreaM2.value!).toSorted((a, b) => b - a);
    areas.forEach((area, i) => expect(Math.abs(found[i]! - area)).toBeLessThan(0.3));
    const [[x0, y0], [x1, y1]] = along;
    const borders = building.edges.filter(({ planes }) => planes.length === 2);
    expect(borders.length).toBeGreaterThan(0);
    for (const { from, to, kind, note } of borders) {
      for (const [x, y] of [from, to]) expect(Math.abs((x - x0) * (y1 - y0) - (y - y0) * (x1 - x0)) / Math.hypot(x1 - x0, y1 - y0)).toBeLessThan(0.02);
      expect([kind, note]).toEqual(['unknown', expect.stringContaining('drawn by hand')]);
    }
  });

  test('a half that is split again keeps the border that was drawn first', () => {
    const slope = dormer.building.roofPlanes.toSorted((a, b) => b.planAreaM2.value! - a.planAreaM2.value!)[0]!;
    const first: LabelEdit = { kind: 'split', of: slope.id, along: [[7.5, 0], [7.5, 6]], planes: placesOf(dormer.building) };
    const once = refitBuilding({ ...dormer.order, edits: [first] }, dormer.cells);
    const east = once.made.toSorted((a, b) => (once.building.roofPlanes.find(({ id }) => id === a)!.planAreaM2.value! - once.building.roofPlanes.find(({ id }) => id === b)!.planAreaM2.value!))[0]!;
    const second: LabelEdit = { kind: 'split', of: east, along: [[7.5, 3], [10, 3]], planes: placesOf(once.building) };
    const { building } = refitBuilding({ ...dormer.order, before: once.building, edits: [first, second] }, dormer.cells);
    const borders = building.edges.filter(({ planes }) => planes.length === 2);
    expect(borders).toHaveLength(3);
    for (const { from, to } of borders) for (const [x, y] of [from, to]) expect(Math.min(Math.abs(x - 7.5), Math.abs(y - 3))).toBeLessThan(0.02);
  });
});

describe('after the whole model was corrected', () => {
  const split = { kind: 'split', along: [[0, 4.25], [10, 4.1]] } as const;
  const about = [5, 4, 5] as const;
  const correction = (kind: AppliedCorrection['kind'], amount: number): AppliedCorrection => ({ kind, amount, u95: 0.001, about, readings: ['T1'], by: 'RT', at: '', why: 'tape' });
  /** The kinked roof in a history, so that commands, order and undo are those of the page. */
  const corrected = (kind: AppliedCorrection['kind'], amount: number): { state: History; open: OpenSurvey } => {
    const { building, order, cells } = kink;
    const record = { ...gableRecord(), buildings: [building], readings: [], smallFeatures: [], decisions: [], tape: null };
    const cloud = { grid: order.grid, cells } as never;
    const open: OpenSurvey = { cloud, labels: cells.map(({ labels }) => labels), found: { planes: order.planes, buildingLabels: [[...order.ownLabels]], buildingBoxes: [[0, 0, 10, 8]], noise: order.noise, pointSpacing: order.pointSpacing, gridToTrue: 0, ground: order.ground, finding: order.finding } as never };
    return { state: doStep(startHistory(record), { title: '', at: '', command: { kind: 'apply-correction', correction: correction(kind, amount) } }), open };
  };
  const refitIn = (state: History, open: OpenSurvey, edit: LabelEdit) => {
    const order = refitOrder(state, open, 'b1', edit);
    return refitBuilding(order, cellsFor(order, state, open));
  };

  test.each([
    // A scale of 3 % leaves pitches and takes areas by its square; a stretch of heights takes slopes and leaves plan areas; an edge offset of 20 cm moves each free edge by 10 cm.
    { kind: 'scale', amount: 0.03, slopes: [0.5, 0.2], plan: 40 / 1.03 ** 2, border: 4 },
    { kind: 'vertical-scale', amount: 0.05, slopes: [0.5 / 1.05, 0.2 / 1.05], plan: 40, border: 4 },
    { kind: 'edge', amount: 0.2, slopes: [0.5, 0.2], plan: 9.8 * 3.9, border: 4 },
  ] as const)('$kind: a plane splits where a person sees it, and what is derived is corrected', ({ kind, amount, slopes, plan, border }) => {
    const { state, open } = corrected(kind, amount);
    const shown = state.record.buildings[0]!;
    const { building, made, lost } = refitIn(state, open, { ...split, of: shown.roofPlanes[0]!.id, planes: placesOf(shown) });
    expect(lost).toEqual([]);
    expect(made).toContain(shown.roofPlanes[0]!.id);
    const planes = made.map((id) => building.roofPlanes.find((candidate) => candidate.id === id)!).toSorted((a, b) => b.pitchDeg.value! - a.pitchDeg.value!);
    slopes.forEach((slope, i) => expect(holds(planes[i]!.pitchDeg, pitch(slope)), `pitch ${i}`).toBe(true));
    for (const { planAreaM2 } of planes) expect(holds(planAreaM2, plan)).toBe(true);
    const ridge = building.edges.find(({ planes: of }) => of.length === 2)!;
    for (const [, y] of [ridge.from, ridge.to]) expect(Math.abs(y - border)).toBeLessThan(0.03);
    const after = doStep(state, { title: '', at: '', command: { kind: 'refit-building', edit: { ...split, of: shown.roofPlanes[0]!.id, planes: placesOf(shown) }, to: building } });
    expect(undo(after).record).toEqual(state.record);
    // The scale's own doubt is in the new numbers as well.
    const { planAreaM2: area } = planes[0]!;
    if (kind === 'scale') expect(isKnown(area) && area.parts!.find(({ name }) => name === 'scale')!.u95 / area.value).toBeCloseTo(0.002, 9);
  });

  test('what was said before the correction and what is said after it follow one another', () => {
    const { state, open } = corrected('scale', 0.03);
    const shown = state.record.buildings[0]!;
    const edit: LabelEdit = { ...split, of: shown.roofPlanes[0]!.id, planes: placesOf(shown) };
    const parted = refitIn(state, open, edit);
    const next = doStep(state, { title: '', at: '', command: { kind: 'refit-building', edit, to: parted.building } });
    const { building } = refitIn(next, open, { kind: 'merge', of: parted.made as [string, string], planes: placesOf(parted.building) });
    expect(building.roofPlanes.map(({ id }) => id)).toEqual(shown.roofPlanes.map(({ id }) => id));
    expect(building.roofPlanes[0]!.planAreaM2.value).toBeCloseTo(shown.roofPlanes[0]!.planAreaM2.value!, 1);
  });

  test('a parapet drawn on the corrected model has the corrected size, where it was drawn', () => {
    const stretch = { about, horizontal: 1 / 1.03, vertical: 1 / 1.03, u95: 0.001, isVertical: false };
    const drawn = ([[0.3, 0, 5], [9.7, 0, 5]] as const).map((at) => placeOf(at, stretch));
    const [plain, scaled] = [measureParapet(gable.order, gable.cells, [[0.3, 0, 5], [9.7, 0, 5]]), measureParapet({ ...gable.order, moves: [stretch] }, gable.cells, drawn)];
    expect(scaled.heightAboveRoofM.value).toBeCloseTo(plain.heightAboveRoofM.value! / 1.03, 6);
    expect(scaled.thicknessM.value).toBeCloseTo(plain.thicknessM.value! / 1.03, 6);
    expect(scaled.path[0]![0]).toBeCloseTo(drawn[0]![0], 6);
  });
});

describe('measureParapet', () => {
  test('a wall of 30 cm that stands 0.9 m above the eave is measured along its inner face, drawn either way', () => {
    for (const path of [[[0.3, 0, 5], [9.7, 0, 5]], [[9.7, 0, 5], [0.3, 0, 5]]] as const) {
      const parapet = measureParapet(gable.order, gable.cells, path);
      // The plane falls outward by 0.6: height is counted above it where the wall stands, 0.9 to 1.08 m.
      expect(parapet.heightAboveRoofM.value).toBeGreaterThan(0.88);
      expect(parapet.heightAboveRoofM.value).toBeLessThan(1.1);
      expect(parapet.thicknessM.value).toBeCloseTo(0.3, 1);
    }
  });

  test('where nothing rises its size is left open', () => {
    const { heightAboveRoofM } = measureParapet(gable.order, gable.cells, [[10, 5, 7], [10, 7.5, 6]]);
    expect(heightAboveRoofM).toEqual({ value: null, why: 'too few points on top' });
  });
});
