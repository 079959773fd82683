import type { ByteSource } from '../byte-source.ts';
import type { PlyHeader } from './ply-header.ts';
import type { VertexLayout } from './ply-layout.ts';
import { walkRows, type RowRange } from './ply-rows.ts';

/** Factors from stored numbers to colour shares 0…255 and intensities 0…65535. */
export interface PlyScales {
  readonly colour: number;
  readonly intensity: number;
}

const ROWS_LOOKED_AT = 4096;

/**
 * Floats may run from 0 to 1 or further, and the header does not say; the first rows tell, once for the whole file so
 * that its parts agree.
 */
export async function guessScales(source: ByteSource, header: PlyHeader, layout: VertexLayout, range: RowRange): Promise<PlyScales> {
  let largestColour = 0;
  let largestIntensity = 0;
  const asksColour = layout.colour !== null && layout.colourFactor === null;
  if (asksColour || layout.intensityIsFloat) {
    const first = { begin: range.begin, rowCount: Math.min(ROWS_LOOKED_AT, range.rowCount) };
    await walkRows(source, header, header.elements[layout.element]!, first, null, (_, { values }) => {
      for (const index of layout.colour ?? []) if (values[index]! > largestColour) largestColour = values[index]!;
      if (layout.intensity >= 0 && values[layout.intensity]! > largestIntensity) largestIntensity = values[layout.intensity]!;
    });
  }
  return {
    colour: layout.colourFactor ?? (largestColour > 1 ? 1 : 255),
    intensity: layout.intensityIsFloat && largestIntensity <= 1 ? 65535 : 1,
  };
}
