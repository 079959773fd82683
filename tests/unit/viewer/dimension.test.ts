import { expect, test } from 'vitest';
import { METRIC } from '../../../src/units/written-reading.ts';
import { drawDimension } from '../../../src/viewer/ink/dimension.ts';
import { Pen, type Box } from '../../../src/viewer/ink/pen.ts';
import type { Paper } from '../../../src/viewer/paper.ts';
import { freeAxes } from '../../../src/viewer/projection.ts';

const view = { ...freeAxes(0, 90), centre: [0, 0, 0] as const, pixelsPerMetre: 10, width: 390, height: 300 };

/** Where the number of a dimension along the lower rim of a picture stands. */
function placeOfNumber(reserved: readonly Box[], y = 240): readonly [number, number] {
  const places: [number, number][] = [];
  const context = new Proxy({} as Record<string, unknown>, {
    get: (target, name) => {
      if (name === 'measureText') return (text: string) => ({ width: 7 * text.length });
      if (name === 'translate') return (x: number, at: number) => void places.push([x, at]);
      return target[name as string] ?? (() => undefined);
    },
    set: (target, name, value) => ((target[name as string] = value), true),
  }) as unknown as CanvasRenderingContext2D;
  const pen = new Pen(context, { textScale: 1 } as Paper, view);
  for (const box of reserved) pen.reserve(box);
  drawDimension(pen, [40, y], [350, y], [0, 1], { value: 10.497, u95: 0.035 }, METRIC, { colour: '#000', offset: 26 });
  expect(places).toHaveLength(1);
  return places[0]!;
}

test('the number of a dimension stands in the middle of it', () => {
  expect(placeOfNumber([])).toEqual([195, 278]);
});

test('beside a scale bar at its foot it moves along its line as far as it must', () => {
  const bar: Box = { x0: 8, y0: 256, x1: 184, y1: 304 };
  const [x, y] = placeOfNumber([bar]);
  expect(y).toBe(278);
  expect(x - (17 * 7) / 2).toBeGreaterThan(bar.x1);
  expect(x).toBeLessThan(290);
});

test('where nowhere is room it stands in the middle all the same', () => {
  expect(placeOfNumber([{ x0: 0, y0: 250, x1: 390, y1: 300 }])).toEqual([195, 278]);
  expect(placeOfNumber([], 290)).toEqual([195, 328]);
});
