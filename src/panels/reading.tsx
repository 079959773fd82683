import type { Measured } from '../units/measured.ts';
import { plainReading, writeReading, type Dimension, type WrittenReading } from '../units/written-reading.ts';
import type { PartRef } from '../viewer/scene.ts';
import { useApp } from './app-context.ts';

interface ReadingProps {
  readonly number: Measured;
  readonly dimension: Dimension;
  /** "pitch of p1". */
  readonly label: string;
  readonly part: PartRef;
  /** Field of the number, part of its evidence's key. */
  readonly field: string;
  /** Left out in tables whose head carries the unit. */
  readonly withUnit?: boolean;
}

/** A number that shows what stands behind it; one that cannot be defended shows its reason instead. */
export function Reading({ number, dimension, label, part, field, withUnit = true }: ReadingProps) {
  const { store, actions } = useApp();
  const written = writeReading(number, dimension, store.units.value);
  if (!written) return <span class="reason">{number.value === null ? number.why : ''}</span>;
  const key = `${part.id}:${field}`;
  const isOpen = store.evidence.value === key;
  const spoken = `${label}, ${plainReading(number, dimension, store.units.value)}, ${isOpen ? 'hide' : 'show'} evidence`;
  return (
    <button
      type="button"
      class="reading"
      data-evidence={key}
      aria-label={spoken}
      aria-expanded={isOpen}
      onClick={(event) => {
        event.stopPropagation();
        actions.showEvidence(part, field);
      }}
    >
      <Digits written={written} withUnit={withUnit} />
    </button>
  );
}

/** Firm digits heavy, soft ones light, then unit and ±. */
export function Digits({ written, withUnit = true }: { readonly written: WrittenReading; readonly withUnit?: boolean }) {
  return (
    <span class="digits">
      <b>{written.firm}</b>
      <i>{written.soft}</i>
      <span class="unit">{withUnit || written.unit === '°' || written.unit === '″' ? written.unit : ''}</span>
      <span class="plus-minus"> ± {written.plusMinus}</span>
    </span>
  );
}

/** A sum that shows what stands behind it; it belongs to no part that could be chosen. */
function SumReading({ number, dimension, label, evidence, written }: { readonly number: Measured; readonly dimension: Dimension; readonly label: string; readonly evidence: string; readonly written: WrittenReading }) {
  const { store } = useApp();
  const isOpen = store.evidence.value === evidence;
  return (
    <button
      type="button" class="reading" data-evidence={evidence} aria-expanded={isOpen}
      aria-label={`${label}, ${plainReading(number, dimension, store.units.value)}, ${isOpen ? 'hide' : 'show'} evidence`}
      onClick={() => (store.evidence.value = isOpen ? null : evidence)}
    >
      <Digits written={written} />
    </button>
  );
}

/** The large number of an open question. @param evidence  Key of what stands behind it, where that can be shown. */
export function Hero({ number, dimension, about, state, evidence, label }: {
  readonly number: Measured; readonly dimension: Dimension; readonly about: readonly string[]; readonly state: string;
  readonly evidence?: string; readonly label: string;
}) {
  const { store } = useApp();
  const written = writeReading(number, dimension, store.units.value);
  const shown = written ? <Digits written={written} /> : <span class="reason">{number.value === null ? number.why : ''}</span>;
  return (
    <div class="hero">
      <span class={`hero-number rule ${state}`}>{evidence && written ? <SumReading {...{ number, dimension, label, evidence, written }} /> : shown}</span>
      <span class="hero-about">{about.map((line) => <span key={line}>{line}</span>)}</span>
    </div>
  );
}
