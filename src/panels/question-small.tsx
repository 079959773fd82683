import { isKnown, missing } from '../units/measured.ts';
import type { SmallFeature } from '../roof/record.ts';
import { POINTS_ACROSS, resolvabilityOf } from '../survey/measure/pinned-feature.ts';
import { plainReading } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { Deed, Deeds, SignDeed } from './deeds.tsx';
import type { QuestionProps } from './question-body.tsx';

const KINDS: readonly SmallFeature['kind'][] = ['drain', 'pipe', 'gutter', 'vent', 'other'];

/** What is too small to trust: low points that were found, small things a person pinned, and what can be said of them. */
export function SmallQuestion({ answer }: QuestionProps) {
  const { store, actions } = useApp();
  const record = store.record.value!;
  const lows = record.buildings.flatMap((building) => building.lowPoints.map((low) => ({ low, building: building.id })));
  return (
    <>
      <p class="say">Two points across a thing say that something is there, five say what. Here points lie {(record.sampling.pointSpacingM * 1000).toFixed(0)} mm apart, so a thing must be {(record.sampling.pointSpacingM * POINTS_ACROSS.resolved * 100).toFixed(0)} cm wide to be measured.</p>
      <div class="table-room">
        {lows.length > 0 && (
          <table>
            <thead><tr><th scope="col">low point</th><th scope="col">a drain?</th><th scope="col" class="number">depth</th><th scope="col" class="number">drains, plan</th></tr></thead>
            <tbody>
              {lows.map(({ low, building }) => {
                const part = { kind: 'low-point', id: low.id } as const;
                const isSelected = store.selection.value?.id === low.id;
                return (
                  <tr key={low.id} class={isSelected ? 'selected' : ''} onClick={() => actions.select(part)}>
                    <th scope="row"><button type="button" class="row-name" aria-pressed={isSelected} onClick={() => actions.select(part)}>{store.names.value.get(low.id)}</button></th>
                    <td><span class={low.verdict === 'likely' ? '' : 'rule doubtful'}>{low.verdict === 'cannot-tell' ? 'cannot tell' : low.verdict}</span>{record.buildings.length > 1 ? `, ${building}` : ''}</td>
                    <td class="number">{plainReading(low.depthM, 'length', store.units.value)}</td>
                    <td class="number">{plainReading(low.drainedPlanAreaM2, 'area', store.units.value)}</td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        )}
        {record.smallFeatures.map((feature) => <FeatureCard key={feature.id} feature={feature} />)}
      </div>
      <p class="caution"><b>Roof edges.</b> Nobody goes up to look at a drain without fall protection. Local rules and a competent person decide.</p>
      <Deeds>
        <SignDeed question={4} state={answer.state} leading={false} />
        <Deed leading onClick={() => actions.startPin()}>Pin a small thing</Deed>
      </Deeds>
    </>
  );
}

function FeatureCard({ feature }: { readonly feature: SmallFeature }) {
  const { store, actions } = useApp();
  const name = store.names.value.get(feature.id)!;
  const width = isKnown(feature.widthM) ? feature.widthM.value : null;
  const pointsAcross = width === null ? null : resolvabilityOf(width, store.record.value!.sampling).pointsAcross;
  const setWidth = (text: string): void => {
    const typed = Number(text.replace(',', '.'));
    // A person's own figure is good to a centimetre unless a note says better: common practice, no source.
    const widthM = Number.isFinite(typed) && typed > 0 ? { value: typed / 1000, u95: 0.01, parts: [{ name: 'as typed', u95: 0.01 }] } : missing('not measured yet');
    actions.changeFeature(feature.id, { widthM }, `width of ${name}`);
  };
  return (
    <section class={`feature ${store.selection.value?.id === feature.id ? 'selected' : ''}`} aria-label={`${name} ${feature.kind}`}>
      <div class="feature-line">
        <button type="button" class="row-name" onClick={() => actions.select({ kind: 'feature', id: feature.id })}>{name}</button>
        <select aria-label={`kind of ${name}`} value={feature.kind} onChange={(event) => actions.changeFeature(feature.id, { kind: event.currentTarget.value as SmallFeature['kind'] }, `kind of ${name}`)}>
          {KINDS.map((kind) => <option key={kind}>{kind}</option>)}
        </select>
        <label>width <input inputMode="decimal" size={5} value={width === null ? '' : String(Math.round(width * 1000))} onChange={(event) => setWidth(event.currentTarget.value)} /> mm</label>
        <button type="button" class="quiet" onClick={() => actions.removeFeature(feature.id, name)}>Remove</button>
      </div>
      <p class="say"><span class={feature.resolvability === 'resolved' ? '' : 'rule doubtful'}>{feature.why}</span>{feature.verifyOnSite && width !== null ? ' Look on site.' : ''}</p>
      {pointsAcross !== null && <AcrossScale pointsAcross={pointsAcross} />}
    </section>
  );
}

/** Where a width stands on the scale from below to resolved. */
function AcrossScale({ pointsAcross }: { readonly pointsAcross: number }) {
  const most = 12;
  const at = (points: number): number => 4 + (Math.min(points, most) / most) * 392;
  return (
    <svg class="across" viewBox="0 0 400 34" role="img" aria-label={`${pointsAcross.toFixed(1)} points across: marginal from ${POINTS_ACROSS.marginal}, resolved from ${POINTS_ACROSS.resolved}`}>
      <line x1="4" x2="396" y1="14" y2="14" class="axis" />
      {[POINTS_ACROSS.marginal, POINTS_ACROSS.resolved].map((points) => <line key={points} x1={at(points)} x2={at(points)} y1="2" y2="20" class="axis" />)}
      <text x="4" y="10">below</text>
      <text x={at(3.5)} y="10" text-anchor="middle">marginal</text>
      <text x={at(8)} y="10" text-anchor="middle">resolved</text>
      <path d={`M${at(pointsAcross)} 15l6 10h-12z`} class="mark" />
      <text x={at(POINTS_ACROSS.marginal)} y="32" text-anchor="middle">2</text>
      <text x={at(POINTS_ACROSS.resolved)} y="32" text-anchor="middle">5</text>
      <text x="396" y="32" text-anchor="end">points across</text>
    </svg>
  );
}
