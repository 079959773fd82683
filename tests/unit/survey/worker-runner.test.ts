import { describe, expect, it } from 'vitest';
import type { AnswerMessage, TaskMessage } from '../../../src/survey/task-messages.ts';
import { CancelledError, runInOrder } from '../../../src/survey/task-runner.ts';
import { workerRunner, type WorkerPort } from '../../../src/survey/worker-runner.ts';
import { InputError } from '../../../src/units/input-error.ts';

/** A worker by hand: the test answers when and how it likes. */
class HandPort implements WorkerPort {
  sent: TaskMessage[] = [];
  ended = false;
  answer: (message: AnswerMessage) => void = () => undefined;
  die: (why: string) => void = () => undefined;
  post = (message: TaskMessage): void => void this.sent.push(message);
  onMessage = (take: (message: AnswerMessage) => void): void => void (this.answer = take);
  onDeath = (take: (why: string) => void): void => void (this.die = take);
  end = (): void => void (this.ended = true);
  done(output: unknown): void {
    this.answer({ id: this.sent.at(-1)!.id, kind: 'done', output });
  }
}

function bench(width: number) {
  const ports: HandPort[] = [];
  const runner = workerRunner(() => {
    const port = new HandPort();
    ports.push(port);
    return port;
  }, width);
  return { ports, runner };
}

const FILE = { file: { name: 'a.las', where: new Uint8Array() } };

describe('worker runner', () => {
  it('starts a worker when it is needed and uses it again', async () => {
    const { ports, runner } = bench(2);
    expect(ports).toHaveLength(0);
    const first = runner.run('hash-file', FILE);
    ports[0]!.done('one');
    expect(await first).toBe('one');
    const second = runner.run('hash-file', FILE);
    ports[0]!.done('two');
    expect(await second).toBe('two');
    expect(ports).toHaveLength(1);
  });

  it('never has more under way than its width', () => {
    const { ports, runner } = bench(2);
    for (let i = 0; i < 5; i++) void runner.run('hash-file', FILE).catch(() => undefined);
    expect(ports).toHaveLength(2);
    expect(ports.map((port) => port.sent.length)).toEqual([1, 1]);
    runner.close();
  });

  it('throws a worker away after an error, and brings the error across with its kind', async () => {
    const { ports, runner } = bench(1);
    const failing = runner.run('hash-file', FILE);
    ports[0]!.answer({ id: ports[0]!.sent[0]!.id, kind: 'failed', error: { kind: 'input', subject: 'a.las', message: 'is empty.', stack: '' } });
    await expect(failing).rejects.toEqual(new InputError('a.las', 'is empty.'));
    expect(ports[0]!.ended).toBe(true);
    const next = runner.run('hash-file', FILE);
    ports[1]!.done('fresh');
    expect(await next).toBe('fresh');
  });

  it('tells of a worker that died', async () => {
    const { ports, runner } = bench(1);
    const lost = runner.run('hash-file', FILE);
    ports[0]!.die('out of memory');
    await expect(lost).rejects.toThrow('out of memory');
  });

  it('cancels what runs and what waits', async () => {
    const { ports, runner } = bench(1);
    const stop = new AbortController();
    const running = runner.run('hash-file', FILE, { signal: stop.signal });
    const waiting = runner.run('hash-file', FILE, { signal: stop.signal });
    stop.abort();
    await expect(running).rejects.toBeInstanceOf(CancelledError);
    await expect(waiting).rejects.toBeInstanceOf(CancelledError);
    expect(ports[0]!.ended).toBe(true);
    await expect(runner.run('hash-file', FILE, { signal: stop.signal })).rejects.toBeInstanceOf(CancelledError);
  });

  it('keeps answers in the order of the inputs', async () => {
    const { ports, runner } = bench(2);
    const answers: string[] = [];
    const all = runInOrder(runner, 'hash-file', 3, () => ({ input: FILE }), (answer, index) => (answers[index] = answer));
    ports[1]!.done('b');
    await Promise.resolve();
    ports[0]!.done('a');
    await new Promise((settle) => setTimeout(settle));
    for (const port of ports) if (port.sent.length === 2) port.done('c');
    await all;
    expect(answers).toEqual(['a', 'b', 'c']);
  });
});
