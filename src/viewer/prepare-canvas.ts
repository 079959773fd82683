import type { Projection } from './projection.ts';

/** Fits a canvas to the picture and the screen's pixels, and empties it. */
export function prepareCanvas(canvas: HTMLCanvasElement, context: CanvasRenderingContext2D, { width, height }: Projection): void {
  const ratio = Math.min(3, window.devicePixelRatio);
  const [wide, high] = [Math.round(width * ratio), Math.round(height * ratio)];
  if (canvas.width !== wide || canvas.height !== high) [canvas.width, canvas.height] = [wide, high];
  context.reset();
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
}

/**
 * The pen of a canvas, kept off the graphics card: Chromium 156 was seen to leave standing there what had been drawn
 * through a clip, however it was cleared.
 */
export const penOf = (canvas: HTMLCanvasElement): CanvasRenderingContext2D => canvas.getContext('2d', { willReadFrequently: true })!;
