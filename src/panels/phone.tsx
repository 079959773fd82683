import { useRef } from 'preact/hooks';
import type { ViewName } from '../viewer/projection.ts';
import { useApp } from './app-context.ts';
import { useChosenInSight } from './chosen-in-sight.ts';
import { QUESTIONS } from './questions.ts';
import { QuestionBody } from './question-body.tsx';
import { SurveyMenu } from './survey-menu.tsx';
import { TitleCells } from './title-block.tsx';
import { VIEWS } from './view-strip.tsx';

/** The top bar of a phone: survey, views, undo, and what stands in the title block of a sheet. */
export function PhoneBar() {
  const { store, actions } = useApp();
  const dialog = useRef<HTMLDialogElement>(null);
  return (
    <header class="phone-bar">
      <SurveyMenu />
      <select aria-label="View" value={store.view.value} onChange={(event) => actions.showView(event.currentTarget.value as ViewName)}>
        {VIEWS.map(({ name, word }) => <option key={name} value={name}>{word}</option>)}
      </select>
      <button type="button" onClick={() => actions.undo()}>Undo</button>
      <button type="button" aria-haspopup="dialog" onClick={() => dialog.current?.showModal()}>Settings</button>
      <dialog ref={dialog} class="small-dialog" aria-labelledby="settings-title">
        <h2 id="settings-title" tabIndex={-1} autofocus>Settings and history</h2>
        <div class="title-block"><TitleCells /></div>
        <form method="dialog"><button type="submit" class="deed">Close</button></form>
      </dialog>
    </header>
  );
}

/** The ledger as a row of seven numbers, with the open question above it. */
export function PhoneSheet() {
  const { store, actions } = useApp();
  useChosenInSight();
  const number = store.question.value;
  const question = QUESTIONS[number - 1]!;
  const answer = store.answers.value[number - 1]!;
  return (
    <section class="phone-sheet" aria-label="Question ledger">
      {store.sheetHeight.value !== 'row' && (
        <div class="phone-question">
          <button type="button" class="grip" aria-label={store.sheetHeight.value === 'half' ? 'Make the sheet taller' : 'Make the sheet lower'} onClick={() => (store.sheetHeight.value = store.sheetHeight.value === 'half' ? 'full' : 'half')} />
          <div class="phone-head">
            <span class="number">{number}</span>
            <h2>{question.ask}</h2>
            <span class="state">{answer.stateWords}</span>
          </div>
          <div class="question-body">{store.record.value ? <QuestionBody number={number} answer={answer} /> : <p class="say">{question.explains}</p>}</div>
        </div>
      )}
      <nav class="phone-row" aria-label="Questions">
        {QUESTIONS.map((row, i) => {
          const { state } = store.answers.value[i]!;
          return (
            <button key={row.number} type="button" aria-pressed={row.number === number} onClick={() => actions.openQuestion(row.number)}>
              <span class="number">{row.number}</span>
              <span class="for-readers">{row.ask}</span>
              <span class={`rule ${state}`}><span class="blank" /></span>
              <span class="state">{state}</span>
            </button>
          );
        })}
      </nav>
    </section>
  );
}
