import { expect, it } from 'vitest';
import { estimateSpacing } from '../../../src/cloud/estimate-spacing.ts';
import { cloudOf, samplePoints } from '../../fixtures/roof-points.ts';

const plate = (spacing: number, x1: number) => samplePoints([{ plan: [0, 0, x1, 20], height: 5 }], { spacing, ground: null });

it.each([0.04, 0.1, 0.3])('finds a spacing of %s m within 6 per cent', (spacing) => {
  expect(Math.abs(estimateSpacing(cloudOf(plate(spacing, 20))) / spacing - 1)).toBeLessThan(0.06);
});

it('is not thinned by empty land between two roofs', () => {
  const a = plate(0.1, 10);
  const positions = Float64Array.from([...a.positions, ...a.positions.map((value, i) => (i % 3 === 0 ? value + 300 : value))]);
  const spacing = estimateSpacing(cloudOf({ ...a, pointCount: 2 * a.pointCount, positions }));
  expect(Math.abs(spacing - 0.1)).toBeLessThan(0.012);
});
