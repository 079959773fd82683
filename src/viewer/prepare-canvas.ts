import type { Projection } from './projection.ts';

/** Fits a canvas to the picture and the screen's pixels, and clears it. */
export function prepareCanvas(canvas: HTMLCanvasElement, context: CanvasRenderingContext2D, { width, height }: Projection): void {
  const ratio = Math.min(3, window.devicePixelRatio);
  const [wide, high] = [Math.round(width * ratio), Math.round(height * ratio)];
  if (canvas.width !== wide || canvas.height !== high) [canvas.width, canvas.height] = [wide, high];
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.clearRect(0, 0, width, height);
}
