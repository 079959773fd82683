import { useComputed } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import { isKnown } from '../units/measured.ts';
import { shortLength, smallUnit } from '../units/unit-in-use.ts';
import { decimalPlaces, writeCount, writeReading, type Dimension } from '../units/written-reading.ts';
import { residualPicture, type ResidualPicture } from '../viewer/residual-picture.ts';
import { useApp } from './app-context.ts';
import { EdgeDefinitionDeed } from './edge-definition.tsx';
import { evidenceOf, sharesOf, type Evidence } from './evidence.ts';
import { Statements } from './statements-dialog.tsx';
import { Histogram, ResidualField } from './residual-field.tsx';

/** What stands behind the number above: picture, histogram, what the ± consists of, method, what would help. */
export function EvidenceSlip() {
  const { store } = useApp();
  const slip = useRef<HTMLDivElement>(null);
  const evidence = useComputed(() => (store.record.value && store.evidence.value ? evidenceOf(store.record.value, store.evidence.value, store.units.value) : null)).value;
  const picture = useComputed(() => pictureOf(evidence, store.points.value)).value;
  useEffect(() => {
    slip.current?.focus({ preventScroll: true });
    // The number stays in sight above what stands behind it.
    const row = slip.current?.closest('tr')?.previousElementSibling ?? document.querySelector(`[data-evidence="${CSS.escape(store.evidence.value ?? '')}"]`);
    row?.scrollIntoView({ block: 'start', behavior: 'auto' });
  }, [store.evidence.value]);
  if (!evidence) return null;
  const close = (event: KeyboardEvent): void => {
    if (event.key !== 'Escape') return;
    event.stopPropagation();
    const key = store.evidence.value;
    store.evidence.value = null;
    document.querySelector<HTMLButtonElement>(`[data-evidence="${CSS.escape(key ?? '')}"]`)?.focus();
  };
  return (
    <div ref={slip} class="slip" tabIndex={-1} role="region" aria-label="Evidence" onKeyDown={close} onClick={(event) => event.stopPropagation()}>
      {picture && <Pictures picture={picture} fitted={evidence.plane?.pointCount ?? picture.pointCount} />}
      <Parts evidence={evidence} />
      <p class="say">{evidence.method} {evidence.notes.join(' ')}</p>
      {evidence.assumed && <p class="say">{evidence.assumed} {store.points.value && <><Statements words="State better" quiet />. </>}A tape or checkpoints under question 5 tell it.</p>}
      {evidence.edge && <EdgeDefinitionDeed key={evidence.edge.edge.id} {...evidence.edge} />}
      {evidence.rules && <RulesDeed {...evidence.rules} />}
      <p class="say"><b>Better:</b> {evidence.better}</p>
    </div>
  );
}

/** Sides drawn to rules, or left as measured: a person decides. */
function RulesDeed({ id, off }: { readonly id: string; readonly off: boolean }) {
  const { store, actions } = useApp();
  const name = store.names.value.get(id) ?? id;
  return <p class="say"><button type="button" class="quiet" onClick={() => actions.leaveRules(id, name, !off)}>{off ? `Draw ${name} to rules again` : `Leave ${name} as measured, without rules`}</button></p>;
}

function pictureOf(evidence: Evidence | null, points: ReturnType<typeof useApp>['store']['points']['value']): ResidualPicture | null {
  if (!evidence?.plane || !points?.labels) return null;
  return residualPicture(points.cloud, points.labels, points.planeIds, evidence.plane);
}

function Pictures({ picture, fitted }: { readonly picture: ResidualPicture; readonly fitted: number }) {
  const units = useApp().store.units.value;
  const unit = smallUnit(units);
  const rms = picture.rmsM / unit.metres;
  return (
    <div class="slip-pictures">
      <figure>
        <ResidualField picture={picture} />
        <figcaption>Points minus plane, square on; {shortLength(picture.cellM, units)} squares. + and − beyond 2 sigma.</figcaption>
      </figure>
      <figure>
        <Histogram picture={picture} />
        <figcaption>{writeCount(picture.pointCount)} points, rms {rms.toFixed(decimalPlaces(rms / 10))} {unit.word}, rim and all; {writeCount(fitted)} are fitted. Between the dashes: 95 %.</figcaption>
      </figure>
    </div>
  );
}

function Parts({ evidence }: { readonly evidence: Evidence }) {
  const { store } = useApp();
  const { number, dimension } = evidence;
  if (!isKnown(number)) return null;
  const shares = sharesOf(number.parts ?? []);
  if (shares.length === 0) return <p class="say">The ± is given as a whole; its parts were not kept.</p>;
  return (
    <table class="parts">
      <caption class="for-readers">What the ± consists of; the root of the sum of their squares is the ±</caption>
      <tbody>
        {shares.map(({ name, u95, share }, i) => (
          <tr key={name}>
            <th scope="row">{name}</th>
            <td class="bar"><span class={['solid', 'hatched', 'hollow'][Math.min(i, 2)]} style={{ width: `${Math.max(1, Math.sqrt(share) * 100)}%` }} /></td>
            <td class="number">{partText(u95, dimension, store.units.value)}</td>
            <td class="number">{Math.round(share * 100)} %</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function partText(u95: number, dimension: Dimension, units: Parameters<typeof writeReading>[2]): string {
  const written = writeReading({ value: u95, u95: Math.max(u95, 1e-9) }, dimension, dimension === 'pitch' ? { ...units!, pitch: 'deg' } : units);
  return written ? `${written.plusMinus}${written.unit}` : '';
}
