import type { FitOrder } from '../src/panels/fit-in.ts';
import { serveFit } from '../src/panels/serve-fit.ts';

serveFit(
  (message) => self.postMessage(message),
  (take) => (self.onmessage = (event: MessageEvent<FitOrder>) => take(event.data)),
);
