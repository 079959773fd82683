import type { Vector3 } from '../geometry/vector.ts';
import type { EdgeDefinition, EdgeKind } from './roof-edge.ts';

export type CorrectionKind = 'scale' | 'edge' | 'vertical-scale' | 'shift' | 'tilt' | 'turn' | 'edge-definition';

/** A correction of the whole model, with what it rests on. */
export interface AppliedCorrection {
  readonly kind: CorrectionKind;
  /** Share by which ours was too long (of heights alone for `vertical-scale`); metres by which a distance between two edges was; degrees by which bearings were too large for `turn`; metres outwards in plan for `edge-definition`; null for a shift and a tilt. */
  readonly amount: number | null;
  /** What outer edges of some kinds were brought to; only the named ones where there are names. */
  readonly definition?: { readonly to: EdgeDefinition; readonly kinds: readonly EdgeKind[]; readonly edges?: readonly string[] };
  /** East, north, up by which ours lay off; for a shift only. */
  readonly shiftM?: Vector3;
  /** By how much it rose too steeply to the north and to the east; for a tilt only. */
  readonly riseDeg?: readonly [north: number, east: number];
  /** 95 % half widths of the two. */
  readonly riseU95Deg?: readonly [north: number, east: number];
  /** 95 % half width of the amount, or the largest one of the shift or the tilt. */
  readonly u95: number;
  /** Fixed point of a stretch or a turn. */
  readonly about: Vector3;
  /** Ids of the readings it was worked out from. */
  readonly readings: readonly string[];
  /** Buildings whose edges could not move without their outlines crossing; they are as they were. */
  readonly leftOut?: readonly string[];
  readonly by: string;
  readonly at: string;
  readonly why: string;
}
