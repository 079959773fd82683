import { expect, it } from 'vitest';
import { solveLinear } from '../../../src/geometry/solve-linear.ts';

it('solves three equations that need their rows exchanged, and leaves them as they were', () => {
  const a = Float64Array.of(0, 2, 1, 1, 1, 1, 2, 0, 3);
  const b = Float64Array.of(7, 6, 11);
  expect([...solveLinear(a, b)!].map((value) => Math.round(value * 1e12) / 1e12)).toEqual([1, 2, 3]);
  expect([...b]).toEqual([7, 6, 11]);
});

it('has no answer for equations that repeat each other', () => {
  expect(solveLinear(Float64Array.of(1, 2, 2, 4), Float64Array.of(1, 2))).toBeNull();
});
