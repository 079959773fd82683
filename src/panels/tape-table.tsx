import { Fragment } from 'preact';
import { useState } from 'preact/hooks';
import type { CheckedReading } from '../roof/record.ts';
import { isKnown } from '../units/measured.ts';
import { sentenceIn, smallNumber, smallUnit, smallUnits, toldLength } from '../units/unit-in-use.ts';
import { METRIC, plainReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { DotPlotMark, DotPlotScale } from './dot-plot.tsx';
import { tapeReadingsOf } from './fields.ts';

/** Each reading beside ours, with its residual; a press shows instrument, corrections and where it lies. */
export function TapeTable() {
  const { store } = useApp();
  const [open, setOpen] = useState<string | null>(null);
  const tape = store.record.value!.tape!;
  const units = store.units.value;
  const readings = tapeReadingsOf(store.history.value);
  const ownerOf = (row: CheckedReading) => readings.find(({ id }) => id === row.id || row.id.startsWith(`${id}-`));
  // Checkpoints that were found stand with their fit.
  const placed = tape.readings.filter(({ kind }) => !kind.startsWith('checkpoint-')).filter((row) => row.placedAt || row.verdict !== 'not-compared' || (ownerOf(row)?.ends.length ?? 0) > 0);
  if (placed.length === 0) return null;
  const reach = Math.max(2 * tape.toleranceM, ...placed.map(({ residualM }) => (isKnown(residualM) ? Math.abs(residualM.value) + residualM.u95 : 0)));
  return (
    <div class="table-room">
      <table class="tape">
        <thead>
          <tr>
            <th scope="col">tape</th><th scope="col">of</th><th scope="col" class="number">ours</th><th scope="col" class="number">tape</th>
            <th scope="col"><DotPlotScale reachM={reach} units={units} /></th>
          </tr>
        </thead>
        <tbody>
          {placed.map((row) => {
            const owner = ownerOf(row);
            return (
              <Fragment key={row.id}>
                <tr>
                  <th scope="row"><button type="button" class="row-name" aria-expanded={open === row.id} onClick={() => setOpen(open === row.id ? null : row.id)}>{row.id}</button></th>
                  <td>{owner?.note || row.kind.replaceAll('-', ' ')}</td>
                  <td class="number">{isKnown(row.oursM) ? toldLength(row.oursM.value, units) : row.oursDeg ? plainReading(row.oursDeg, 'pitch', units) : row.oursM.why}</td>
                  <td class="number">{isKnown(row.tapeM) ? toldLength(row.tapeM.value, units) : row.tapeDeg ? plainReading(row.tapeDeg, 'pitch', units) : ''}{row.corrections ? <abbr title="corrected">*</abbr> : ''}</td>
                  <td class="dots">{row.residualDeg ? <span>{plainReading(row.residualDeg, 'pitch')}, {row.verdict}</span> : <DotPlotMark residual={row.residualM} verdict={row.verdict} toleranceM={tape.toleranceM} reachM={reach} units={units} />}</td>
                </tr>
                {open === row.id && <tr class="slip-row"><td colSpan={5}><ReadingSlip row={row} /></td></tr>}
              </Fragment>
            );
          })}
        </tbody>
      </table>
      <Tolerance />
    </div>
  );
}

/** What stands behind one reading: raw value, every correction with formula and source, the instrument, where it lies. */
function ReadingSlip({ row }: { readonly row: CheckedReading }) {
  const { store, actions } = useApp();
  const units = store.units.value;
  const reading = tapeReadingsOf(store.history.value).find(({ id }) => id === row.id || row.id.startsWith(`${id}-`));
  return (
    <div class="slip">
      {row.corrections && (
        <table class="parts">
          <caption class="for-readers">Corrections of {row.id}</caption>
          <tbody>
            <tr><th scope="row">as read</th><td class="number">{toldLength(row.readM!, units, 0.0001)}</td><td /></tr>
            {row.corrections.map(({ name, amountM, formula }) => (
              <tr key={name}><th scope="row">{name}</th><td class="number">{amountM < 0 ? '−' : '+'}{toldLength(Math.abs(amountM), smallUnits(units), 0.0001)}</td><td>{formula}</td></tr>
            ))}
            <tr><th scope="row">corrected</th><td class="number">{toldLength(row.tapeM.value!, units, 0.0001)}</td><td>{row.corrections[0]!.source}</td></tr>
          </tbody>
        </table>
      )}
      <p class="say">
        {row.written && <>Written down: <b>{row.written}</b>, {toldLength(row.readM ?? row.tapeM.value!, METRIC, 0.0001)}. </>}
        {isKnown(row.residualM) && <>Ours minus tape <b>{plainReading(row.residualM, 'length', smallUnits(units))}</b>: {row.verdict}. </>}
        {row.note ? `Placed: ${row.note}. ` : ''}
        {row.device ? `${row.device}, ${sentenceIn(row.toleranceStated ?? '', units)}. ` : sentenceIn('No instrument named: 5 mm, or 0.2°, one sigma. ', units)}
        {reading?.by ? `Read by ${reading.by}${reading.at ? `, ${reading.at.slice(0, 16).replace('T', ' ')}` : ''}.` : ''}
      </p>
      {reading && (
        <div class="deeds">
          {reading.kind !== 'checkpoint' && <button type="button" class="quiet" onClick={() => actions.showTapePlace(reading.id)}>Show its place again</button>}
          <button type="button" class="quiet" aria-label={`Remove tape ${reading.id}`} onClick={() => actions.removeTape(reading.id)}>Remove</button>
        </div>
      )}
    </div>
  );
}

function Tolerance() {
  const { store, actions } = useApp();
  const tape = store.record.value!.tape!;
  const units = store.units.value;
  return (
    <p class="say">
      Filled agrees, hollow doubtful, cross disagrees; the band is the tolerance,{' '}
      <label><input class="typed-height" inputMode="decimal" size={4} aria-label={`tolerance in ${units.length === 'ft-in' ? 'inches' : 'millimetres'}`} value={smallNumber(tape.toleranceM, units)} onChange={(event) => actions.setTapeTolerance(event.currentTarget.value)} /> {smallUnit(units).word}</label>.
      {tape.readings.some(({ corrections }) => corrections) ? ' * corrected; press the name for how.' : ''}
    </p>
  );
}
