import type { ToFitting } from '../src/survey/fit-messages.ts';
import { serveFitting } from '../src/survey/serve-fit.ts';

serveFitting({
  post: (message, transfer) => self.postMessage(message, { transfer }),
  onMessage: (take) => (self.onmessage = (event: MessageEvent<ToFitting>) => take(event.data)),
});
