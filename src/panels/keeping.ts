import { openDB, type DBSchema, type IDBPDatabase, type IDBPTransaction } from 'idb';
import type { HistoryStep } from '../survey/history.ts';
import type { SavedSurvey } from '../survey/saved-survey.ts';

/** A survey that is kept on this machine. */
export interface KeptSurvey {
  readonly id: string;
  readonly saved: SavedSurvey;
}

/** A survey in the list of those kept on this machine. */
export interface KeptRow {
  readonly id: string;
  readonly name: string;
  readonly savedAt: string;
  readonly done: number;
  /** How many steps are kept, those taken back among them. */
  readonly steps: number;
}

interface Keeping extends DBSchema {
  surveys: { key: string; value: KeptRow };
  /** The record as it was surveyed, as text: a text is copied at once where a tree of objects is not. */
  bases: { key: string; value: { readonly id: string; readonly text: string } };
  /** Each step by survey and number, as text. */
  steps: { key: [string, number]; value: string };
  files: { key: string; value: { readonly id: string; readonly files: readonly File[] } };
  choices: { key: string; value: unknown };
}

/** What of a survey stands in the database as it is held here. */
interface Written {
  base: unknown;
  steps: readonly HistoryStep[];
}

/**
 * Keeps surveys in the browser's own database: the record and the files once, each step when it is taken. Everything that
 * was shown as saved is there after the page is closed or the browser dies. A save writes what is new and nothing else:
 * a step may hold a whole layout, and there may be hundreds.
 */
export class SurveyKeeping {
  private readonly written = new Map<string, Written>();

  private constructor(private readonly database: IDBPDatabase<Keeping>) {}

  /** @returns null where the browser offers no storage (a private window may refuse it). */
  static async open(): Promise<SurveyKeeping | null> {
    try {
      const database = await openDB<Keeping>('roofdatum', 2, {
        upgrade: async (changed, from, _to, transaction) => {
          const old = from === 1 ? ((await transaction.objectStore('surveys').getAll()) as unknown as readonly KeptSurvey[]) : [];
          if (from < 1) for (const name of ['surveys', 'files'] as const) changed.createObjectStore(name, { keyPath: 'id' });
          if (from < 1) changed.createObjectStore('choices');
          if (from >= 2) return;
          changed.createObjectStore('bases', { keyPath: 'id' });
          changed.createObjectStore('steps');
          // The first form kept a survey whole, in one row.
          for (const survey of old) write(transaction as unknown as Writing, survey, null);
        },
      });
      return new SurveyKeeping(database);
    } catch {
      return null;
    }
  }

  async save(survey: KeptSurvey): Promise<void> {
    const { id, saved } = survey;
    const transaction = this.database.transaction(['surveys', 'bases', 'steps'], 'readwrite', { durability: 'strict' });
    const before = this.written.get(id) ?? null;
    // Known again once it is done: what failed half-way is written whole the next time.
    this.written.delete(id);
    write(transaction, survey, before);
    await transaction.done;
    this.written.set(id, { base: saved.base, steps: saved.steps });
  }

  async keepFiles(id: string, files: readonly File[]): Promise<void> {
    await this.database.put('files', { id, files });
  }

  async filesOf(id: string): Promise<readonly File[]> {
    return (await this.database.get('files', id))?.files ?? [];
  }

  /** One survey by its id; its record as text. */
  async find(id: string): Promise<KeptSurvey | undefined> {
    const transaction = this.database.transaction(['surveys', 'bases', 'steps']);
    const [row, base, steps] = await Promise.all([transaction.objectStore('surveys').get(id), transaction.objectStore('bases').get(id), transaction.objectStore('steps').getAll(stepsOf(id)), transaction.done]);
    if (!row || !base) return undefined;
    const { name, savedAt, done } = row;
    return { id, saved: { version: 1, name, savedAt, done, base: base.text, steps: steps.map((text) => JSON.parse(text) as HistoryStep) } };
  }

  /** How many steps of a survey are kept; null for one that is not. */
  async stepsKept(id: string): Promise<number | null> {
    return (await this.database.get('surveys', id))?.steps ?? null;
  }

  /** Newest first. */
  async list(): Promise<readonly KeptRow[]> {
    const all = await this.database.getAll('surveys');
    return all.sort((a, b) => b.savedAt.localeCompare(a.savedAt));
  }

  async remove(id: string): Promise<void> {
    this.written.delete(id);
    const transaction = this.database.transaction(['surveys', 'bases', 'steps', 'files'], 'readwrite');
    await Promise.all([...(['surveys', 'bases', 'files'] as const).map((name) => transaction.objectStore(name).delete(id)), transaction.objectStore('steps').delete(stepsOf(id)), transaction.done]);
  }

  async choose(key: string, value: unknown): Promise<void> {
    await this.database.put('choices', value, key);
  }

  async chosen(key: string): Promise<unknown> {
    return this.database.get('choices', key);
  }
}

type Writing = Pick<IDBPTransaction<Keeping, ('surveys' | 'bases' | 'steps')[], 'readwrite'>, 'objectStore'>;

/** Puts into the transaction what is not written yet; its own end says whether that went well. */
function write(transaction: Writing, { id, saved: { name, savedAt, done, base, steps } }: KeptSurvey, before: Written | null): void {
  const put = (request: Promise<unknown>): void => void request.catch(() => undefined);
  put(transaction.objectStore('surveys').put({ id, name, savedAt, done, steps: steps.length }));
  if (before?.base !== base || before === null) put(transaction.objectStore('bases').put({ id, text: typeof base === 'string' ? base : JSON.stringify(base) }));
  steps.forEach((step, i) => {
    if (before?.steps[i] !== step) put(transaction.objectStore('steps').put(JSON.stringify(step), [id, i]));
  });
  if (before === null || before.steps.length > steps.length) put(transaction.objectStore('steps').delete(stepsOf(id, steps.length)));
}

/** Keys of the steps of a survey, from a number on. */
const stepsOf = (id: string, from = 0): IDBKeyRange => IDBKeyRange.bound([id, from], [id, Infinity]);
