import { expect, it } from 'vitest';
import { moduleUnder, placeOnPlane } from '../../../src/viewer/pick-module.ts';
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
