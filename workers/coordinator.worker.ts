import { serveSurveys } from '../src/survey/coordinator.ts';
import type { ToCoordinator } from '../src/survey/coordinator-messages.ts';

serveSurveys({
  post: (message, transfer) => self.postMessage(message, { transfer }),
  onMessage: (take) => (self.onmessage = (event: MessageEvent<ToCoordinator>) => take(event.data)),
});
