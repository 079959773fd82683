import { isKnown, type Measured, type MeasuredValue } from '../../units/measured.ts';
import type { IntervalSeen, Quantity, Score } from './score.ts';

/** Shares of an uncertainty that no cloud tells of itself. */
const OF_CONTROL: ReadonlySet<string> = new Set(['scale', 'tilt', 'north']);

function ownU95({ u95, parts }: MeasuredValue): number {
  return parts ? Math.hypot(...parts.filter(({ name }) => !OF_CONTROL.has(name)).map((part) => part.u95)) : u95;
}

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
    this.seen.push({ quantity, about, scene: this.scene, error, u95: ours.u95, ownU95: ownU95(ours) });
    return error;
  }
}
