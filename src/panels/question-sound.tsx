import { writeCount } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { Deed, Deeds, SignDeed } from './deeds.tsx';
import { shortLength } from '../units/unit-in-use.ts';
import { onPage } from './page-words.ts';
import { isWarning } from './questions.ts';
import { RegionTools } from './region-tools.tsx';
import { Statements } from './statements-dialog.tsx';
import type { QuestionProps } from './question-body.tsx';

const NO_NOISE = 'noise not known: no roof plane to see it on';

/** Is the model sound: what the files say, what the cloud shows. */
export function SoundQuestion({ answer }: QuestionProps) {
  const { store, actions } = useApp();
  const record = store.record.value!;
  const { sampling, frame, sources } = record;
  const hasPlanes = record.buildings.length > 0;
  const units = store.units.value;
  const [spacing, spacingUnit] = shortLength(sampling.pointSpacingM, units).split(' ');
  return (
    <>
      <div class="hero">
        <span class={`hero-number rule ${answer.state}`}><span class="digits"><b>{spacing}</b><span class="unit"> {spacingUnit} apart</span></span></span>
        <span class="hero-about"><span>points lie this far apart</span><span>{hasPlanes ? `noise ${shortLength(sampling.noiseM, units)} about a plane, one sigma` : NO_NOISE}</span></span>
      </div>
      <div class="table-room">
        <table class="facts">
          <tbody>
            <tr><th scope="row">errors run together over</th><td>{hasPlanes ? shortLength(sampling.correlationLengthM, units) : 'not known'}</td></tr>
            <tr><th scope="row">ground sample distance</th><td>{sampling.groundSampleDistanceM === null ? 'not stated' : `${(sampling.groundSampleDistanceM * 100).toFixed(1)} cm a pixel; not an accuracy`}</td></tr>
            <tr><th scope="row">grid to true north</th><td>{store.north.value === 'true' ? `${frame.gridToTrueDeg.toFixed(2)}°` : 'not known without a projection'}</td></tr>
            <tr><th scope="row">grid length over ground length</th><td>{frame.scaleFactor.toFixed(6)}</td></tr>
            <tr><th scope="row">origin</th><td>{frame.origin.map((value) => value.toFixed(2).replace('-', '−')).join(', ')}</td></tr>
          </tbody>
        </table>
        {sources.map((source) => (
          <section key={source.file} class="source">
            <h3>{source.file} <span>{source.format}</span></h3>
            <p class="say">
              {source.triangleCount > 0 ? `${writeCount(source.triangleCount)} triangles` : `${writeCount(source.pointCount)} points`}
              {', '}{source.crs ?? 'no projection stated'}{source.unitToMetre === 1 ? ', metres' : `, one unit is ${source.unitToMetre} m`}.
            </p>
            {source.notes.map((note) => <p key={note} class="say">{isWarning(note) ? <b>{onPage(note)}</b> : onPage(note)}</p>)}
          </section>
        ))}
      </div>
      {store.points.value && <p class="say"><Statements words="State what the files do not say" quiet /></p>}
      {store.tool.value === 'region' && <RegionTools />}
      <p class="say">Scale, holes and doming cannot be told from a cloud alone: question 5 compares it with a tape.</p>
      <Deeds>
        <SignDeed question={1} state={answer.state} />
        <Deed onClick={() => (store.pointMode.value = store.pointMode.value === 'residual' ? 'ink' : 'residual')}>{store.pointMode.value === 'residual' ? 'Points in ink' : 'Show residuals'}</Deed>
        <Deed disabled={!store.points.value} onClick={() => actions.startRegion()}>Only a region</Deed>
      </Deeds>
    </>
  );
}
