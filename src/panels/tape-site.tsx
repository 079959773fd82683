import { ringContains } from '../geometry/polygon.ts';
import { exaggeration } from '../geometry/round-factor.ts';
import type { CheckpointAccuracy, SiteFit } from '../roof/record.ts';
import { isKnown, type Measured } from '../units/measured.ts';
import { sentenceIn, smallNumber, smallUnit, smallUnits } from '../units/unit-in-use.ts';
import { plainReading, type Dimension } from '../units/written-reading.ts';
import { useApp } from './app-context.ts';
import { vectorFrame } from './vector-frame.ts';

/** A building with a checkpoint this near is drawn. [m] */
const NEAR_M = 1;
const WIDTH = 460;
const HEIGHT = 230;

/** How the model lies against surveyed checkpoints: seven parameters, and ours minus survey drawn in plan. */
export function TapeSite({ site, accuracy }: { readonly site: SiteFit; readonly accuracy: CheckpointAccuracy | null }) {
  const { store } = useApp();
  const units = store.units.value;
  const small = (metres: number): string => smallNumber(metres, units);
  const { word } = smallUnit(units);
  const rows: readonly (readonly [string, Measured, Dimension])[] = [
    ['east', site.eastM, 'length'], ['north', site.northM, 'length'], ['up', site.upM, 'length'],
    ['rises to the north', site.tiltNorthDeg, 'bearing'], ['rises to the east', site.tiltEastDeg, 'bearing'], ['bearings', site.turnDeg, 'bearing'],
  ];
  const redundancy = site.probability === null ? 'no point is spare, so nothing tests the fit' : `${site.degreesOfFreedom} spare observations, probability ${site.probability.toFixed(2)}`;
  return (
    <div class="slip">
      <VectorPlan site={site} />
      <table class="parts">
        <caption>Ours against {site.points} checkpoints; {redundancy}</caption>
        <tbody>
          {rows.map(([name, number, dimension]) => <Row key={name} name={name} number={number} text={plainReading(number, dimension, smallUnits(units))} />)}
          <Row name="scale" number={site.scale} text={isKnown(site.scale) ? `${(100 * site.scale.value).toFixed(2).replace('-', '−')} ± ${(100 * site.scale.u95).toFixed(2)} %` : site.scale.why} />
        </tbody>
      </table>
      <PointTable site={site} />
      {accuracy && (
        <p class="say">
          RMSE x {small(accuracy.rmseM[0])}, y {small(accuracy.rmseM[1])}, z {small(accuracy.rmseM[2])}, horizontal {small(accuracy.rmseHorizontalM)}, in space {small(accuracy.rmse3dM)} {word}.
          NSSDA (1998) at 95 %: horizontal {small(accuracy.nssdaHorizontal95M)}, vertical {small(accuracy.nssdaVertical95M)} {word}. {sentenceIn(accuracy.statement, units)}
        </p>
      )}
    </div>
  );
}

/** Ours minus survey at each point, with the worst of its verdicts. */
function PointTable({ site }: { readonly site: SiteFit }) {
  const { store, actions } = useApp();
  const units = store.units.value;
  const rows = store.record.value!.tape!.readings;
  const verdictOf = (id: string): string => {
    const verdicts = rows.filter((row) => row.id.startsWith(`${id}-`)).map(({ verdict }) => verdict);
    return (['disagrees', 'doubtful', 'agrees'] as const).find((verdict) => verdicts.includes(verdict)) ?? 'not compared';
  };
  return (
    <table class="parts">
      <caption>Ours minus survey, {smallUnit(units).word}; after the fit in brackets</caption>
      <thead><tr><th scope="col">point</th><th scope="col" class="number">east</th><th scope="col" class="number">north</th><th scope="col" class="number">up</th><th scope="col">verdict</th><th scope="col"><span class="for-readers">take away</span></th></tr></thead>
      <tbody>
        {site.vectors.map(({ id, beforeM, afterM }) => (
          <tr key={id}>
            <th scope="row">{id}</th>
            {beforeM.map((before, axis) => <td key={axis} class="number">{before === null ? 'not told' : `${smallNumber(before, units)} (${smallNumber(afterM[axis]!, units)})`}</td>)}
            <td>{verdictOf(id)}</td>
            <td class="number"><button type="button" class="quiet" aria-label={`Remove tape ${id}`} onClick={() => actions.removeTape(id)}>Remove</button></td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Row({ name, number, text }: { readonly name: string; readonly number: Measured; readonly text: string }) {
  const says = isKnown(number) ? (Math.abs(number.value) > number.u95 ? 'beyond its ±' : 'within its ±') : '';
  return <tr><th scope="row">{name}</th><td class="number">{isKnown(number) ? text : <span class="reason">{text}</span>}</td><td>{says}</td></tr>;
}

/** Buildings from above with an arrow at each checkpoint from the survey to ours; solid before the fit, dashed after it. */
function VectorPlan({ site }: { readonly site: SiteFit }) {
  const { store } = useApp();
  const units = store.units.value;
  const { word } = smallUnit(units);
  const say = (metres: number | null): string => (metres === null ? 'not told' : `${smallNumber(metres, units)} ${word}`);
  const all = store.record.value!.buildings.map(({ outline }) => outline);
  // Buildings without a checkpoint would only make the rest small.
  const near = all.filter((outline) => site.vectors.some(({ at }) => ringContains(outline, [at[0], at[1]]) || outline.some(([x, y]) => Math.hypot(x - at[0], y - at[1]) < NEAR_M)));
  const outlines = near.length > 0 ? near : all;
  const frame = vectorFrame([...outlines.flat(), ...site.vectors.map(({ at }) => at)], WIDTH, HEIGHT, 34);
  const factor = exaggeration(site.vectors.flatMap(({ beforeM, afterM }) => [beforeM, afterM]), 30 / frame.perMetre);
  const tip = (at: readonly number[], [dx, dy]: readonly (number | null)[]): string => {
    const [x, y] = frame.toPicture([at[0]! + (dx ?? 0) * factor, at[1]! + (dy ?? 0) * factor]);
    return `${x.toFixed(1)} ${y.toFixed(1)}`;
  };
  return (
    <svg class="vectors" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={`Checkpoints from above. Ours minus survey in plan, drawn ${factor} times larger: ${site.vectors.map(({ id, beforeM: [x, y, z] }) => `${id} east ${say(x)}, north ${say(y)}, up ${say(z)}`).join('; ')}`}>
      {outlines.map((outline, i) => <path key={i} class="outline" d={`M${outline.map((corner) => frame.toPicture(corner).map((v) => v.toFixed(1)).join(' ')).join('L')}Z`} />)}
      {site.vectors.map(({ id, at, beforeM, afterM }) => {
        const [x, y] = frame.toPicture([at[0], at[1]]);
        return (
          <g key={id}>
            <path class="after" d={`M${x.toFixed(1)} ${y.toFixed(1)}L${tip(at, afterM)}`} />
            <path class="before" d={`M${x.toFixed(1)} ${y.toFixed(1)}L${tip(at, beforeM)}`} />
            <circle cx={x} cy={y} r="2.6" />
            <text x={x + 5} y={y - 5}>{id}{beforeM[2] === null ? '' : ` ${beforeM[2] < 0 ? '↓' : '↑'}${smallNumber(Math.abs(beforeM[2]), units)}`}</text>
          </g>
        );
      })}
      <text x="4" y={HEIGHT - 5}>ours minus survey, × {factor}, arrows up and down in {word}; dashed: what the fit leaves</text>
    </svg>
  );
}
