import { h, render } from 'preact';
import sampleAddress from '../sample-data/harbour-works.las?url';
import { Actions } from './panels/actions.ts';
import type { App } from './panels/app-context.ts';
import { FitActions } from './panels/fit-actions.ts';
import { keepPointsCorrected } from './panels/corrected-points.ts';
import type { Engine } from './panels/engine.ts';
import { refitIn } from './survey/correct/refit-in.ts';
import { FitSession } from './survey/fit-session.ts';
import { SurveyKeeping } from './panels/keeping.ts';
import { opensCompact, Page } from './panels/page.tsx';
import { createStore } from './panels/store.ts';
import { pageSurveyor } from './survey/page-surveyor.ts';
import { readRecordIn } from './survey/record-reader.ts';
import './panels/styles/page.css';

/** The only place in the page that starts workers. The coordinator keeps one thread, the tasks the others. */
const survey = pageSurveyor({
  startCoordinator: () => new Worker(new URL('../workers/coordinator.worker.ts', import.meta.url), { type: 'module' }),
  startTaskWorker: () => new Worker(new URL('../workers/survey.worker.ts', import.meta.url), { type: 'module' }),
  width: Math.max(1, Math.min(8, navigator.hardwareConcurrency || 2)),
});

const fitting = new FitSession({
  startFitting: () => new Worker(new URL('../workers/fit.worker.ts', import.meta.url), { type: 'module' }),
  startTaskWorker: () => new Worker(new URL('../workers/survey.worker.ts', import.meta.url), { type: 'module' }),
  width: Math.max(1, Math.min(8, navigator.hardwareConcurrency || 2)),
});

const refitWorker = (): Worker => new Worker(new URL('../workers/refit.worker.ts', import.meta.url), { type: 'module' });
const refit: Engine['refit'] = (cells, order, signal) => refitIn(refitWorker(), cells, { kind: 'refit', order }, signal);
const parapet: Engine['parapet'] = (cells, order, path, signal) => refitIn(refitWorker(), cells, { kind: 'parapet', order, path }, signal);

const readRecord: Engine['readRecord'] = (question) =>
  readRecordIn(new Worker(new URL('../workers/record.worker.ts', import.meta.url), { type: 'module' }), question);

/** The sample lies beside the page, or inside it. */
async function sample(): Promise<File> {
  const answer = await fetch(sampleAddress);
  if (!answer.ok) throw new Error(`The sample cannot be read (${answer.status}).`);
  return new File([await answer.blob()], 'harbour-works.las');
}

async function start(): Promise<void> {
  const engine: Engine = { survey, refit, parapet, readRecord, sample };
  const store = createStore();
  keepPointsCorrected(store);
  store.compact.value = opensCompact();
  store.paper.value = window.matchMedia('(prefers-color-scheme: dark)').matches ? 'vandyke' : 'film';
  const keeping = await SurveyKeeping.open();
  const actions = new Actions(store, keeping, engine);
  await actions.restoreChoices();
  const app: App = { store, actions, fitting: new FitActions(store, actions, fitting), board: { current: null } };
  render(h(Page, { app }), document.getElementById('page')!);
  await actions.begin();
}

void start();
