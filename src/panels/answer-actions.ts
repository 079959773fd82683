import type { HandoverKind } from '../handover/handover-kind.ts';
import { readTapeList } from '../io/tape-list.ts';
import type { TapeReading } from '../site/tape-reading.ts';
import { DEFAULT_TOLERANCE } from '../survey/tape/check-tape.ts';
import { download, fileName } from './download.ts';
import type { Engine } from './engine.ts';
import { tapeReadingsOf, typedReading, type Tapeable } from './fields.ts';
import { Journal } from './journal.ts';
import type { SurveyKeeping } from './keeping.ts';
import type { Store } from './store.ts';

/** Answers questions 5 to 7: tape, module places, files for others. */
export class AnswerActions extends Journal {
  constructor(store: Store, keeping: SurveyKeeping | null, protected readonly engine: Engine) {
    super(store, keeping);
  }

  /** Enters what the tape said, and checks all readings again. */
  enterTape(what: Tapeable, text: string): void {
    const { history, record, initials } = this.store;
    if (!record.value) return;
    const so = tapeReadingsOf(history.value);
    try {
      const number = 1 + so.reduce((most, { id }) => Math.max(most, Number(/^T(\d+)$/.exec(id)?.[1] ?? 0)), 0);
      const reading = typedReading(what, text, number, initials.value, new Date().toISOString(), record.value.frame.origin);
      this.checkTape(`enter tape ${reading.id}`, [...so, reading]);
    } catch (error) {
      this.fail(error);
    }
  }

  /** Takes the readings of a file, after those that stand already. */
  async openTapeList(file: File): Promise<void> {
    try {
      const { readings, faults } = readTapeList(await file.text(), file.name);
      this.checkTape(`tape list ${file.name}`, [...tapeReadingsOf(this.store.history.value), ...readings]);
      if (faults.length > 0) this.say(`${faults[0]}. ${faults.length > 1 ? `${faults.length} rows were` : 'The row was'} left out.`, `${file.name}:`);
    } catch (error) {
      this.fail(error);
    }
  }

  removeTape(id: string): void {
    const kept = tapeReadingsOf(this.store.history.value).filter((reading) => reading.id !== id);
    this.checkTape(`take tape ${id} away`, kept);
  }

  protected checkTape(title: string, readings: readonly TapeReading[]): void {
    try {
      this.do(title, { kind: 'check-tape', readings, toleranceM: this.store.record.value?.tape?.toleranceM ?? DEFAULT_TOLERANCE });
    } catch (error) {
      return this.fail(error);
    }
    const tape = this.store.record.value?.tape;
    this.say(tape ? `${tape.readings.length} readings: ${tape.verdict}.` : 'No tape reading is left.', 'Tape');
  }

  /** Keep-clear zones, usable area and module places under the chosen rules, in another thread. */
  async fit(flags: Readonly<Record<string, string>>): Promise<void> {
    const { record, busy } = this.store;
    if (!record.value) return;
    const stop = new AbortController();
    const cancel = (): void => stop.abort();
    const show = (fraction: number): void => void (busy.value = { stage: 'placing modules', fraction, cancel });
    show(0);
    try {
      const asked = record.value;
      const { keepClear, usable, layout } = await this.engine.fit(asked, flags, { signal: stop.signal, onProgress: show });
      this.do('place modules', {
        kind: 'several',
        commands: [{ kind: 'set-part', part: 'keepClear', to: keepClear }, { kind: 'set-part', part: 'usable', to: usable }, { kind: 'set-part', part: 'layout', to: layout }],
      });
      this.say('Local code and a licensed person decide about setbacks and fire access.', layout ? `${layout.count} modules.` : 'Usable area.');
    } catch (error) {
      this.fail(error);
    } finally {
      busy.value = null;
    }
  }

  /** Writes one kind of file and hands it to the browser; the writers are loaded when first needed. */
  async handOver(kind: HandoverKind): Promise<void> {
    const { record, surveyName } = this.store;
    if (!record.value) return;
    try {
      const { handover } = await import('../handover/handover.ts');
      const files = await handover(record.value, [kind], { name: fileName(surveyName.value), site: surveyName.value });
      for (const file of files) download(file.name, file.mediaType, file.bytes);
      this.do(`hand over ${kind}`, { kind: 'add-decision', decision: this.decision('note', 'q7', { after: files.map(({ name }) => name), why: 'handed over' }) });
      this.say(`${files.map(({ name }) => name).join(', ')}.`, 'Handed over:');
    } catch (error) {
      this.fail(error);
    }
  }
}
