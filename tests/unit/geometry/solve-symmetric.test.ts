import { describe, expect, it } from 'vitest';
import { addAt, decompose, emptyRows, factorOf, inverseOf, logDeterminant, solveDecomposed, solveLower, wholeRows } from '../../../src/geometry/solve-symmetric.ts';

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

  // The same example: det = (2 · 1 · 3)² = 36, and its published inverse.
  it('inverts the textbook matrix and tells its determinant', () => {
    const a = wholeRows(3);
    full.forEach((row, i) => row.forEach((value, j) => addAt(a, i, j, value)));
    const factor = factorOf(a)!;
    expect(logDeterminant(factor)).toBeCloseTo(Math.log(36), 12);
    expect([...solveLower(factor, [2, 7, 0])]).toEqual([1, 1, 1]);
    const inverse = inverseOf(factor);
    [1777 / 36, -122 / 9, 19 / 9, -122 / 9, 34 / 9, -5 / 9, 19 / 9, -5 / 9, 1 / 9].forEach((value, i) => expect(inverse[i]).toBeCloseTo(value, 9));
  });

  it('sums the same whether rows begin early or late: a chain of nine, its zeros kept or left out', () => {
    const n = 9;
    const chain = (first: Int32Array) => {
      const a = emptyRows(first);
      for (let i = 0; i < n; i++) for (let j = Math.max(0, i - 2); j <= i; j++) addAt(a, i, j, i === j ? 5 : 1 / (1 + i + j));
      return solveDecomposed(factorOf(a)!, Float64Array.from({ length: n }, (_, i) => i));
    };
    const early = chain(new Int32Array(n));
    chain(Int32Array.from({ length: n }, (_, i) => Math.max(0, i - 2))).forEach((value, i) => expect(value).toBeCloseTo(early[i]!, 12));
  });

  it('says nothing of a matrix that is not positive definite', () => {
    const a = wholeRows(2);
    [[1], [2, 1]].forEach((row, i) => row.forEach((value, j) => addAt(a, i, j, value)));
    expect(factorOf(a)).toBeNull();
  });
});
