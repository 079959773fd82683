import { Fragment } from 'preact';
import { readingNumber } from '../viewer/ink/measure-lines.ts';
import { isStale } from '../survey/correct/follow-building.ts';
import { useApp } from './app-context.ts';
import { Reading } from './reading.tsx';
import { SlipRow } from './rows.tsx';
import { readingWord } from './words.ts';

/** Everything measured by hand, newest first. */
export function ReadingsTable() {
  const { store, actions } = useApp();
  const readings = store.readings.value;
  if (readings.length === 0) return null;
  return (
    <table>
      <thead><tr><th scope="col">measured</th><th scope="col">what</th><th scope="col" class="number">reading</th><th scope="col"><span class="for-readers">take away</span></th></tr></thead>
      <tbody>
        {readings.toReversed().map((reading) => {
          const part = { kind: 'reading', id: reading.id } as const;
          const name = store.names.value.get(reading.id)!;
          const isSelected = store.selection.value?.id === reading.id;
          const [number, dimension] = readingNumber(reading);
          return (
            <Fragment key={reading.id}>
              <tr class={isSelected ? 'selected' : ''} onClick={() => actions.select(part)}>
                <th scope="row"><button type="button" class="row-name" aria-pressed={isSelected} onClick={() => actions.select(part)}>{name}</button></th>
                <td>{readingWord(reading.kind).toLowerCase()}{isStale(reading) && <span class="rule doubtful" title={reading.note}>, stale</span>}</td>
                <td class="number">{number && <Reading number={number} dimension={dimension} label={`${readingWord(reading.kind)} ${name}`} part={part} field="value" />}</td>
                <td class="number"><button type="button" class="quiet" aria-label={`take ${name} away`} onClick={(event) => { event.stopPropagation(); actions.removeReadings([reading.id], `take ${name} away`); }}>Remove</button></td>
              </tr>
              {isSelected && store.evidence.value?.startsWith(`${reading.id}:`) && <SlipRow columns={4} />}
            </Fragment>
          );
        })}
      </tbody>
    </table>
  );
}
