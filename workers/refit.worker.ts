import type { RefitMessage } from '../src/survey/correct/refit-in.ts';
import { serveRefit } from '../src/survey/correct/serve-refit.ts';

serveRefit(
  (message, transfer) => self.postMessage(message, { transfer }),
  (take) => (self.onmessage = (event: MessageEvent<RefitMessage>) => take(event.data)),
);
