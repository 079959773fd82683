import { portableEnvironment } from '../src/survey/portable-environment.ts';
import { serveTasks } from '../src/survey/serve-tasks.ts';

serveTasks(
  {
    post: (message, transfer) => self.postMessage(message, { transfer }),
    onMessage: (take) => self.addEventListener('message', (event) => take(event.data)),
  },
  portableEnvironment,
);
