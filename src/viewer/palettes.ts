/** Viridis (van der Walt and Smith 2015) from a quarter up to its end in nine steps: the darkest part would not show on brown. */
export const HEIGHT_STEPS = ['#3b528b', '#31688e', '#287d8e', '#21918c', '#28ae80', '#5ec962', '#9bd93c', '#c8e020', '#fde725'] as const;

/** ColorBrewer PuOr, 7 classes: above the plane orange, below it purple. */
export const RESIDUAL_STEPS = ['#542788', '#998ec3', '#d8daeb', '#f7f7f7', '#fee0b6', '#f1a340', '#b35806'] as const;

/** Okabe and Ito 2008, without black. */
export const PLANE_COLOURS = ['#56b4e9', '#e69f00', '#009e73', '#cc79a7', '#0072b2', '#d55e00', '#f0e442'] as const;

/** Colour of the i-th class that occurs in a cloud. */
export const classColour = (i: number): string => PLANE_COLOURS[i % PLANE_COLOURS.length]!;

/** Red, green, blue of a written colour, 0 to 1. */
export function rgb(hex: string): [number, number, number] {
  const value = Number.parseInt(hex.slice(1, 7), 16);
  return [(value >> 16) / 255, ((value >> 8) & 255) / 255, (value & 255) / 255];
}

/** Class of a residual: zero in the middle class, one sigma wide; beyond 2.5 sigma the outer ones. */
export function residualClass(residualM: number, sigmaM: number): number {
  const step = Math.round(residualM / Math.max(sigmaM, 1e-9));
  return Math.min(6, Math.max(0, step + 3));
}
