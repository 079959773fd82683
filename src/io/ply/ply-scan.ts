import { InputError } from '../../units/input-error.ts';
import type { ByteSource } from '../byte-source.ts';
import type { PlyHeader } from './ply-header.ts';
import type { SurfaceLayout } from './ply-layout.ts';
import { fixedRowSize, walkRows, type RowRange } from './ply-rows.ts';
import { SALVAGE_ADVICE } from '../salvage-advice.ts';
import { stripTriangleCount } from '../../geometry/triangle-strip.ts';

/** Where the rows of an element stand, and how many are really there. */
export type ElementRange = RowRange;

/** Rows of one part: some 24 MB of coordinates. */
const ROWS_PER_PART = 1_000_000;

export interface PlyScan {
  /** One per element of the header. */
  readonly ranges: readonly ElementRange[];
  readonly vertexParts: readonly RowRange[];
  readonly triangleCount: number;
  readonly notes: readonly string[];
}

/**
 * Finds where every element's rows stand and whether they are all there. Rows of one size are counted by arithmetic;
 * text and lists are walked.
 *
 * @throws InputError when rows are missing and `salvage` is off.
 */
export async function scanElements(
  source: ByteSource,
  header: PlyHeader,
  vertexElement: number,
  surface: SurfaceLayout | null,
  salvage: boolean,
): Promise<PlyScan> {
  const ranges: ElementRange[] = [];
  const notes: string[] = [];
  let vertexParts: RowRange[] = [];
  let triangleCount = 0;
  let at = header.bodyAt;
  for (const [index, element] of header.elements.entries()) {
    const isSurface = surface?.element === index;
    const rowSize = header.encoding === 'ascii' ? null : fixedRowSize(element);
    let found: { readonly rowCount: number; readonly end: number };
    const begins: number[] = [];
    if (rowSize !== null) {
      const rowCount = rowSize === 0 ? element.count : Math.min(element.count, Math.floor((source.size - at) / rowSize));
      for (let row = 0; row < rowCount; row += ROWS_PER_PART) begins.push(at + row * rowSize);
      found = { rowCount, end: at + rowCount * rowSize };
    } else {
      found = await walkRows(source, header, element, { begin: at, rowCount: element.count }, isSurface ? surface.list : null, (row, { items }, begin) => {
        if (row % ROWS_PER_PART === 0) begins.push(begin);
        if (!isSurface) return;
        triangleCount += surface.kind === 'faces' ? Math.max(0, items.length - 2) : stripTriangleCount(items.values, items.length);
      });
    }
    if (index === vertexElement) {
      vertexParts = begins.map((begin, part) => ({ begin, rowCount: Math.min(ROWS_PER_PART, found.rowCount - part * ROWS_PER_PART) }));
    }
    if (found.rowCount < element.count) {
      const shortage = `element ${element.name}: the header promises ${element.count} rows and the file holds ${found.rowCount} (it ends at byte ${source.size})`;
      if (!salvage) throw new InputError(source.name, `${shortage}. ${SALVAGE_ADVICE}`);
      notes.push(`Cut short: ${shortage}; what is there was read.`);
    }
    ranges.push({ begin: at, rowCount: found.rowCount });
    at = found.end;
  }
  return { ranges, vertexParts, triangleCount, notes };
}
