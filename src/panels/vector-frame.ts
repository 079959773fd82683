/** How plan positions come to lie in a small picture, north up. */
export interface VectorFrame {
  /** Picture units of a metre. */
  readonly perMetre: number;
  readonly toPicture: (at: readonly number[]) => [number, number];
}

/** Fits plan positions into a picture with a free margin. */
export function vectorFrame(positions: readonly (readonly number[])[], width: number, height: number, margin: number): VectorFrame {
  const xs = positions.map(([x]) => x!);
  const ys = positions.map(([, y]) => y!);
  const least = (values: readonly number[]): number => values.reduce((low, value) => Math.min(low, value), Infinity);
  const most = (values: readonly number[]): number => values.reduce((high, value) => Math.max(high, value), -Infinity);
  const [x0, x1, y0, y1] = [least(xs), most(xs), least(ys), most(ys)];
  const perMetre = Math.min((width - 2 * margin) / Math.max(x1 - x0, 0.1), (height - 2 * margin) / Math.max(y1 - y0, 0.1));
  return {
    perMetre,
    toPicture: ([x, y]) => [width / 2 + (x! - (x0 + x1) / 2) * perMetre, height / 2 - (y! - (y0 + y1) / 2) * perMetre],
  };
}
