import type { Building } from '../../roof/record.ts';

/**
 * Leaves out the rules that sides were drawn to, of one plane or one edge, or takes them again. What was measured stays.
 *
 * @throws RangeError when the building has no such part, or it was drawn to no rule.
 */
export function leaveRules(building: Building, id: string, off: boolean): Building {
  const switched = <T extends { readonly id: string; readonly regular?: { readonly off?: boolean } }>(parts: readonly T[]): T[] | null => {
    const at = parts.findIndex((part) => part.id === id);
    if (at < 0) return null;
    const part = parts[at]!;
    if (!part.regular) throw new RangeError(`${id} is drawn to no rule.`);
    const { off: _before, ...regular } = part.regular;
    return parts.with(at, { ...part, regular: off ? { ...regular, off } : regular });
  };
  const roofPlanes = switched(building.roofPlanes);
  if (roofPlanes) return { ...building, roofPlanes };
  const edges = switched(building.edges);
  if (edges) return { ...building, edges };
  throw new RangeError(`No plane or edge ${id}.`);
}
