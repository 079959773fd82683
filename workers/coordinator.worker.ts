import { serveSurveys, type ToCoordinator } from '../src/survey/coordinator.ts';

serveSurveys({
  post: (message, transfer) => self.postMessage(message, { transfer }),
  onMessage: (take) => (self.onmessage = (event: MessageEvent<ToCoordinator>) => take(event.data)),
});
