import type { AppliedCorrection, Building, EdgeDefinition, EdgeKind, RoofEdge, RoofRecord } from '../../roof/record.ts';
import { InputError } from '../../units/input-error.ts';
import { measured } from '../../units/measured.ts';
import { changed, insetEdges, isFree } from './inset-edges.ts';

/** What it does to an uncertainty: a part of this name. */
const CONVERSION = 'edge conversion';
/** Overhangs and gutters measure less. [m] */
const MOST_OFFSET = 3;

/** Names of definitions, for a person. */
export const DEFINITION_WORDS: Readonly<Record<EdgeDefinition, string>> = {
  'cover-edge': 'cover edge',
  'upright-face': 'upright face',
  'gutter-lip': 'gutter lip',
  'wall-line': 'wall line',
  other: 'another line',
};

/** Kinds of edge that may end a roof. */
export const CONVERTIBLE_KINDS: readonly EdgeKind[] = ['eave', 'rake', 'ridge', 'parapet', 'unknown'];

/** What a person states: outer edges of some kinds, or only the named ones, lie so far outwards by another definition. */
export interface StatedConversion {
  readonly to: EdgeDefinition;
  /** Outwards in plan; negative towards the roof. [m] */
  readonly offsetM: number;
  /** 95 % half width of the offset. [m] */
  readonly u95M: number;
  readonly kinds: readonly EdgeKind[];
  readonly edges?: readonly string[];
}

/**
 * The correction that brings edges to another definition, to be applied like any other, and taken back like any other.
 *
 * @throws InputError when the offset is not one, or no outer edge is meant.
 */
export function conversionOf(record: RoofRecord, { to, offsetM, u95M, kinds, edges }: StatedConversion, { by, at, why }: Pick<AppliedCorrection, 'by' | 'at' | 'why'>): AppliedCorrection {
  if (!(Math.abs(offsetM) <= MOST_OFFSET) || offsetM === 0) throw new InputError('offset', `is ${offsetM} m, expected up to ${MOST_OFFSET} m to either side, and not 0.`);
  if (!(u95M > 0)) throw new InputError('±', `of the offset is ${u95M} m, expected more than 0: nobody knows it exactly.`);
  const definition = { to, kinds, ...(edges ? { edges } : {}) };
  if (!record.buildings.some((building) => building.edges.some((edge) => isMeant(edge, definition)))) throw new InputError('edges', `none of ${edges?.join(', ') ?? kinds.join(', ')} ends a roof.`);
  return { kind: 'edge-definition', amount: offsetM, u95: u95M, definition, about: [0, 0, 0], readings: [], by, at, why };
}

const isMeant = (edge: RoofEdge, { kinds, edges }: NonNullable<AppliedCorrection['definition']>): boolean =>
  isFree(edge) && kinds.includes(edge.kind) && (edges?.includes(edge.id) ?? true);

/**
 * A building with its edges at another definition: corners move with them, ridges and hips run on to meet them, areas and
 * lengths follow with the doubt of the offset as a part of its own.
 *
 * @throws InputError when an outline would cross itself.
 */
export function convertEdges(building: Building, { amount, u95, definition, by, why }: AppliedCorrection): Building {
  const meant = new Set(building.edges.filter((edge) => isMeant(edge, definition!)).map(({ id }) => id));
  if (meant.size === 0) return building;
  const moved = insetEdges(building, -amount!, u95, { moves: ({ id }) => meant.has(id), part: CONVERSION });
  return { ...moved, edges: moved.edges.map((edge) => (meant.has(edge.id) ? calledOtherwise(edge, definition!.to, amount!, u95, { by, why }) : edge)) };
}

function calledOtherwise(edge: RoofEdge, to: EdgeDefinition, offset: number, u95: number, who: Pick<AppliedCorrection, 'by' | 'why'>): RoofEdge {
  const doubt = { name: CONVERSION, u95 };
  return {
    ...edge,
    measuredAs: to,
    convertedFrom: { measuredAs: edge.convertedFrom?.measuredAs ?? edge.measuredAs ?? 'cover-edge', offsetM: measured((edge.convertedFrom?.offsetM.value ?? 0) + offset, [doubt]), ...who },
    ...(edge.positionM ? { positionM: changed(edge.positionM, 0, doubt) } : {}),
  };
}
