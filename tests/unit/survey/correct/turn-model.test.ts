import { describe, expect, it } from 'vitest';
import { signedPlanArea, surfaceArea } from '../../../../src/geometry/polygon.ts';
import { add, dot, length, subtract, type Vector3 } from '../../../../src/geometry/vector.ts';
import type { AppliedCorrection, RoofRecord } from '../../../../src/roof/record.ts';
import type { TapeReading } from '../../../../src/site/tape-reading.ts';
import { applyCorrection, offeredCorrections } from '../../../../src/survey/correct/apply-correction.ts';
import { buildingAsMeasured, placeAsMeasured } from '../../../../src/survey/correct/as-measured.ts';
import { movedCell, movedCloud, moveInPlace } from '../../../../src/survey/correct/correct-cloud.ts';
import { movesOf, placeAfter } from '../../../../src/survey/correct/move-model.ts';
import { doStep, startHistory, undo } from '../../../../src/survey/history.ts';
import { checkTape } from '../../../../src/survey/tape/check-tape.ts';
import { validateRecord } from '../../../../src/survey/validate-record.ts';
import { slopeAreaOf } from '../../../../src/reading/roof-area.ts';
import { isKnown, type Measured } from '../../../../src/units/measured.ts';
import { buildCloud } from '../../../../src/cloud/build-cloud.ts';
import { planGrid } from '../../../../src/cloud/plan-grid.ts';
import { seededRandom } from '../../../../src/geometry/seeded-random.ts';
import { gableRecord } from '../../../fixtures/gable-record.ts';
import { recordHarbour } from '../../../fixtures/record-harbour.ts';

const WHO = { by: 'A.K.', at: '2026-05-02T10:00:00Z', why: 'checkpoints of 2 May' } as const;
const valueOf = (number: Measured): number => (isKnown(number) ? number.value : Number.NaN);
const RAD = Math.PI / 180;

/** Where survey puts a place of the model: the model rises too much by 0.4° to the north and by −0.2° to the east, about the middle of the corners below. Small angles, written out. */
const levelled = ([x, y, z]: Vector3): Vector3 => {
  // Turned back about the east axis, then about the north axis, each as a plane rotation.
  const [a, b] = [0.4 * RAD, -0.2 * RAD];
  let [u, v, w] = [x - 5, y - 5, z - 14 / 3];
  [v, w] = [v * Math.cos(a) + w * Math.sin(a), w * Math.cos(a) - v * Math.sin(a)];
  [u, w] = [u * Math.cos(b) + w * Math.sin(b), w * Math.cos(b) - u * Math.sin(b)];
  return [u + 5, v + 5, w + 14 / 3];
};
const CORNERS: Vector3[] = [[0, 0, 3], [10, 0, 3], [10, 10, 3], [0, 10, 3], [0, 5, 8], [10, 5, 8]];
const checked = (record: RoofRecord, truth: (at: Vector3) => Vector3): RoofRecord => {
  const taken = CORNERS.map((at, i): TapeReading => ({ id: `C${i}`, kind: 'checkpoint', ends: [truth(at), at].map((end) => add(end, record.frame.origin)), value: null, sigma: 0.004, by: '', at: '', note: '' }));
  return { ...record, tape: checkTape(record, taken) };
};
const sharp = (record: RoofRecord): RoofRecord => ({ ...record, sampling: { ...record.sampling, noiseM: 0.001, pointSpacingM: 0.005 } });

