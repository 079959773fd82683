import { openDB, type DBSchema, type IDBPDatabase } from 'idb';
import type { SavedSurvey } from '../survey/saved-survey.ts';

/** A survey in the list of those kept on this machine. */
export interface KeptSurvey {
  readonly id: string;
  readonly saved: SavedSurvey;
}

interface Keeping extends DBSchema {
  surveys: { key: string; value: KeptSurvey };
  files: { key: string; value: { readonly id: string; readonly files: readonly File[] } };
  choices: { key: string; value: unknown };
}

/**
 * Keeps surveys in the browser's own database: the record and every step after each change, the files once.
 * Everything that was shown as saved is there after the page is closed or the browser dies.
 */
export class SurveyKeeping {
  private constructor(private readonly database: IDBPDatabase<Keeping>) {}

  /** @returns null where the browser offers no storage (a private window may refuse it). */
  static async open(): Promise<SurveyKeeping | null> {
    try {
      const database = await openDB<Keeping>('roofdatum', 1, {
        upgrade(fresh) {
          fresh.createObjectStore('surveys', { keyPath: 'id' });
          fresh.createObjectStore('files', { keyPath: 'id' });
          fresh.createObjectStore('choices');
        },
      });
      return new SurveyKeeping(database);
    } catch {
      return null;
    }
  }

  async save(survey: KeptSurvey): Promise<void> {
    const transaction = this.database.transaction('surveys', 'readwrite', { durability: 'strict' });
    await transaction.store.put({ ...survey, saved: { ...survey.saved, base: textOf(survey.saved.base) } });
    await transaction.done;
  }

  async keepFiles(id: string, files: readonly File[]): Promise<void> {
    await this.database.put('files', { id, files });
  }

  async filesOf(id: string): Promise<readonly File[]> {
    return (await this.database.get('files', id))?.files ?? [];
  }

  /** One survey by its id. */
  async find(id: string): Promise<KeptSurvey | undefined> {
    return this.database.get('surveys', id);
  }

  /** Newest first. */
  async list(): Promise<readonly KeptSurvey[]> {
    const all = await this.database.getAll('surveys');
    return all.sort((a, b) => b.saved.savedAt.localeCompare(a.saved.savedAt));
  }

  async remove(id: string): Promise<void> {
    const transaction = this.database.transaction(['surveys', 'files'], 'readwrite');
    await Promise.all([transaction.objectStore('surveys').delete(id), transaction.objectStore('files').delete(id), transaction.done]);
  }

  async choose(key: string, value: unknown): Promise<void> {
    await this.database.put('choices', value, key);
  }

  async chosen(key: string): Promise<unknown> {
    return this.database.get('choices', key);
  }
}

/** Texts of records by the record, which stays the same from step to step. */
const texts = new WeakMap<object, string>();

/** A record as text: it is written again with every step, and a text is copied at once where a tree of objects is not. */
function textOf(base: unknown): unknown {
  if (typeof base !== 'object' || base === null) return base;
  const text = texts.get(base) ?? JSON.stringify(base);
  texts.set(base, text);
  return text;
}
