import { useApp } from './app-context.ts';
import { Deed, Deeds } from './deeds.tsx';
import type { QuestionProps } from './question-body.tsx';

/** What goes out: files for others, and what was decided by whom. */
export function OutQuestion(_: QuestionProps) {
  const { store, actions } = useApp();
  const record = store.record.value!;
  return (
    <>
      <div class="table-room">
        <table class="facts">
          <tbody>
            <tr><th scope="row">record</th><td>the whole survey in one file, to open here or on the command line</td><td class="number"><button type="button" class="quiet" onClick={() => actions.saveRecordFile()}>Save</button></td></tr>
          </tbody>
        </table>
        {record.decisions.length > 0 && (
          <table>
            <thead><tr><th scope="col">decided</th><th scope="col">about</th><th scope="col">by</th><th scope="col" class="number">at</th></tr></thead>
            <tbody>
              {record.decisions.toReversed().map((decision, i) => (
                <tr key={record.decisions.length - i}><th scope="row">{decision.what}</th><td>{store.names.value.get(decision.about) ?? decision.about}</td><td>{decision.by}</td><td class="number">{decision.at.slice(0, 16).replace('T', ' ')}</td></tr>
              ))}
            </tbody>
          </table>
        )}
      </div>
      <p class="caution">These sheets settle no structure, wiring or fire access. A licensed person does, under local code.</p>
      <Deeds><Deed leading onClick={() => actions.saveRecordFile()}>Save record</Deed></Deeds>
    </>
  );
}
