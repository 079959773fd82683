/** A strip ends at a negative vertex number; the next begins after it. */
const isRestart = (vertex: number): boolean => vertex < 0;

export function stripTriangleCount(strip: ArrayLike<number>, length: number): number {
  let count = 0;
  eachStripTriangle(strip, length, () => count++);
  return count;
}

/** Triangles of a run of strips; every second one is turned so that all face one way. Those without area are left out. */
export function eachStripTriangle(strip: ArrayLike<number>, length: number, push: (a: number, b: number, c: number) => void): void {
  for (let start = 0; start < length; ) {
    let end = start;
    while (end < length && !isRestart(strip[end]!)) end++;
    for (let i = start; i + 2 < end; i++) {
      const [a, b, c] = [strip[i]!, strip[i + 1]!, strip[i + 2]!];
      if (a === b || b === c || a === c) continue;
      if ((i - start) % 2 === 0) push(a, b, c);
      else push(b, a, c);
    }
    start = end + 1;
  }
}
