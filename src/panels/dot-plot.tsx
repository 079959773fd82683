import { isKnown, type Measured } from '../units/measured.ts';
import { smallNumber, smallUnit } from '../units/unit-in-use.ts';
import type { UnitChoice } from '../units/written-reading.ts';

const WIDTH = 150;
const HEIGHT = 18;

const xOf = (metres: number, reachM: number): number => WIDTH / 2 + (metres / reachM) * (WIDTH / 2 - 8);

/** Head of the column: zero in the middle, the reach at either end. */
export function DotPlotScale({ reachM, units }: { readonly reachM: number; readonly units: UnitChoice }) {
  const { word, metres } = smallUnit(units);
  const step = word === 'in' ? 0.5 : 10;
  const reach = Math.floor(reachM / metres / step) * step || Number((reachM / metres).toPrecision(2));
  return (
    <svg class="dot-plot" viewBox={`0 0 ${WIDTH} 14`} role="img" aria-label={`ours minus tape, ${word}`}>
      {[-reach, 0, reach].map((at) => <text key={at} x={xOf(at * metres, reachM)} y="11" text-anchor={at < 0 ? 'start' : at > 0 ? 'end' : 'middle'}>{at === 0 ? `0 ${word}` : String(at).replace('-', '−')}</text>)}
    </svg>
  );
}

/** One residual: whisker 95 % of both, band the tolerance; filled agrees, hollow doubtful, cross disagrees. */
export function DotPlotMark({ residual, verdict, toleranceM, reachM, units }: { readonly residual: Measured; readonly verdict: string; readonly toleranceM: number; readonly reachM: number; readonly units: UnitChoice }) {
  if (!isKnown(residual)) return <span class="reason">{residual.why}</span>;
  const x = xOf(residual.value, reachM);
  const y = HEIGHT / 2;
  const clamp = (value: number): number => Math.min(WIDTH - 1, Math.max(1, value));
  return (
    <svg class="dot-plot" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={`${smallNumber(residual.value, units)} ${smallUnit(units).word}, plus or minus ${smallNumber(residual.u95, units)}, ${verdict}`}>
      <rect class="band" x={xOf(-toleranceM, reachM)} width={xOf(toleranceM, reachM) - xOf(-toleranceM, reachM)} y="0" height={HEIGHT} />
      <line class="axis" x1={WIDTH / 2} x2={WIDTH / 2} y1="0" y2={HEIGHT} />
      <line class="whisker" x1={clamp(xOf(residual.value - residual.u95, reachM))} x2={clamp(xOf(residual.value + residual.u95, reachM))} y1={y} y2={y} />
      {verdict === 'disagrees' ? <path class="cross" d={`M${x - 5} ${y - 5}l10 10m0-10l-10 10`} /> : <circle class={verdict === 'agrees' ? 'filled' : 'hollow'} cx={x} cy={y} r="4.2" />}
    </svg>
  );
}
