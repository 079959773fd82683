import { HANDOVER_KINDS, reasonAgainst } from '../handover/handover-kind.ts';
import { useApp } from './app-context.ts';
import { Deed, Deeds, SignDeed } from './deeds.tsx';
import type { QuestionProps } from './question-body.tsx';

/** What goes out: files for others, and what was decided by whom. */
export function OutQuestion({ answer }: QuestionProps) {
  const { store, actions } = useApp();
  const record = store.record.value!;
  const unsigned = store.answers.value.slice(0, 6).flatMap(({ state }, i) => (state === 'doubtful' || state === 'open' ? [i + 1] : []));
  return (
    <>
      {unsigned.length > 0 && <p class="say">Questions <b>{unsigned.join(', ')}</b> are open or doubtful; everything handed over says so.</p>}
      <div class="table-room">
        <table class="handover">
          <thead><tr><th scope="col">file</th><th scope="col">holds</th><th scope="col"><span class="for-readers">save</span></th></tr></thead>
          <tbody>
            {HANDOVER_KINDS.map(({ kind, title, extension, holds }) => {
              const against = reasonAgainst(record, kind);
              return (
                <tr key={kind}>
                  <th scope="row"><b>{title}</b> .{extension}</th>
                  <td class="holds">{against ? `Not from this record: ${against}.` : holds}</td>
                  <td class="number"><button type="button" class="quiet" disabled={against !== null} aria-label={`Save ${title}`} onClick={() => void actions.handOver(kind)}>Save</button></td>
                </tr>
              );
            })}
          </tbody>
        </table>
        {record.decisions.length > 0 && (
          <table>
            <thead><tr><th scope="col">decided</th><th scope="col">about</th><th scope="col">by</th><th scope="col" class="number">at</th></tr></thead>
            <tbody>
              {record.decisions.toReversed().map((decision, i) => (
                <tr key={record.decisions.length - i}><th scope="row">{decision.what}</th><td>{aboutWords(decision.about, store.names.value)}</td><td>{decision.by}</td><td class="number">{decision.at.slice(0, 16).replace('T', ' ')}</td></tr>
              ))}
            </tbody>
          </table>
        )}
      </div>
      <p class="caution">These sheets settle no structure, wiring or fire access. A licensed person does, under local code.</p>
      <Deeds>
        <Deed leading onClick={() => void actions.handOver('report')}>Save report</Deed>
        <Deed shortcut="Ctrl S" onClick={() => actions.saveRecordFile()}>Save record</Deed>
        <SignDeed question={7} state={answer.state} leading={false} />
      </Deeds>
    </>
  );
}

const aboutWords = (about: string, names: ReadonlyMap<string, string>): string => names.get(about) ?? about.replace(/^q(\d)$/, 'question $1');
