import { useEffect, useRef } from 'preact/hooks';
import { smallUnit } from '../units/unit-in-use.ts';
import { RESIDUAL_STEPS, residualClass } from '../viewer/palettes.ts';
import type { ResidualPicture } from '../viewer/residual-picture.ts';
import { useApp } from './app-context.ts';

const FIELD = { width: 190, height: 96 } as const;

/** Mean residuals as coloured squares, with signs where they pass two sigma. */
export function ResidualField({ picture }: { readonly picture: ResidualPicture }) {
  const { store } = useApp();
  const unit = smallUnit(store.units.value);
  const canvas = useRef<HTMLCanvasElement>(null);
  useEffect(() => draw(canvas.current!, picture), [picture, store.paper.value]);
  return <canvas ref={canvas} class="residual-field" role="img" aria-label={`Residuals of ${picture.pointCount} points about the plane, rms ${Number((picture.rmsM / unit.metres).toPrecision(2))} ${unit.word}`} />;
}

function draw(canvas: HTMLCanvasElement, picture: ResidualPicture): void {
  const ratio = Math.min(3, window.devicePixelRatio);
  const size = Math.min(FIELD.width / picture.columns, FIELD.height / picture.rows);
  const [width, height] = [picture.columns * size, picture.rows * size];
  canvas.width = Math.ceil(width * ratio);
  canvas.height = Math.ceil(height * ratio);
  canvas.style.width = `${width}px`;
  const context = canvas.getContext('2d')!;
  context.scale(ratio, ratio);
  const sign = size > 5;
  for (let row = 0; row < picture.rows; row++) {
    for (let column = 0; column < picture.columns; column++) {
      const i = row * picture.columns + column;
      if (picture.counts[i] === 0) continue;
      const mean = picture.means[i]!;
      context.fillStyle = RESIDUAL_STEPS[residualClass(mean, picture.rmsM)]!;
      context.fillRect(column * size, row * size, size + 0.3, size + 0.3);
      if (!sign || Math.abs(mean) < 2 * picture.rmsM) continue;
      context.fillStyle = '#ffffff';
      context.font = `700 ${size}px sans-serif`;
      context.fillText(mean > 0 ? '+' : '−', column * size + size * 0.2, row * size + size * 0.85);
    }
  }
}

const PLOT = { width: 216, height: 84, foot: 16 } as const;

/** How the residuals are spread, with the limits that hold 95 of 100. */
export function Histogram({ picture }: { readonly picture: ResidualPicture }) {
  const { counts, binM } = picture.histogram;
  const most = Math.max(...counts, 1);
  const room = PLOT.height - PLOT.foot;
  const step = PLOT.width / counts.length;
  const unit = smallUnit(useApp().store.units.value);
  const xOf = (size: number): number => PLOT.width / 2 + ((size * unit.metres) / binM) * step;
  const rms = picture.rmsM / unit.metres;
  const limit = 1.96 * rms;
  const tick = niceTick((rms * 3.2) / 2);
  return (
    <svg class="histogram" viewBox={`0 0 ${PLOT.width} ${PLOT.height}`} role="img" aria-label={`Spread of residuals: 95 of 100 lie within ${Number(limit.toPrecision(3))} ${unit.word}`}>
      {counts.map((count, i) => <rect key={i} x={i * step + 0.4} width={step - 0.8} y={room - (count / most) * (room - 6)} height={(count / most) * (room - 6)} class="bin" />)}
      <line x1="0" x2={PLOT.width} y1={room} y2={room} class="axis" />
      {[-limit, limit].map((at) => <line key={at} x1={xOf(at)} x2={xOf(at)} y1="2" y2={room} class="limit" />)}
      {[-tick, 0, tick].map((at) => <text key={at} x={xOf(at)} y={PLOT.height - 3} text-anchor="middle">{String(at).replace('-', '−')}{at > 0 ? ` ${unit.word}` : ''}</text>)}
    </svg>
  );
}

function niceTick(size: number): number {
  const power = 10 ** Math.floor(Math.log10(size));
  const lead = size / power;
  return Number((power * (lead < 1.5 ? 1 : lead < 3.5 ? 2 : lead < 7.5 ? 5 : 10)).toPrecision(2));
}
