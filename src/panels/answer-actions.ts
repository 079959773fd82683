import { batch, signal } from '@preact/signals';
import { add } from '../geometry/vector.ts';
import type { HandoverKind } from '../handover/handover-kind.ts';
import { readTapeList, writeTapeList } from '../io/tape-list.ts';
import type { RecordPick } from '../roof/record.ts';
import type { TapeReading } from '../site/tape-reading.ts';
import type { OfferedCorrection } from '../survey/correct/apply-correction.ts';
import { measureStep } from '../survey/measure/measure-step.ts';
import { DEFAULT_TOLERANCE } from '../survey/tape/check-tape.ts';
import { lengthUnit, smallUnit } from '../units/unit-in-use.ts';
import { download, fileName } from './download.ts';
import type { Engine } from './engine.ts';
import { tapeReadingsOf, typedReading, type Tapeable, type TypedUse } from './fields.ts';
import { Journal } from './journal.ts';
import type { SurveyKeeping } from './keeping.ts';
import { count } from './questions.ts';
import type { Store } from './store.ts';

/** Answers questions 5 to 7: tape, module places, files for others. */
export class AnswerActions extends Journal {
  /** Reading whose place is being shown in the drawing. */
  readonly placing = signal<string | null>(null);
  /** What the last list that was opened held and could not be read, one sentence each. */
  readonly leftOut = signal<{ readonly file: string; readonly faults: readonly string[] } | null>(null);

  constructor(store: Store, keeping: SurveyKeeping | null, protected readonly engine: Engine) {
    super(store, keeping);
  }

  /** Enters what the tape said, and checks all readings again. @returns Whether it was understood. */
  enterTape(what: Tapeable, text: string, use: TypedUse): boolean {
    const { history, record, initials } = this.store;
    if (!record.value) return false;
    const so = tapeReadingsOf(history.value);
    try {
      const number = 1 + so.reduce((most, { id }) => Math.max(most, Number(/^T(\d+)$/.exec(id)?.[1] ?? 0)), 0);
      const reading = typedReading(what, text, number, initials.value, new Date().toISOString(), record.value.frame.origin, use, lengthUnit(this.store.units.value));
      this.checkTape(`enter tape ${reading.id}`, [...so, reading]);
      if (reading.ends.length === 0) this.showTapePlace(reading.id);
      return true;
    } catch (error) {
      this.fail(error);
      return false;
    }
  }

  /** Leads to the place of a reading: the next click or two in the drawing say where it was taken. */
  showTapePlace(id: string): void {
    const reading = tapeReadingsOf(this.store.history.value).find((each) => each.id === id);
    if (!reading) return;
    const single = reading.kind === 'pitch' || reading.kind === 'height-above-roof';
    batch(() => {
      this.store.tool.value = 'measure';
      this.store.measure.value = measureStep(this.store.measure.value, { kind: 'start', tool: single ? 'height-above-ground' : 'distance' }).state;
      this.placing.value = id;
    });
    this.say(single ? 'Click where it was read. Esc leaves it for later.' : 'Click its two ends; corners and edges are snapped to. Esc leaves it for later.', `${id}:`);
  }

  /** Takes the clicked ends of the reading that is being placed. @returns False when none is. */
  protected takeTapePlace(picks: readonly RecordPick[]): boolean {
    const { record, history, tool, measure, names } = this.store;
    const id = this.placing.value;
    if (id === null || !record.value) return false;
    batch(() => ([this.placing.value, tool.value, measure.value] = [null, 'none', { name: 'idle' }]));
    const { origin } = record.value.frame;
    const where = picks.map(({ of, landedOn }) => (of === null ? landedOn : (names.value.get(of) ?? of))).join(' to ');
    const readings = tapeReadingsOf(history.value).map((reading) => (reading.id === id ? { ...reading, ends: picks.map(({ at }) => add(at, origin)), note: reading.note || where } : reading));
    this.checkTape(`place of tape ${id}`, readings);
    return true;
  }

  /** Hands all readings over as a list that the command line reads as well. */
  saveTapeList(): void {
    const name = `${fileName(this.store.surveyName.value)}-tape.csv`;
    download(name, 'text/csv', writeTapeList(tapeReadingsOf(this.store.history.value)));
    this.say(`${name}.`, 'Saved:');
  }

  /** How far a reading may be off, typed in millimetres. */
  setTapeTolerance(text: string): void {
    const { word, metres } = smallUnit(this.store.units.value);
    const typed = Number(text.replace(',', '.'));
    const toleranceM = Number((typed * metres).toPrecision(12));
    if (!(toleranceM > 0 && toleranceM <= 1)) return this.say(`"${text}" is no tolerance; write ${word === 'in' ? 'inches, for example 1.2' : 'millimetres, for example 30'}.`);
    this.checkTape(`tolerance ${typed} ${word}`, tapeReadingsOf(this.store.history.value), toleranceM);
  }

  /** Corrects the whole model by what the readings show; the record keeps what was and why. */
  applyCorrection({ says, ...what }: OfferedCorrection, why: string): void {
    const before = this.store.record.value?.tape;
    if (!before) return;
    const reason = why.trim() === '' ? says : why.trim();
    const decision = this.decision('correct', 'q5', { before: { verdict: before.verdict, rmseM: before.rmseM }, after: { [what.kind]: what.amount ?? what.riseDeg ?? what.shiftM, u95: what.u95 }, why: reason });
    try {
      this.do(`correct ${what.kind.replace('-', ' ')} by tape`, {
        kind: 'several',
        commands: [{ kind: 'apply-correction', correction: { ...what, by: decision.by, at: decision.at, why: reason } }, { kind: 'add-decision', decision }],
      });
      const leftOut = this.store.record.value?.corrections?.at(-1)?.leftOut ?? [];
      this.say(`Every number was derived again, and the readings were checked again.${leftOut.length > 0 ? ` ${leftOut.join(', ')} stay: their outlines would cross.` : ''} Undo brings all back.`, 'Corrected.');
    } catch (error) {
      this.fail(error);
    }
  }

  /** Takes the readings of a file, after those that stand already. */
  async openTapeList(file: File): Promise<void> {
    try {
      const { readings, faults: rowFaults } = readTapeList(await file.text(), file.name);
      const so = tapeReadingsOf(this.store.history.value);
      const standing = new Set(so.map(({ id }) => id));
      const faults = [...rowFaults, ...readings.filter(({ id }) => standing.has(id)).map(({ id }) => `${id} stands here already`)];
      this.checkTape(`tape list ${file.name}`, [...so, ...readings.filter(({ id }) => !standing.has(id))]);
      this.leftOut.value = faults.length > 0 ? { file: file.name, faults } : null;
      if (faults.length > 0) this.say(`${faults[0]}.${faults.length > 1 ? ` ${faults.length - 1} more stand under question 5.` : ''} The other rows were kept.`, `${file.name}:`);
    } catch (error) {
      this.fail(error);
    }
  }

  removeTape(id: string): void {
    const kept = tapeReadingsOf(this.store.history.value).filter((reading) => reading.id !== id);
    this.checkTape(`take tape ${id} away`, kept);
  }

  protected checkTape(title: string, readings: readonly TapeReading[], toleranceM = this.store.record.value?.tape?.toleranceM ?? DEFAULT_TOLERANCE): void {
    try {
      this.do(title, { kind: 'check-tape', readings, toleranceM });
    } catch (error) {
      return this.fail(error);
    }
    const tape = this.store.record.value?.tape;
    this.say(tape ? `${count(tape.readings.length, 'reading')}: ${tape.verdict}.` : 'No tape reading is left.', 'Tape');
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
