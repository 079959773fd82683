import { plainReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import type { QuestionProps } from './question-body.tsx';

/** Does it agree with the tape: residuals, verdict, next tape. */
export function TapeQuestion({ answer }: QuestionProps) {
  const { store } = useApp();
  const tape = store.record.value!.tape;
  if (!tape) {
    return (
      <>
        <p class="say"><span class="rule open">No tape reading yet.</span></p>
        <p class="say">Lengths here come from the photographs alone: a wrong scale would stretch every one of them alike, and no ± on this sheet can see that. One tape along a long eave and one plumb height settle it.</p>
        <p class="say"><b>Waits for</b> a record that holds tape readings. The command line compares them: <code>roofdatum tape record.json readings.csv --out checked</code>; open its record here.</p>
      </>
    );
  }
  return (
    <>
      <p class="say"><span class={`rule ${answer.state}`}><b>{tape.verdict}</b>: bias {plainReading(tape.biasM, 'length', { ...store.units.value, length: 'mm' })}, RMSE {(tape.rmseM * 1000).toFixed(0)} mm from {tape.count}, true value between {(tape.rmseBracketM[0] * 1000).toFixed(0)} and {(tape.rmseBracketM[1] * 1000).toFixed(0)}.</span></p>
      <div class="table-room">
        <table>
          <thead><tr><th scope="col">reading</th><th scope="col" class="number">ours</th><th scope="col" class="number">tape</th><th scope="col" class="number">ours minus tape</th><th scope="col">verdict</th></tr></thead>
          <tbody>
            {tape.readings.map((reading) => (
              <tr key={reading.id}>
                <th scope="row">{reading.id}</th>
                <td class="number">{plainReading(reading.oursM, 'length', store.units.value)}</td>
                <td class="number">{plainReading(reading.tapeM, 'length', store.units.value)}</td>
                <td class="number">{plainReading(reading.residualM, 'length', { ...store.units.value, length: 'mm' })}</td>
                <td>{reading.verdict}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="say">It looks like <b>{tape.explanation.kind.replaceAll('-', ' ')}</b>.</p>
      {tape.next.map(({ edge, why }) => <p key={edge} class="say"><b>Next tape: {store.names.value.get(edge) ?? edge}.</b> {why}</p>)}
    </>
  );
}
