import { dot as dotProduct, type Vector3 } from '../../geometry/vector.ts';
import type { PlaneGrid } from '../../layout/shade-grid.ts';
import type { Pen } from './pen.ts';

/** Coloured cells on one roof plane: one pixel of `image` a cell, the lowest row at the bottom. */
export interface ShadeImage {
  readonly image: HTMLCanvasElement;
  readonly grid: PlaneGrid;
  readonly outline: readonly Vector3[];
  readonly holes: readonly (readonly Vector3[])[];
}

/**
 * Paints cells of a grid, each in the colour of its class. A class without colour leaves the cell open.
 *
 * @param classes  One for each cell that counts.
 */
export function shadeCanvas(grid: PlaneGrid, classes: Uint8Array, colours: readonly (string | null)[]): HTMLCanvasElement {
  const canvas = document.createElement('canvas');
  canvas.width = grid.columns;
  canvas.height = grid.rows;
  const context = canvas.getContext('2d')!;
  const pixels = context.createImageData(grid.columns, grid.rows);
  const values = colours.map((colour) => (colour === null ? null : [1, 3, 5].map((at) => Number.parseInt(colour.slice(at, at + 2), 16))));
  grid.cells.forEach((number, i) => {
    const value = values[classes[i]!];
    if (!value) return;
    const row = grid.rows - 1 - Math.floor(number / grid.columns);
    pixels.data.set([value[0]!, value[1]!, value[2]!, 255], (row * grid.columns + (number % grid.columns)) * 4);
  });
  context.putImageData(pixels, 0, 0);
  return canvas;
}

/** Lays the pictures on their planes, farthest first; all views keep parallels parallel, so each is one affine map. */
export function drawShade(pen: Pen, images: readonly ShadeImage[]): void {
  const { context, view } = pen;
  const depth = ({ grid }: ShadeImage): number => dotProduct(grid.corner, view.toward);
  for (const { image, grid, outline, holes } of images.toSorted((a, b) => depth(a) - depth(b))) {
    if (dotProduct(grid.normal, view.toward) <= 0.02) continue;
    const at = (columns: number, rows: number) => pen.at([0, 1, 2].map((i) => grid.corner[i]! + columns * grid.across[i]! + rows * grid.up[i]!) as unknown as Vector3);
    const [x0, y0] = at(0, grid.rows);
    const [x1, y1] = at(grid.columns, grid.rows);
    const [x2, y2] = at(0, 0);
    context.save();
    context.beginPath();
    for (const ring of [outline, ...holes]) {
      ring.map((corner) => pen.at(corner)).forEach(([x, y], i) => (i === 0 ? context.moveTo(x, y) : context.lineTo(x, y)));
      context.closePath();
    }
    context.clip('evenodd');
    context.transform((x1 - x0) / grid.columns, (y1 - y0) / grid.columns, (x2 - x0) / grid.rows, (y2 - y0) / grid.rows, x0, y0);
    context.imageSmoothingEnabled = false;
    context.globalAlpha = 0.85;
    context.drawImage(image, 0, 0);
    context.restore();
  }
}