describe('a model that rises too much', () => {
  const before = checked(sharp(gableRecord()), levelled);
  const offer = offeredCorrections(before).find(({ kind }) => kind === 'tilt')!;
  const { says, ...what } = offer;
  const after = validateRecord(applyCorrection(before, { ...what, ...WHO }), 'corrected record');

  it('is told by how much, within the ± that is stated, and nothing is done before somebody says so', () => {
    expect(Math.abs(offer.riseDeg![0] - 0.4)).toBeLessThan(offer.u95);
    expect(Math.abs(offer.riseDeg![1] + 0.2)).toBeLessThan(offer.u95);
    expect(offer.u95).toBeLessThan(0.12);
    expect(says).toMatch(/rises too much by 0\.4\d* ± 0\.\d+° to the north and −0\.2\d* ± 0\.\d+° to the east/);
    expect(before.corrections).toBeUndefined();
  });

  it('keeps the area of all planes together with its ±, in plan what they cover now', () => {
    const [was, is] = [before.buildings[0]!, after.buildings[0]!];
    expect(slopeAreaOf(is)).toEqual(was.roofArea!.slopeAreaM2);
    expect(valueOf(is.roofArea!.planAreaM2)).toBeCloseTo(is.roofPlanes.reduce((sum, { outline }) => sum + signedPlanArea(outline), 0), 3);
  });

  it('lies where survey puts it when it was levelled, and the check made again shows no tilt', () => {
    after.buildings[0]!.roofPlanes.forEach((plane, p) => plane.outline.forEach((corner, i) =>
      expect(length(subtract(corner, levelled(before.buildings[0]!.roofPlanes[p]!.outline[i]!)))).toBeLessThan(0.002)));
    const { tiltNorthDeg, tiltEastDeg } = after.tape!.site!;
    expect(Math.abs(valueOf(tiltNorthDeg))).toBeLessThan(0.001);
    expect(Math.abs(valueOf(tiltEastDeg))).toBeLessThan(0.001);
    expect(offeredCorrections(after).map(({ kind }) => kind)).not.toContain('tilt');
  });

  it('has pitches, azimuths and areas of the turned corners; lengths stay', () => {
    for (const [i, plane] of after.buildings[0]!.roofPlanes.entries()) {
      for (const corner of plane.outline) expect(dot(plane.normal, corner) + plane.offset).toBeCloseTo(0, 9);
      expect(valueOf(plane.pitchDeg)).toBeCloseTo(Math.acos(plane.normal[2]) / RAD, 9);
      expect(valueOf(plane.slopeAreaM2)).toBeCloseTo(valueOf(before.buildings[0]!.roofPlanes[i]!.slopeAreaM2), 9);
      expect(valueOf(plane.slopeAreaM2)).toBeCloseTo(surfaceArea(plane.outline), 6);
      expect(valueOf(plane.planAreaM2)).toBeCloseTo(signedPlanArea(plane.outline), 6);
      if (isKnown(plane.azimuthDeg)) expect(plane.azimuthDeg.value).toBeCloseTo((Math.atan2(plane.normal[0], plane.normal[1]) / RAD + 360) % 360, 6);
    }
    // 45° to the south before; too much of a rise to the north made it too steep by 0.4°.
    expect(Math.abs(valueOf(after.buildings[0]!.roofPlanes[0]!.pitchDeg) - 44.6)).toBeLessThan(offer.u95);
    after.buildings[0]!.edges.forEach((edge, i) => {
      expect(edge.slopeLengthM).toEqual(before.buildings[0]!.edges[i]!.slopeLengthM);
      expect(length(subtract(edge.to, edge.from))).toBeCloseTo(length(subtract(before.buildings[0]!.edges[i]!.to, before.buildings[0]!.edges[i]!.from)), 9);
    });
  });

  it('states the doubt of the levelling in the place of the assumed one', () => {
    const tilt = ({ pitchDeg }: { readonly pitchDeg: Measured }) => (isKnown(pitchDeg) ? pitchDeg.parts?.find(({ name }) => name === 'tilt')?.u95 : undefined);
    const [north, east] = offer.riseU95Deg!;
    for (const plane of after.buildings[0]!.roofPlanes) {
      // A plane that falls to the south or north has the doubt of that direction alone, but for the turn of a fraction of a degree.
      expect(Math.abs(tilt(plane)! - north)).toBeLessThan(0.001);
      expect(north).not.toBeCloseTo(east, 3);
    }
  });

  it('comes back to the last digit by undo', () => {
    const history = startHistory(before);
    expect(undo(doStep(history, { title: 'level', at: WHO.at, command: { kind: 'apply-correction', correction: { ...what, ...WHO } } })).record).toEqual(history.record);
  });
});

describe('a model whose bearings are off', () => {
  const turned = ([x, y, z]: Vector3): Vector3 => {
    const a = 0.3 * RAD;
    return [5 + (x - 5) * Math.cos(a) - (y - 5) * Math.sin(a), 5 + (x - 5) * Math.sin(a) + (y - 5) * Math.cos(a), z];
  };
  const before = checked(sharp(gableRecord()), turned);
  const offer = offeredCorrections(before).find(({ kind }) => kind === 'turn')!;

  it('turns back: bearings grow less by what they were too large', () => {
    expect(Math.abs(offer.amount! - 0.3)).toBeLessThan(offer.u95);
    const { says: _says, ...what } = offer;
    const after = validateRecord(applyCorrection(before, { ...what, ...WHO }), 'corrected record');
    after.buildings[0]!.edges.forEach(({ from }, i) => expect(length(subtract(from, turned(before.buildings[0]!.edges[i]!.from)))).toBeLessThan(0.002));
    const [was, is] = [before, after].map(({ buildings }) => valueOf(buildings[0]!.roofPlanes[0]!.azimuthDeg));
    expect(was! - is!).toBeCloseTo(offer.amount!, 6);
    expect(after.buildings[0]!.roofPlanes[0]!.pitchDeg.value).toBeCloseTo(before.buildings[0]!.roofPlanes[0]!.pitchDeg.value!, 9);
  });
});

