import { expect, test } from 'vitest';
import { DEFAULT_ASSUMPTIONS } from '../../../src/reading/assumptions.ts';
import type { RecordPick } from '../../../src/roof/record.ts';
import { makeReadings } from '../../../src/survey/measure/make-readings.ts';
import { runningNumber } from '../../../src/viewer/ink/measure-lines.ts';

const pick = (at: RecordPick['at']): RecordPick => ({ at, landedOn: 'corner', of: 'b1.p1', sigmaM: [0.004, 0.004, 0.003] });
const picks = [pick([0, 0, 3]), pick([30, 0, 8])] as const;

test('the number shown before the last click is the one the click writes, with every part of its ±', () => {
  const assumptions = { ...DEFAULT_ASSUMPTIONS, scale: 0.002, tiltDeg: 0.1 };
  const context = { targets: { corners: [], edges: [], planes: [] }, buildings: [], noiseM: 0.01, gridToTrueDeg: 0, assumptions, nextNumber: 1 };
  const [slope, , height] = makeReadings('distance', picks, context);
  expect(runningNumber(picks, { name: 'plan', assumptions })).toEqual(slope!.valueM);
  expect(runningNumber(picks, { name: 'section', assumptions })).toEqual(height!.valueM);
  expect(slope!.valueM!.value === null ? [] : slope!.valueM!.parts).toContainEqual({ name: 'scale', u95: 0.002 * Math.hypot(30, 5) });
});
