import { HEIGHT_STEPS, RESIDUAL_STEPS } from '../palettes.ts';
import type { InkFrame } from './frame.ts';
import { figure, type Pen } from './pen.ts';

const STEP = 26;
const FEET_PER_METRE = 1 / 0.3048;

/** What the colours of the points mean, above the scale bar. */
export function drawPointLegend(pen: Pen, frame: InkFrame): void {
  const { pointColours } = frame;
  if (!pointColours || frame.compact) return;
  const isResidual = pointColours.by === 'residual';
  const steps = isResidual ? RESIDUAL_STEPS : HEIGHT_STEPS;
  const [left, top] = [50, frame.view.height - 104];
  const { sheet, ink, ink2 } = pen.paper;
  pen.fill([[left - 8, top - 26], [left + steps.length * STEP + 40, top - 26], [left + steps.length * STEP + 40, top + 34], [left - 8, top + 34]], sheet, 0.86);
  steps.forEach((colour, i) => pen.fill([[left + i * STEP, top], [left + (i + 1) * STEP + 0.5, top], [left + (i + 1) * STEP + 0.5, top + 11], [left + i * STEP, top + 11]], colour));
  pen.line([[left, top], [left + steps.length * STEP, top], [left + steps.length * STEP, top + 11], [left, top + 11]], { width: 1, colour: ink }, true);
  const title = isResidual ? 'points minus plane, mm' : frame.units.length === 'ft-in' ? 'elevation, feet' : 'elevation, metres';
  pen.write([figure(title, 12.5)], [left, top - 13], { halo: sheet });
  const factor = isResidual ? 1000 : frame.units.length === 'ft-in' ? FEET_PER_METRE : 1;
  const [low, high] = [pointColours.from * factor, pointColours.to * factor];
  const places = Math.abs(high - low) > 40 ? 0 : 1;
  for (let i = 0; i <= steps.length; i += isResidual ? 1 : 3) {
    const value = low + ((high - low) * i) / steps.length;
    pen.write([figure(value.toFixed(places).replace('-', '−'), 12, 400, ink2)], [left + i * STEP, top + 22], { align: 'centre', halo: sheet });
  }
}
