import { describe, expect, it } from 'vitest';
import { addAt, decompose, emptyRows, solveDecomposed } from '../../../src/geometry/solve-symmetric.ts';

describe('symmetric systems by rows', () => {
  // The textbook example of the decomposition: L = [[2], [6, 1], [-8, 5, 3]].
  const full = [[4], [12, 37], [-16, -43, 98]];

  it('decomposes the textbook matrix', () => {
    const a = emptyRows(Int32Array.of(0, 0, 0));
    full.forEach((row, i) => row.forEach((value, j) => addAt(a, i, j, value)));
    const rows = decompose(a).rows.map((row) => [...row]);
    expect(rows).toEqual([[2], [6, 1], [-8, 5, 3]]);
  });

  it('solves a chain whose rows begin late: second differences of a straight line', () => {
    // -x(i-1) + 2 x(i) - x(i+1) = 0 with ends held at 0 and 5: x = 1, 2, 3, 4.
    const a = emptyRows(Int32Array.of(0, 0, 1, 2));
    for (let i = 0; i < 4; i++) {
      addAt(a, i, i, 2);
      if (i > 0) addAt(a, i, i - 1, -1);
    }
    const x = solveDecomposed(decompose(a), Float64Array.of(0, 0, 0, 5));
    [1, 2, 3, 4].forEach((value, i) => expect(x[i]).toBeCloseTo(value, 12));
  });

  it('refuses a matrix that is not positive definite', () => {
    const a = emptyRows(Int32Array.of(0, 0));
    addAt(a, 0, 0, 1);
    addAt(a, 1, 0, 2);
    addAt(a, 1, 1, 1);
    expect(() => decompose(a)).toThrow('positive definite');
  });
});
