import { useState } from 'preact/hooks';
import { isKnown, missing, type Measured } from '../units/measured.ts';
import { LEAST_SAMPLES, SURE_SAMPLES } from '../reading/resolvability.ts';
import { cueWords } from '../roof/drain-cues.ts';
import type { SmallFeature } from '../roof/record.ts';
import { featureVerdict } from '../survey/measure/pinned-feature.ts';
import { shortLength, smallUnit, type UnitInUse } from '../units/unit-in-use.ts';
import { plainReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { PhotoNote } from './photo-note.tsx';
import { Deed, Deeds, SignDeed } from './deeds.tsx';
import type { QuestionProps } from './question-body.tsx';
import { acceptedIds } from './questions.ts';
import { RefusedRow } from './rows.tsx';

const KINDS: readonly SmallFeature['kind'][] = ['drain', 'pipe', 'gutter', 'vent', 'other'];

/** What is too small to trust: low points that were found, small things a person pinned, and what can be said of them. */
export function SmallQuestion({ answer }: QuestionProps) {
  const { store, actions } = useApp();
  const record = store.record.value!;
  const units = store.units.value;
  const sample = Math.max(record.sampling.pointSpacingM, record.sampling.groundSampleDistanceM ?? 0);
  const accepted = acceptedIds(record);
  const chosen = store.selection.value?.kind === 'low-point' && !store.refused.value.has(store.selection.value.id) ? store.selection.value.id : null;
  const lows = record.buildings.flatMap((building) => building.lowPoints.map((low) => ({ low, building: building.id })));
  return (
    <>
      <p class="say">{LEAST_SAMPLES} samples across a thing say that something is there, {SURE_SAMPLES} say what. Here a sample is {shortLength(sample, units)}, so a thing must be {shortLength(sample * SURE_SAMPLES, units)} wide to be measured.</p>
      <ClientLimit />
      <div class="table-room">
        {lows.length > 0 && (
          <table>
            <thead><tr><th scope="col">low point</th><th scope="col">a drain?</th><th scope="col" class="number">depth</th><th scope="col" class="number">drains, plan</th><th scope="col" class="number">under water before it spills</th></tr></thead>
            <tbody>
              {lows.map(({ low, building }) => {
                const part = { kind: 'low-point', id: low.id } as const;
                const name = store.names.value.get(low.id)!;
                if (store.refused.value.has(low.id)) return <RefusedRow key={low.id} id={low.id} name={name} columns={4} />;
                const isSelected = store.selection.value?.id === low.id;
                const isSure = low.verdict === 'likely' || accepted.has(low.id);
                return (
                  <tr key={low.id} class={isSelected ? 'selected' : ''} onClick={() => actions.select(part)}>
                    <th scope="row"><button type="button" class="row-name" aria-pressed={isSelected} onClick={() => actions.select(part)}>{name}</button></th>
                    <td><span class={isSure ? '' : 'rule doubtful'}>{low.verdict === 'cannot-tell' ? 'cannot tell' : low.lowLine ? 'a level line, not a point' : low.verdict}{accepted.has(low.id) ? ', accepted' : ''}</span>{record.buildings.length > 1 ? `, ${building}` : ''}{low.cues && <><br /><small>{cueWords(low)}</small></>}</td>
                    <td class="number">{plainReading(low.depthM, 'length', store.units.value)}</td>
                    <td class="number">{plainReading(low.drainedPlanAreaM2, 'area', store.units.value)}</td>
                    <td class="number">{low.pond ? plainReading(low.pond.planAreaM2, 'area', store.units.value) : '–'}</td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        )}
        {lows.some(({ low }) => low.pond) && <p class="caution">Dotted rings show what could hold water before it spills, on the dry roof as measured. A loaded deck bends further: water that stands longer than two days after rain (common usage of the trade) is for a roofer and a structural engineer to judge.</p>}
        {record.smallFeatures.map((feature) => <FeatureCard key={feature.id} feature={feature} isAccepted={accepted.has(feature.id)} />)}
      </div>
      <p class="caution"><b>Roof edges.</b> Nobody goes up to look at a drain without fall protection. Local rules and a competent person decide.</p>
      <Deeds>
        {chosen ? <Deed onClick={() => actions.decide('accept', chosen, `accept ${store.names.value.get(chosen)!}`)}>Accept {store.names.value.get(chosen)}</Deed> : <SignDeed question={4} state={answer.state} leading={false} />}
        {chosen && <Deed quiet onClick={() => actions.decide('refuse', chosen, `refuse ${store.names.value.get(chosen)!}`)}>Not there</Deed>}
        <Deed leading onClick={() => actions.startPin()}>Pin a small thing</Deed>
      </Deeds>
    </>
  );
}

/** How fine the pictures must be by the client's word: every small thing is judged by it. */
function ClientLimit() {
  const { store, actions } = useApp();
  const { clientLimit, sampling } = store.record.value!;
  const [text, setText] = useState<string | null>(null);
  const [why, setWhy] = useState<string | null>(null);
  const gsd = sampling.groundSampleDistanceM;
  const shown = text ?? (clientLimit ? String(Number((clientLimit.gsdM * 100).toFixed(2))) : '');
  return (
    <form
      class="tape-form"
      onSubmit={(event) => {
        event.preventDefault();
        actions.setClientLimit(shown, why ?? clientLimit?.why ?? CLIENT_REASON);
        setText(null);
      }}
    >
      <label>client allows <input inputMode="decimal" size={4} value={shown} placeholder="none" onInput={(event) => setText(event.currentTarget.value)} /> cm per pixel</label>
      <label>because <input size={22} value={why ?? clientLimit?.why ?? CLIENT_REASON} onInput={(event) => setWhy(event.currentTarget.value)} /></label>
      <button type="submit" class="deed">{clientLimit ? 'Change it' : 'Judge by it'}</button>
      {clientLimit && <button type="button" class="quiet" onClick={() => actions.setClientLimit('', '')}>Take it away</button>}
      <span class="say">{gsd === null ? 'Ground sample distance of this survey: not stated.' : `This survey has ${(gsd * 100).toFixed(1)} cm per pixel.`}</span>
    </form>
  );
}

/** What clients say of such limits. Common practice, no source. */
const CLIENT_REASON = 'drainage channels and water pipes matter';

/** A person's own figure is good to a centimetre unless a note says better: common practice, no source. */
function typedSmall(text: string, unit: UnitInUse): Measured {
  const typed = Number(text.replace(',', '.'));
  return text.trim() !== '' && Number.isFinite(typed) && typed !== 0 ? { value: typed * unit.metres, u95: 0.01, parts: [{ name: 'as typed', u95: 0.01 }] } : missing('not measured yet');
}

const written = (number: Measured, unit: UnitInUse): string => (isKnown(number) ? String(Number((number.value / unit.metres).toFixed(unit.word === 'mm' ? 0 : 2))) : '');

function FeatureCard({ feature, isAccepted }: { readonly feature: SmallFeature; readonly isAccepted: boolean }) {
  const { store, actions } = useApp();
  const name = store.names.value.get(feature.id)!;
  const unit = smallUnit(store.units.value);
  const verdict = featureVerdict(feature, store.record.value!);
  if (store.refused.value.has(feature.id)) {
    return <p class="say"><s>{name} {feature.kind}</s> refused <button type="button" class="quiet" onClick={() => actions.decide('accept', feature.id, `bring ${name} back`)}>Bring back</button></p>;
  }
  const setWidth = (text: string): void => {
    const widthM = typedSmall(text.replace(/^-/, ''), unit);
    actions.changeFeature(feature.id, { widthM }, `width of ${name}`);
  };
  return (
    <section class={`feature ${store.selection.value?.id === feature.id ? 'selected' : ''}`} aria-label={`${name} ${feature.kind}`}>
      <div class="feature-line">
        <button type="button" class="row-name" onClick={() => actions.select({ kind: 'feature', id: feature.id })}>{name}</button>
        <select aria-label={`kind of ${name}`} value={feature.kind} onChange={(event) => actions.changeFeature(feature.id, { kind: event.currentTarget.value as SmallFeature['kind'] }, `kind of ${name}`)}>
          {KINDS.map((kind) => <option key={kind}>{kind}</option>)}
        </select>
        <label>width <input inputMode="decimal" size={5} value={written(feature.widthM, unit)} onChange={(event) => setWidth(event.currentTarget.value)} /> {unit.word}</label>
        <label>height <input inputMode="decimal" size={5} value={written(feature.heightM, unit)} onChange={(event) => actions.changeFeature(feature.id, { heightM: typedSmall(event.currentTarget.value, unit) }, `height of ${name}`)} /> {unit.word}</label>
        {feature.proposedBy === 'person' && <button type="button" class="quiet" onClick={() => actions.removeFeature(feature.id, name)}>Remove</button>}
        {feature.proposedBy === 'found' && !isAccepted && <button type="button" class="quiet" aria-label={`Accept ${name}`} onClick={() => actions.decide('accept', feature.id, `accept ${name}`)}>Accept</button>}
        {feature.proposedBy === 'found' && <button type="button" class="quiet" aria-label={`${name} is not there`} onClick={() => actions.decide('refuse', feature.id, `refuse ${name}`)}>Not there</button>}
      </div>
      <p class="say"><span class={feature.resolvability === 'resolved' || isAccepted ? '' : 'rule doubtful'}>{feature.why}</span>{isAccepted ? ' Accepted.' : ''}{feature.verifyOnSite && isKnown(feature.widthM) ? ' Look on site.' : ''}</p>
      {verdict && isKnown(feature.widthM) && <AcrossScale samplesAcross={verdict.samplesAcross} sure={feature.widthM.value / verdict.resolvingSample} />}
      <PhotoNote feature={feature.id} name={name} />
    </section>
  );
}

/**
 * Where a width stands on the scale from below to resolved.
 *
 * @param sure  Samples from which it is resolved: fewer for what is long.
 */
function AcrossScale({ samplesAcross, sure }: { readonly samplesAcross: number; readonly sure: number }) {
  const least = (LEAST_SAMPLES * sure) / SURE_SAMPLES;
  const most = 1.7 * sure;
  const at = (samples: number): number => 4 + (Math.min(samples, most) / most) * 392;
  return (
    <svg class="across" viewBox="0 0 400 34" role="img" aria-label={`${samplesAcross.toFixed(1)} samples across: marginal from ${plainNumber(least)}, resolved from ${plainNumber(sure)}`}>
      <line x1="4" x2="396" y1="14" y2="14" class="axis" />
      {[least, sure].map((samples) => <line key={samples} x1={at(samples)} x2={at(samples)} y1="2" y2="20" class="axis" />)}
      <text x="4" y="10">below</text>
      <text x={at((least + sure) / 2)} y="10" text-anchor="middle">marginal</text>
      <text x={at(1.35 * sure)} y="10" text-anchor="middle">resolved</text>
      <path d={`M${at(samplesAcross)} 15l6 10h-12z`} class="mark" />
      <text x={at(least)} y="32" text-anchor="middle">{plainNumber(least)}</text>
      <text x={at(sure)} y="32" text-anchor="middle">{plainNumber(sure)}</text>
      <text x="396" y="32" text-anchor="end">samples across</text>
    </svg>
  );
}

const plainNumber = (value: number): string => String(Number(value.toFixed(1)));
