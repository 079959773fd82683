import { useApp } from './app-context.ts';
import { EvidenceSlip } from './evidence-slip.tsx';

/** The evidence of the number above, across the table. */
export function SlipRow({ columns }: { readonly columns: number }) {
  return <tr class="slip-row"><td colSpan={columns}><EvidenceSlip /></td></tr>;
}

/** A part a person refused: still there, and one press brings it back. */
export function RefusedRow({ id, name, columns }: { readonly id: string; readonly name: string; readonly columns: number }) {
  const { actions } = useApp();
  return (
    <tr class="refused">
      <th scope="row"><s>{name}</s></th>
      <td colSpan={columns}>refused <button type="button" class="quiet" onClick={() => actions.decide('accept', id, `bring ${name} back`)}>Bring back</button></td>
    </tr>
  );
}
