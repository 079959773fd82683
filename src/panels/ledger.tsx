import type { ComponentChildren } from 'preact';
import { useRef } from 'preact/hooks';
import { useApp } from './app-context.ts';
import { useChosenInSight } from './chosen-in-sight.ts';
import { QUESTIONS, type Answer, type Question } from './questions.ts';
import { Digits } from './reading.tsx';
import { QuestionBody } from './question-body.tsx';

/** The seven questions, one open. */
export function Ledger() {
  const { store } = useApp();
  useChosenInSight();
  const list = useRef<HTMLOListElement>(null);
  const walk = (event: KeyboardEvent): void => {
    const step = event.key === 'ArrowDown' ? 1 : event.key === 'ArrowUp' ? -1 : 0;
    const heads = [...(list.current?.querySelectorAll<HTMLButtonElement>('.question-head') ?? [])];
    const at = heads.indexOf(document.activeElement as HTMLButtonElement);
    if (step === 0 || at < 0) return;
    event.preventDefault();
    heads[(at + step + heads.length) % heads.length]!.focus();
  };
  return (
    <ol ref={list} class="ledger" onKeyDown={walk}>
      {QUESTIONS.map((question, i) => (
        <QuestionRow key={question.number} question={question} answer={store.answers.value[i]!} />
      ))}
    </ol>
  );
}

function QuestionRow({ question, answer }: { readonly question: Question; readonly answer: Answer }) {
  const { store, actions } = useApp();
  const isOpen = store.question.value === question.number && store.record.value !== null;
  const isEmpty = store.record.value === null;
  return (
    <li class={`question ${answer.state} ${isOpen ? 'is-open' : ''} ${isEmpty ? 'is-empty' : ''}`}>
      <button type="button" class="question-head" aria-expanded={isOpen} aria-controls={`question-${question.number}`} onClick={() => actions.openQuestion(question.number)}>
        <span class="number">{question.number}</span>
        <span class="ask">{question.ask}</span>
        <span class="state">{answer.stateWords}</span>
        {!isOpen && (
          <span class="line">
            {isEmpty ? <span class="explains">{question.explains}</span> : null}
            <AnswerLine answer={answer} />
          </span>
        )}
      </button>
      <div id={`question-${question.number}`} class="question-body" hidden={!isOpen}>
        {isOpen && <QuestionBody number={question.number} answer={answer} />}
      </div>
    </li>
  );
}

/** The answer over the rule that shows its state. */
export function AnswerLine({ answer }: { readonly answer: Answer }): ComponentChildren {
  return (
    <span class={`rule ${answer.state}`}>
      {answer.line.length === 0 ? <span class="blank" /> : answer.line.map((piece, i) => (typeof piece === 'string' ? <span key={i}>{piece}</span> : <Digits key={i} written={piece} />))}
    </span>
  );
}
