import type { FitOrder } from '../src/survey/fit-in.ts';
import { serveFit } from '../src/survey/serve-fit.ts';

serveFit(
  (message) => self.postMessage(message),
  (take) => (self.onmessage = (event: MessageEvent<FitOrder>) => take(event.data)),
);
