import { isKnown, type Measured } from '../../units/measured.ts';
import type { IntervalSeen, Quantity, Score } from './score.ts';

/** Collects stated intervals with the truth beside them. */
export class IntervalList {
  readonly seen: IntervalSeen[] = [];
  readonly unknowns: Score['unknowns'][number][] = [];

  constructor(readonly scene: string) {}

  /** @returns ours minus truth, or null when the record declares the number unknown. */
  add(quantity: Quantity, about: string, ours: Measured, truth: number, errorOf = (a: number, b: number) => a - b): number | null {
    if (!isKnown(ours)) {
      this.unknowns.push({ quantity, about, why: ours.why });
      return null;
    }
    const error = errorOf(ours.value, truth);
    this.seen.push({ quantity, about, scene: this.scene, error, u95: ours.u95 });
    return error;
  }
}