describe('what stood on a model that is levelled', () => {
  const tilt: AppliedCorrection = { kind: 'tilt', amount: null, riseDeg: [0.5, 0.3], u95: 0.05, about: [0, 0, 5], readings: [], ...WHO };
  const record = recordHarbour();
  const after = validateRecord(applyCorrection(record, tilt), 'corrected record');

  it('low points say that they must be surveyed again: water runs by what is level', () => {
    const [likely, refused] = after.buildings[0]!.lowPoints;
    expect(likely).toMatchObject({ verdict: 'candidate', depthM: { value: null, why: expect.stringContaining('survey it again') } });
    expect(likely!.pond).toBeUndefined();
    expect(refused!.verdict).toBe('cannot-tell');
  });

  it('outlines, footprints and parapets go with their planes, within a millimetre', () => {
    const [move] = movesOf([tilt], record.frame.gridToTrueDeg);
    for (const [b, building] of after.buildings.entries()) {
      const was = record.buildings[b]!;
      building.outline.forEach((corner, i) => {
        const [x, y] = was.outline[i]!;
        const over = was.roofPlanes.flatMap(({ outline }) => outline).find((at) => Math.hypot(at[0] - x, at[1] - y) < 0.005);
        if (!over) return;
        const wanted = placeAfter(over, move!);
        expect(Math.hypot(corner[0] - wanted[0], corner[1] - wanted[1])).toBeLessThan(0.006);
      });
    }
  });
});

describe('points and orders follow', () => {
  const corrections: AppliedCorrection[] = [
    { kind: 'scale', amount: 0.01, u95: 0.001, about: [10, 20, 5], readings: [], ...WHO },
    { kind: 'tilt', amount: null, riseDeg: [0.5, -0.8], u95: 0.05, about: [12, 8, 3], readings: [], ...WHO },
    { kind: 'turn', amount: 0.7, u95: 0.05, about: [12, 8, 3], readings: [], ...WHO },
    { kind: 'shift', amount: null, shiftM: [1, 2, 3], u95: 0.05, about: [12, 8, 3], readings: [], ...WHO },
  ];
  const moves = movesOf(corrections, 0);
  const { uniform } = seededRandom(3);
  const positions = Float64Array.from({ length: 3 * 3000 }, () => 40 * uniform());
  const cloud = buildCloud([{ pointCount: 3000, positions: positions.slice(), colours: null, intensity: null, classification: null }], planGrid({ min: [0, 0, 0], max: [40, 40, 40] }, 3000));

  it('cells and loose points come to where their places do', () => {
    const cells = cloud.cells.map((cell) => movedCell(cell, moves));
    const { bounds } = movedCloud(cloud, cells, moves);
    cells.forEach((cell, c) => {
      const from = cloud.cells[c]!;
      for (let i = 0; i < cell.pointCount; i++) {
        const at = (of: typeof cell): Vector3 => [0, 1, 2].map((axis) => of.origin[axis]! + of.positions[3 * i + axis]!) as unknown as Vector3;
        const now = at(cell);
        expect(length(subtract(now, moves.reduce(placeAfter, at(from))))).toBeLessThan(2e-5);
        now.forEach((value, axis) => expect(value >= bounds.min[axis]! - 1e-5 && value <= bounds.max[axis]! + 1e-5).toBe(true));
      }
    });
    const loose = positions.slice(0, 300);
    moveInPlace(loose, moves);
    for (let i = 0; i < 300; i += 3) {
      const wanted = moves.reduce(placeAfter, [positions[i]!, positions[i + 1]!, positions[i + 2]!] as Vector3);
      wanted.forEach((value, axis) => expect(loose[i + axis]).toBeCloseTo(value, 9));
    }
  });

  it('a place and a building find back to where they were measured', () => {
    const at: Vector3 = [7, 11, 9];
    expect(length(subtract(placeAsMeasured(moves.reduce(placeAfter, at), moves), at))).toBeLessThan(1e-9);
    const record = gableRecord();
    const moved = corrections.reduce(applyCorrection, record).buildings[0]!;
    buildingAsMeasured(moved, moves).roofPlanes.forEach((plane, p) => plane.outline.forEach((corner, i) => expect(length(subtract(corner, record.buildings[0]!.roofPlanes[p]!.outline[i]!))).toBeLessThan(1e-9)));
  });
});
