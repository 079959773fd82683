import { editLayout, nearestPlace } from '../layout/edit-layout.ts';
import { fitOptionsFromFlags } from '../layout/fit-flags.ts';
import { checkFitOptions, type FitOptions } from '../layout/fit-options.ts';
import { layoutLight, litSite, type LitSite } from '../layout/layout-light.ts';
import { recordPlace } from '../layout/record-place.ts';
import { refitBuilding, refitWithout } from '../layout/refit-building.ts';
import type { Decision, RoofRecord } from '../roof/record.ts';
import { cellSizeFor, type SurfaceModel } from '../sun/surface-model.ts';
import { SurfaceRaiser } from '../sun/surface-raiser.ts';
import { askedSeats } from './asked-seats.ts';
import { crossingError } from './crossed-error.ts';
import type { Edited, FitQuestion, FitQuestions, FitWishes, FromFitting, Refitted, ToFitting } from './fit-messages.ts';
import { fitRecordOn } from './fit-on.ts';
import { heightsOfCell } from './heights-of-part.ts';
import { shadePicture } from './shade-picture.ts';
import type { TaskRunner } from './task-runner.ts';
import { buffersOf } from './transferables.ts';
import { workerRunner } from './worker-runner.ts';

/** The fitting worker's own channel to the page. */
export interface FittingEnd {
  post(message: FromFitting, transfer: Transferable[]): void;
  onMessage(take: (message: ToFitting) => void): void;
}

/** What the worker holds between questions. */
interface Held {
  /** With what was decided last. */
  record: RoofRecord;
  readonly options: Promise<FitOptions>;
  /** Null without a place or without shade; undefined until it is first needed. */
  lit: LitSite | null | undefined;
}

/** Runs in the fitting worker. */
export function serveFitting(end: FittingEnd): void {
  let raising: SurfaceRaiser | null = null;
  let surface: SurfaceModel | null = null;
  let held: Held | null = null;
  let runner: TaskRunner | null = null;
  const seats = askedSeats((message, transfer) => end.post(message, transfer));

  function raise({ origin, positions }: Extract<ToFitting, { kind: 'cell' }>): void {
    if (!raising) return;
    const { cells, heights } = heightsOfCell(origin, positions, raising.cells);
    raising.add(cells, heights);
  }

  function prepare({ record, wishes, width }: Extract<ToFitting, { kind: 'prepare' }>): void {
    if (raising) surface = raising.finish();
    raising = null;
    runner ??= workerRunner(seats.start, width);
    const options = optionsOf(record, wishes);
    options.catch(() => undefined); // What is wrong with them is told when something is asked.
    held = { record, options, lit: undefined };
  }

  function decided(decisions: readonly Decision[]): void {
    if (held) held.record = { ...held.record, decisions };
  }

  async function answer<Name extends FitQuestion>(kind: Name, id: number, asked: FitQuestions[Name]['asked']): Promise<void> {
    const onProgress = (fraction: number): void => end.post({ kind: 'progress', id, fraction }, []);
    try {
      if (!held || !runner) throw new Error('Nothing was prepared.');
      const options = checkFitOptions(await held.options);
      const found = kind === 'fit' ? await fitted(held.record, options, surface, runner, onProgress)
        : kind === 'shade' ? await shadePicture(held.record, (asked as FitQuestions['shade']['asked']).buildings, options, surface, runner, { onProgress })
        : kind === 'refit' ? refitted(held, options, surface, asked as FitQuestions['refit']['asked'])
        : edited(held, options, surface, asked as FitQuestions['edit']['asked']);
      end.post({ kind: 'done', id, answer: found }, buffersOf(found));
      // The first change by hand shall not wait for the scene.
      if (kind === 'fit') litOf(held, options, surface);
    } catch (error) {
      end.post({ kind: 'failed', id, error: crossingError(error) }, []);
    }
  }

  end.onMessage((message) => {
    if (message.kind === 'no-cloud') [raising, surface] = [null, null];
    else if (message.kind === 'cloud') raising = raiserFor(message);
    else if (message.kind === 'cell') raise(message);
    else if (message.kind === 'prepare') prepare(message);
    else if (message.kind === 'decided') decided(message.decisions);
    else if (message.kind === 'died') seats.died(message.seat, message.why);
    else void answer(message.kind, message.id, message.asked);
  });
}

const raiserFor = ({ bounds: { min, max }, pointSpacingM }: Extract<ToFitting, { kind: 'cloud' }>): SurfaceRaiser =>
  new SurfaceRaiser([min[0], min[1], max[0], max[1]], cellSizeFor(pointSpacingM));

async function optionsOf(record: RoofRecord, { flags, rules, monthly }: FitWishes): Promise<FitOptions> {
  const source = { text: (name: string) => flags[name], has: (name: string) => name in flags };
  return fitOptionsFromFlags(source, { rules, monthly }, await recordPlace(record));
}

async function fitted(record: RoofRecord, options: FitOptions, surface: SurfaceModel | null, runner: TaskRunner, onProgress: (fraction: number) => void): Promise<FitQuestions['fit']['answer']> {
  const { keepClear, usable, layout } = await fitRecordOn(record, options, surface, runner, { onProgress });
  return { keepClear, usable, layout };
}

function litOf(held: Held, options: FitOptions, surface: SurfaceModel | null): LitSite | null {
  if (held.lit === undefined) held.lit = litSite(held.record, options, surface ?? undefined);
  return held.lit;
}

function refitted(held: Held, options: FitOptions, surface: SurfaceModel | null, { building, gone, stands, isFirst }: FitQuestions['refit']['asked']): Refitted {
  const lit = litOf(held, options, surface);
  const quick = gone !== null && stands !== null ? refitWithout(held.record, building, gone, stands, options, lit, isFirst) : null;
  return { patch: quick ?? refitBuilding(held.record, building, options, lit), isWhole: quick === null || !isFirst };
}

function edited(held: Held, options: FitOptions, surface: SurfaceModel | null, { building, usable, layout, edit }: FitQuestions['edit']['asked']): Edited {
  const lit = litOf(held, options, surface);
  const record = { ...held.record, usable, layout };
  const corners = edit.kind === 'place' ? nearestPlace(record, edit.plane, edit.corners, options.module.gapM) : null;
  // Where no place near is free, the one asked for is tried, and refused with its reason.
  const sought = edit.kind === 'place' && corners ? { ...edit, corners } : edit;
  const outcome = editLayout(record, sought, options.module.gapM, lit && layoutLight(held.record, options, lit));
  if (!outcome.ok) return outcome;
  const { modules, buildings } = outcome.record.layout!;
  return { ok: true, patch: { building, ground: null, modules, summary: buildings![0]! } };
}
