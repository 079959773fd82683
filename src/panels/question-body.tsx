import type { Answer, QuestionNumber } from './questions.ts';
import { SoundQuestion } from './question-sound.tsx';
import { RoofQuestion } from './question-roof.tsx';
import { WayQuestion } from './question-way.tsx';
import { SmallQuestion } from './question-small.tsx';
import { TapeQuestion } from './question-tape.tsx';
import { FitsQuestion } from './question-fits.tsx';
import { OutQuestion } from './question-out.tsx';

export interface QuestionProps {
  readonly answer: Answer;
}

/** The open question's numbers, evidence and deeds. */
export function QuestionBody({ number, answer }: { readonly number: QuestionNumber; readonly answer: Answer }) {
  const Body = { 1: SoundQuestion, 2: RoofQuestion, 3: WayQuestion, 4: SmallQuestion, 5: TapeQuestion, 6: FitsQuestion, 7: OutQuestion }[number];
  return <Body answer={answer} />;
}
