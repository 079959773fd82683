/**
 * The element that would stand at a place if the values were sorted, found without sorting them (Hoare 1961, quickselect
 * with the median of three as pivot). Afterwards what stands before the place is not larger and what stands behind it is
 * not smaller, so that a second search may be limited to one side.
 *
 * @param values  No NaN. Their order is changed.
 * @param place  From `first` to `last`.
 */
export function selectAt(values: Float64Array, place: number, first = 0, last = values.length - 1): number {
  let [low, high] = [first, last];
  while (low < high) {
    const pivot = middleOf(values[low]!, values[(low + high) >> 1]!, values[high]!);
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i > j) break;
      const value = values[i]!;
      values[i++] = values[j]!;
      values[j--] = value;
    }
    if (place <= j) high = j;
    else if (place >= i) low = i;
    else break;
  }
  return values[place]!;
}

/** The middle one of the values, of two middle ones the larger; 0 of none. No NaN among them. */
export const upperMedian = (values: readonly number[]): number => (values.length === 0 ? 0 : selectAt(Float64Array.from(values), values.length >> 1));

/** Mean of the values not farther than so much from their median; 0 of none. No NaN among them. */
export function meanNearMiddle(values: readonly number[], reach: number): number {
  const middle = upperMedian(values);
  let [sum, count] = [0, 0];
  for (const value of values) {
    if (Math.abs(value - middle) > reach) continue;
    sum += value - middle;
    count++;
  }
  return count > 0 ? middle + sum / count : middle;
}

const middleOf = (a: number, b: number, c: number): number => Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
