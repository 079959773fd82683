import { sentenceIn } from '../units/unit-in-use.ts';
import { useApp } from './app-context.ts';

/** What may explain the residuals, what these readings cannot show, and what to tape next. */
export function TapeExplanation() {
  const { store, actions } = useApp();
  const { explanation, next, count, notes } = store.record.value!.tape!;
  const units = store.units.value;
  const odds = Object.entries(explanation.odds).sort(([, a], [, b]) => b - a).slice(0, 3);
  return (
    <div class="slip">
      {count > 0 && (
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
      )}
      {count > 0 && explanation.why && <p class="say">{sentenceIn(explanation.why, units)}</p>}
      {next.length > 0 && (
        <p class="say">
          <b>Tape next:</b>{' '}
          {next.slice(0, 3).map(({ edge, why }, i) => (
            <span key={edge}>{i > 0 ? '; ' : ''}<button type="button" class="row-name" onClick={() => actions.select({ kind: 'edge', id: edge })}>{store.names.value.get(edge) ?? edge}</button> {sentenceIn(why, units)}</span>
          ))}.
        </p>
      )}
      {(notes ?? ['A shift or a turn of the whole site cannot be seen by tape.']).map((note) => <p key={note} class="say">{sentenceIn(note, units)}</p>)}
    </div>
  );
}
