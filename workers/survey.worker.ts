import { portableEnvironment } from '../src/survey/portable-environment.ts';
import { serveTasks } from '../src/survey/serve-tasks.ts';
import type { TaskMessage } from '../src/survey/task-messages.ts';

/** Serves tasks on the port that comes with the first message. */
self.onmessage = ({ data: { port } }: MessageEvent<{ port: MessagePort }>) =>
  serveTasks(
    {
      post: (message, transfer) => port.postMessage(message, transfer),
      onMessage: (take) => (port.onmessage = (event: MessageEvent<TaskMessage>) => take(event.data)),
    },
    portableEnvironment,
  );
