import { useRef } from 'preact/hooks';
import { isKnown } from '../units/measured.ts';
import { smallNumber, smallUnit, smallUnits } from '../units/unit-in-use.ts';
import { plainReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { Deed, Deeds, SignDeed } from './deeds.tsx';
import type { QuestionProps } from './question-body.tsx';
import { TapeCorrections } from './tape-corrections.tsx';
import { TapeExplanation } from './tape-explanation.tsx';
import { OpenReadings, TapeForm } from './tape-form.tsx';
import { TapeSite } from './tape-site.tsx';
import { TapeTable } from './tape-table.tsx';

/** Does it agree with the tape: verdict, residuals, what explains them, next tape; readings are typed here. */
export function TapeQuestion({ answer }: QuestionProps) {
  const { store, actions } = useApp();
  const { tape } = store.record.value!;
  const list = useRef<HTMLInputElement>(null);
  return (
    <>
      {tape ? <Verdict state={answer.state} /> : (
        <p class="say">
          Every length here comes from photographs: a wrong scale would stretch all of them alike, and no ± on this sheet can see that.
          One tape along a long eave and one plumb height settle it.
        </p>
      )}
      {tape && <TapeTable />}
      {tape && <TapeExplanation />}
      {tape?.site && <TapeSite site={tape.site} accuracy={tape.accuracy ?? null} />}
      <TapeCorrections />
      <LeftOut />
      <OpenReadings />
      <TapeForm />
      <p class="caution"><b>Before anyone tapes a roof edge:</b> fall protection, and a competent person who decides under local rules.</p>
      <Deeds>
        <SignDeed question={5} state={answer.state} leading={tape !== null} />
        <Deed onClick={() => void actions.handOver('check-sheet')}>Check sheet</Deed>
        <Deed quiet={tape !== null} onClick={() => list.current?.click()}>Open a tape list</Deed>
        {tape && <Deed quiet onClick={() => actions.saveTapeList()}>Save the list</Deed>}
        <input ref={list} type="file" accept=".csv,text/csv" hidden onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = '';
          if (file) void actions.openTapeList(file);
        }} />
      </Deeds>
    </>
  );
}

/** Rows and columns of a list that could not be read: each as a sentence, until somebody has seen them. */
function LeftOut() {
  const { actions } = useApp();
  const left = actions.leftOut.value;
  if (!left) return null;
  return (
    <div class="slip">
      <p class="say"><b>{left.file}: {left.faults.length} {left.faults.length === 1 ? 'thing was' : 'things were'} not read.</b> The other rows stand above.</p>
      <ul class="left-out" aria-label={`Not read from ${left.file}`}>{left.faults.map((fault) => <li key={fault}>{fault}.</li>)}</ul>
      <button type="button" class="quiet" onClick={() => (actions.leftOut.value = null)}>Put the list away</button>
    </div>
  );
}

function Verdict({ state }: { readonly state: string }) {
  const { store } = useApp();
  const tape = store.record.value!.tape!;
  const units = store.units.value;
  const [low, high] = tape.rmseBracketM.map((metres) => smallNumber(metres, units));
  return (
    <div class="hero">
      <span class={`hero-number rule ${state}`}>{tape.verdict}</span>
      <span class="hero-about">
        <span>{isKnown(tape.biasM) ? `bias ${plainReading(tape.biasM, 'length', smallUnits(units))}` : tape.biasM.why}</span>
        <span>{tape.count > 0 ? `RMSE ${smallNumber(tape.rmseM, units)} ${smallUnit(units).word} from ${tape.count}, true value ${low} to ${high}` : 'no length was compared'}</span>
      </span>
    </div>
  );
}
