import { useApp } from './app-context.ts';
import { Deeds, SignDeed } from './deeds.tsx';
import { Hero } from './reading.tsx';
import { plainReading } from '../units/written-reading.ts';
import type { QuestionProps } from './question-body.tsx';

/** What fits: usable area and module places under stated rules. */
export function FitsQuestion({ answer }: QuestionProps) {
  const { store } = useApp();
  const { usable, layout, keepClear } = store.record.value!;
  if (!usable) {
    return (
      <>
        <p class="say"><span class="rule open">No module chosen yet.</span></p>
        <p class="say"><b>Waits for</b> a record that holds keep-clear zones. The command line computes them: <code>roofdatum fit record.json --out fitted</code>; open its record here.</p>
        <p class="caution">Local code and a licensed person decide setbacks, fire access, load and wiring.</p>
      </>
    );
  }
  return (
    <>
      <Hero number={usable.totalM2} dimension="area" state={answer.state} label="usable area" about={['usable slope area', keepClear ? `rules: ${keepClear.ruleSet.name}` : '']} />
      {layout && <p class="say"><b>{layout.count} modules</b>, at most {layout.upperBound} could fit under these rules; {layout.ratedPowerKw.toFixed(1)} kW rated, {plainReading(layout.yearlyEnergyKwh, 'plain')} kWh a year before losses you set.</p>}
      <div class="table-room">
        <table>
          <thead><tr><th scope="col">plane</th><th scope="col" class="number">usable</th><th scope="col" class="number">lost to edges</th><th scope="col" class="number">to things</th><th scope="col" class="number">to access</th></tr></thead>
          <tbody>
            {usable.planes.map(({ id, usableSlopeAreaM2, lostM2 }) => (
              <tr key={id}>
                <th scope="row">{store.names.value.get(id) ?? id}</th>
                <td class="number">{plainReading(usableSlopeAreaM2, 'area', store.units.value)}</td>
                <td class="number">{lostM2.edge.toFixed(1)}</td>
                <td class="number">{lostM2.obstruction.toFixed(1)}</td>
                <td class="number">{lostM2.access.toFixed(1)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="caution">Local code and a licensed person decide setbacks, fire access, load and wiring.</p>
      <Deeds><SignDeed question={6} state={answer.state} /></Deeds>
    </>
  );
}
