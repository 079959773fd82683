import { expect, it } from 'vitest';
import { moduleUnder, placeOnPlane, planeAlong } from '../../../src/viewer/pick-module.ts';
import { leanTo } from '../../fixtures/record-roofs.ts';
import { planAxes, type Projection } from '../../../src/viewer/projection.ts';

const view: Projection = { ...planAxes(0), centre: [0, 0, 0], pixelsPerMetre: 10, width: 200, height: 100 };
const square = (id: string, x: number, y: number, z: number) =>
  ({ id, plane: 'b1.p1', isChosen: false, corners: [[x, y, z], [x + 2, y, z], [x + 2, y + 2, z], [x, y + 2, z]] as const });

it('the module under the pointer, the upper one where two overlap in the picture', () => {
  const modules = [square('high', 0, 0, 5), square('low', 1, 1, 2)];
  expect(moduleUnder(modules, view, 105, 45)?.id).toBe('high');
  expect(moduleUnder(modules, view, 115, 35)?.id).toBe('high');
  expect(moduleUnder(modules, view, 128, 22)?.id).toBe('low');
  expect(moduleUnder(modules, view, 50, 50)).toBeNull();
});

it('a line of sight meets a plane where both say so, and nowhere along it', () => {
  const lean = { normal: [0, -0.6, 0.8] as const, offset: -4 };
  expect(placeOnPlane(lean, [3, 4, 50], [0, 0, -1])).toEqual([3, 4, expect.closeTo(8, 9)]);
  expect(placeOnPlane(lean, [0, 0, 0], [1, 0, 0])).toBeNull();
});

it('of two roof planes under each other the eye takes the upper one', () => {
  const record = leanTo(30);
  const [plane] = record.buildings[0]!.roofPlanes;
  const below = { ...plane!, id: 'below', offset: plane!.offset + 1 };
  const [x, y] = [plane!.outline[0]![0] + 2, plane!.outline[0]![1] + 2];
  const ray = { origin: [x, y, 100] as const, direction: [0, 0, -1] as const, right: [1, 0, 0] as const, up: [0, 1, 0] as const, metresPerPixel: 0.1 };
  expect(planeAlong([below, plane!], ray)?.plane.id).toBe(plane!.id);
  expect(planeAlong([below, plane!], { ...ray, origin: [x + 500, y, 100] })).toBeNull();
});
