import type { EdgeKind, RoofRecord } from './record.ts';

/** Letter of each kind of edge on drawings and in tables. */
export const EDGE_LETTER: Readonly<Record<EdgeKind, string>> = {
  eave: 'E',
  ridge: 'R',
  hip: 'H',
  valley: 'V',
  rake: 'K',
  parapet: 'P',
  abutment: 'A',
  unknown: 'U',
};

/**
 * Short names of roof parts as drawings and tables show them: planes `p1`, edges by letter of their kind (`E1`, `R2`),
 * parapets `P1`, obstructions `O1`, low points `D1`. Numbers run within one building, in the order of the record; a plane
 * keeps the number of its id (`b1.p7` is `p7`), so that a name means one plane also after others were merged or split.
 *
 * @returns From id to short name; small features keep one run over the whole record, since they may stand on no building.
 */
export function partNames(record: RoofRecord): Map<string, string> {
  const names = new Map<string, string>();
  for (const building of record.buildings) {
    building.roofPlanes.forEach((plane, i) => names.set(plane.id, `p${plane.id.startsWith(`${building.id}.p`) ? plane.id.slice(building.id.length + 2) : i + 1}`));
    const counts = new Map<string, number>();
    const give = (id: string, letter: string): void => {
      const number = (counts.get(letter) ?? 0) + 1;
      counts.set(letter, number);
      names.set(id, `${letter}${number}`);
    };
    for (const edge of building.edges) give(edge.id, EDGE_LETTER[edge.kind]);
    // Parapets share the letter with parapet edges, and count on from them.
    for (const parapet of building.parapets) give(parapet.id, 'P');
    for (const thing of building.obstructions) give(thing.id, 'O');
    for (const low of building.lowPoints) give(low.id, 'D');
  }
  record.smallFeatures.forEach((feature, i) => names.set(feature.id, `F${i + 1}`));
  record.readings.forEach((reading, i) => names.set(reading.id, `M${i + 1}`));
  return names;
}
