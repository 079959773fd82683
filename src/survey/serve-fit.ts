import { fitOptionsFromFlags } from '../layout/fit-flags.ts';
import { fitRecord } from '../layout/fit-record.ts';
import { recordPlace } from '../layout/record-place.ts';
import type { RoofRecord } from '../roof/record.ts';
import { crossingError } from './crossed-error.ts';
import type { FitAnswer, FitOrder } from './fit-in.ts';

/** Runs in a worker: one order, one answer. */
export function serveFit(post: (message: FitAnswer) => void, onOrder: (take: (order: FitOrder) => void) => void): void {
  onOrder(({ record, flags }) => void answer(record, flags, post));
}

async function answer(record: RoofRecord, flags: FitOrder['flags'], post: (message: FitAnswer) => void): Promise<void> {
  try {
    const source = { text: (name: string) => flags[name], has: (name: string) => name in flags };
    const options = fitOptionsFromFlags(source, { rules: null, monthly: null }, await recordPlace(record));
    const { keepClear, usable, layout } = fitRecord(record, options);
    post({ kind: 'done', fitted: { keepClear, usable, layout } });
  } catch (error) {
    post({ kind: 'failed', error: crossingError(error) });
  }
}
