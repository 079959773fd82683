import { describe, expect, test } from 'vitest';
import { METRIC } from '../../../src/units/written-reading.ts';
import { fitted, type CameraSetting } from '../../../src/viewer/cameras.ts';
import { elevationLevels } from '../../../src/viewer/ink/elevation-levels.ts';
import type { InkFrame } from '../../../src/viewer/ink/frame.ts';
import { datumOf, drawLevelMarks } from '../../../src/viewer/ink/level-marks.ts';
import { Pen } from '../../../src/viewer/ink/pen.ts';
import type { Paper } from '../../../src/viewer/paper.ts';
import { freeAxes, project } from '../../../src/viewer/projection.ts';
import { sceneOf } from '../../../src/viewer/scene.ts';
import { gableRecord } from '../../fixtures/gable-record.ts';

/** Keeps what is written and where; ignores how it looks. */
function recordingPen(view: InkFrame['view']) {
  const written: { text: string; y: number }[] = [];
  let [ty, line] = [0, ''];
  const context = new Proxy({} as Record<string, unknown>, {
    get: (target, name) => {
      if (name === 'measureText') return (text: string) => ({ width: 7 * text.length });
      if (name === 'translate') return (_: number, y: number) => void ([ty, line] = [y, '']);
      if (name === 'fillText') return (text: string) => void (line += text);
      if (name === 'restore') return () => void (line !== '' && written.push({ text: line, y: ty }));
      return target[name as string] ?? (() => undefined);
    },
    set: (target, name, value) => ((target[name as string] = value), true),
  }) as unknown as CanvasRenderingContext2D;
  return { pen: new Pen(context, { textScale: 1 } as Paper, view), written };
}

function elevation(ground: { value: number; u95: number } | { value: null; why: string }) {
  const record = gableRecord();
  const [building] = record.buildings;
  const scene = sceneOf({ ...record, buildings: [{ ...building!, groundElevationM: ground }] }, new Set());
  const camera: CameraSetting = { name: 'elevation', gridToTrueDeg: 0, free: { bearingDeg: 0, tiltDeg: 0 }, elevationBearingDeg: 180, section: null };
  const view = fitted({ ...freeAxes(180, 0), centre: [0, 0, 0], pixelsPerMetre: 30, width: 900, height: 700 }, scene.bounds!, camera, false);
  const frame = { name: 'elevation', view, scene, building: 'b1', units: METRIC, noiseM: 0.01, zeroElevationM: 100, compact: false } as unknown as InkFrame;
  const { pen, written } = recordingPen(view);
  drawLevelMarks(pen, frame, elevationLevels(frame, scene), datumOf(frame, scene.buildings[0]!.ground));
  return { written, view, scene };
}

describe('level marks of an elevation', () => {
  test('ridge and eave stand at their own heights above the ground, with its share in the ±', () => {
    const { written, view, scene } = elevation({ value: 1, u95: 0.04 });
    const ridge = scene.edges.find(({ kind }) => kind === 'ridge')!;
    const at = written.findIndex(({ text }) => text === `ridge ${ridge.name}`);
    expect(at).toBeGreaterThanOrEqual(0);
    const [, number, u95] = /^\+([\d.]+) m ± ([\d.]+)$/.exec(written[at + 1]!.text)!;
    expect(Number(number)).toBeCloseTo(ridge.from[2] - 1, 2);
    expect(Number(u95)).toBeGreaterThanOrEqual(0.04);
    expect(Number(u95)).toBeLessThan(0.06);
    // The line of the mark, 18 px under its number, passes through the ridge.
    expect(written[at + 1]!.y + 18).toBeCloseTo(project(view, ridge.from)[1], 6);
    expect(written.some(({ text }) => text === '±0 datum')).toBe(true);
    expect(written.some(({ text }) => text.startsWith('eave '))).toBe(true);
  });

  test('where no ground was seen, heights are elevations and no ground is marked', () => {
    const { written, scene } = elevation({ value: null, why: 'no ground was seen' });
    const ridge = scene.edges.find(({ kind }) => kind === 'ridge')!;
    const at = written.findIndex(({ text }) => text === `ridge ${ridge.name}`);
    expect(Number(/^\+([\d.]+) m/.exec(written[at + 1]!.text)![1])).toBeCloseTo(ridge.from[2] + 100, 2);
    expect(written.some(({ text }) => text.includes('datum'))).toBe(false);
  });
});
