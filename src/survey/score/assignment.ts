/**
 * Best one-to-one assignment: maximises the sum of gains over pairs with a gain above 0 (Kuhn 1955; the shortest
 * augmenting path form of Jonker & Volgenant 1987).
 *
 * @param gains  Row by row, `rows × columns`, 0 for pairs that may not be joined.
 * @returns For each row its column, or -1.
 */
export function assign(gains: readonly (readonly number[])[], columnCount: number): number[] {
  const rowCount = gains.length;
  // A square problem with empty partners at gain 0.
  const size = Math.max(rowCount, columnCount);
  const cost = (r: number, c: number): number => (r < rowCount && c < columnCount ? -gains[r]![c]! : 0);
  const rowPrice = new Float64Array(size + 1);
  const columnPrice = new Float64Array(size + 1);
  const rowOf = new Int32Array(size + 1);
  const before = new Int32Array(size + 1);
  for (let r = 1; r <= size; r++) {
    rowOf[0] = r;
    let column = 0;
    const least = new Float64Array(size + 1).fill(Infinity);
    const done = new Uint8Array(size + 1);
    do {
      done[column] = 1;
      const row = rowOf[column]!;
      let delta = Infinity;
      let following = 0;
      for (let c = 1; c <= size; c++) {
        if (done[c]) continue;
        const reduced = cost(row - 1, c - 1) - rowPrice[row]! - columnPrice[c]!;
        if (reduced < least[c]!) {
          least[c] = reduced;
          before[c] = column;
        }
        if (least[c]! < delta) {
          delta = least[c]!;
          following = c;
        }
      }
      for (let c = 0; c <= size; c++) {
        if (done[c]) {
          rowPrice[rowOf[c]!]! += delta;
          columnPrice[c]! -= delta;
        } else least[c]! -= delta;
      }
      column = following;
    } while (rowOf[column] !== 0);
    while (column !== 0) {
      const previous = before[column]!;
      rowOf[column] = rowOf[previous]!;
      column = previous;
    }
  }
  const columnOfRow = new Array<number>(rowCount).fill(-1);
  for (let c = 1; c <= columnCount; c++) {
    const r = rowOf[c]! - 1;
    if (r >= 0 && r < rowCount && gains[r]![c - 1]! > 0) columnOfRow[r] = c - 1;
  }
  return columnOfRow;
}
