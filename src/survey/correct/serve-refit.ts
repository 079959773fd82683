import type { LabelledCloudCell } from '../../find/remeasure-building.ts';
import { crossingError } from '../crossed-error.ts';
import { buffersOf } from '../transferables.ts';
import { measureParapet } from './mark-parapet.ts';
import { refitBuilding } from './refit-building.ts';
import type { RefitAnswer, RefitMessage } from './refit-in.ts';

/** Runs in a worker: the cells of one building, then one order, one answer. */
export function serveRefit(post: (message: RefitAnswer, transfer: ArrayBuffer[]) => void, onMessage: (take: (message: RefitMessage) => void) => void): void {
  const cells: LabelledCloudCell[] = [];
  onMessage((message) => {
    if (message.kind === 'cell') return void cells.push(message.cell);
    const answer = answerTo(message, cells);
    post(answer, buffersOf(answer));
  });
}

function answerTo(message: Exclude<RefitMessage, { kind: 'cell' }>, cells: readonly LabelledCloudCell[]): RefitAnswer {
  try {
    if (message.kind === 'refit') return { kind: 'refit', refit: refitBuilding(message.order, cells) };
    return { kind: 'parapet', parapet: measureParapet(message.order, cells, message.path) };
  } catch (error) {
    return { kind: 'failed', error: crossingError(error) };
  }
}
