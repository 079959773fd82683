import { nodeEnvironment } from '../src/cli/node-environment.ts';
import { threadEnd } from '../src/cli/node-workers.ts';
import { serveTasks } from '../src/survey/serve-tasks.ts';

serveTasks(threadEnd(), nodeEnvironment());
