import { useRef, useState } from 'preact/hooks';
import { isKnown } from '../units/measured.ts';
import { plainReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { Deed, Deeds, SignDeed } from './deeds.tsx';
import { DotPlotMark, DotPlotScale } from './dot-plot.tsx';
import { tapeables, tapeReadingsOf } from './fields.ts';
import type { QuestionProps } from './question-body.tsx';

/** Does it agree with the tape: verdict, residuals, what explains them, next tape; readings are typed here. */
export function TapeQuestion({ answer }: QuestionProps) {
  const { store } = useApp();
  const { tape } = store.record.value!;
  const list = useRef<HTMLInputElement>(null);
  const { actions } = useApp();
  return (
    <>
      {tape ? <Verdict state={answer.state} /> : (
        <p class="say">
          Every length here comes from photographs: a wrong scale would stretch all of them alike, and no ± on this sheet can see that.
          One tape along a long eave and one plumb height settle it.
        </p>
      )}
      {tape && <TapeTable />}
      {tape && <Explanation />}
      <TapeForm />
      <p class="caution"><b>Before anyone tapes a roof edge:</b> fall protection, and a competent person who decides under local rules.</p>
      <Deeds>
        <SignDeed question={5} state={answer.state} leading={tape !== null} />
        <Deed onClick={() => list.current?.click()}>Open a tape list</Deed>
        <input ref={list} type="file" accept=".csv,text/csv" hidden onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          event.currentTarget.value = '';
          if (file) void actions.openTapeList(file);
        }} />
      </Deeds>
    </>
  );
}

function Verdict({ state }: { readonly state: string }) {
  const { store } = useApp();
  const tape = store.record.value!.tape!;
  const [low, high] = tape.rmseBracketM;
  return (
    <div class="hero">
      <span class={`hero-number rule ${state}`}>{tape.verdict}</span>
      <span class="hero-about">
        <span>{isKnown(tape.biasM) ? `bias ${plainReading(tape.biasM, 'length', { ...store.units.value, length: 'mm' })}` : tape.biasM.why}</span>
        <span>{tape.count > 0 ? `RMSE ${(tape.rmseM * 1000).toFixed(0)} mm from ${tape.count}, true value ${(low * 1000).toFixed(0)} to ${(high * 1000).toFixed(0)}` : 'no length was compared'}</span>
      </span>
    </div>
  );
}

function TapeTable() {
  const { store, actions } = useApp();
  const tape = store.record.value!.tape!;
  const readings = tapeReadingsOf(store.history.value);
  const reach = Math.max(2 * tape.toleranceM, ...tape.readings.map(({ residualM }) => (isKnown(residualM) ? Math.abs(residualM.value) + residualM.u95 : 0)));
  return (
    <div class="table-room">
      <table class="tape">
        <thead>
          <tr>
            <th scope="col">tape</th><th scope="col">of</th><th scope="col" class="number">ours</th><th scope="col" class="number">tape</th>
            <th scope="col"><DotPlotScale reachM={reach} /></th><th scope="col"><span class="for-readers">take away</span></th>
          </tr>
        </thead>
        <tbody>
          {tape.readings.map((row) => (
            <tr key={row.id}>
              <th scope="row">{row.id}</th>
              <td>{readings.find(({ id }) => id === row.id)?.note || row.kind}</td>
              <td class="number">{isKnown(row.oursM) ? row.oursM.value.toFixed(3) : row.oursDeg ? plainReading(row.oursDeg, 'pitch') : row.oursM.why}</td>
              <td class="number">{isKnown(row.tapeM) ? row.tapeM.value.toFixed(3) : row.tapeDeg ? plainReading(row.tapeDeg, 'pitch') : ''}</td>
              <td class="dots"><DotPlotMark residual={row.residualM} verdict={row.verdict} toleranceM={tape.toleranceM} reachM={reach} /></td>
              <td class="number"><button type="button" class="quiet" aria-label={`Remove tape ${row.id}`} onClick={() => actions.removeTape(row.id)}>Remove</button></td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="say">Filled agrees, hollow doubtful, cross disagrees; the band is the tolerance, {(tape.toleranceM * 1000).toFixed(0)} mm.</p>
    </div>
  );
}

function Explanation() {
  const { store } = useApp();
  const { explanation, next } = store.record.value!.tape!;
  const odds = Object.entries(explanation.odds).sort(([, a], [, b]) => b - a).slice(0, 3);
  return (
    <div class="slip">
      <table class="parts">
        <caption class="for-readers">What may explain the residuals</caption>
        <tbody>
          {odds.map(([kind, share], i) => (
            <tr key={kind}>
              <th scope="row">{kind.replaceAll('-', ' ')}</th>
              <td class="bar"><span class={['solid', 'hatched', 'hollow'][i]} style={{ width: `${Math.max(1, share * 100)}%` }} /></td>
              <td class="number">{share.toFixed(2)}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {next[0] && <p class="say"><b>Next tape: {store.names.value.get(next[0].edge) ?? next[0].edge}.</b> {next[0].why}</p>}
      <p class="say">A shift or a turn of the whole site cannot be seen by tape.</p>
    </div>
  );
}

/** Enters one reading: what was taped, and what the tape said. */
function TapeForm() {
  const { store, actions } = useApp();
  const record = store.record.value!;
  const choices = tapeables(record, store.names.value);
  const suggested = record.tape?.next[0]?.edge;
  const [chosen, setChosen] = useState<string | null>(null);
  const [text, setText] = useState('');
  const picked = store.selection.value?.id;
  const key = chosen ?? [picked, suggested].find((id) => choices.some((choice) => choice.key === id)) ?? choices[0]?.key;
  const what = choices.find((choice) => choice.key === key);
  if (!what) return <p class="say"><b>Waits for</b> an edge of at least a metre, or a distance measured in question 2.</p>;
  return (
    <form
      class="tape-form"
      onSubmit={(event) => {
        event.preventDefault();
        if (text.trim() === '') return;
        actions.enterTape(what, text);
        setText('');
        setChosen(null);
      }}
    >
      <label>taped <select value={what.key} onChange={(event) => setChosen(event.currentTarget.value)}>{choices.map((choice) => <option key={choice.key} value={choice.key}>{choice.name}</option>)}</select></label>
      <label>the tape said <input value={text} placeholder="7.42 m" size={9} onInput={(event) => setText(event.currentTarget.value)} /></label>
      <button type="submit" class="deed">Enter it</button>
    </form>
  );
}
