import { smallUnit } from '../../units/unit-in-use.ts';
import { className } from '../class-names.ts';
import { classColour, HEIGHT_STEPS, RESIDUAL_STEPS } from '../palettes.ts';
import type { InkFrame } from './frame.ts';
import { figure, type Pen } from './pen.ts';

/** Width of one colour; residuals have a number at each, and need more. [px] */
const STEP = { elevation: 26, residual: 42 } as const;
/** Classes written in one row. */
const CLASSES_IN_ROW = 2;
const FEET_PER_METRE = 1 / 0.3048;

/** What the colours of the points mean, above the scale bar. */
export function drawPointLegend(pen: Pen, frame: InkFrame): void {
  const { pointColours } = frame;
  if (!pointColours || frame.compact) return;
  if (pointColours.by === 'class') return drawClasses(pen, frame, pointColours.classes);
  const isResidual = pointColours.by === 'residual';
  const steps = isResidual ? RESIDUAL_STEPS : HEIGHT_STEPS;
  const step = STEP[pointColours.by];
  const [left, top] = [50, frame.view.height - 104];
  const { sheet, ink, ink2 } = pen.paper;
  pen.fill([[left - 8, top - 26], [left + steps.length * step + 40, top - 26], [left + steps.length * step + 40, top + 34], [left - 8, top + 34]], sheet, 0.86);
  steps.forEach((colour, i) => pen.fill([[left + i * step, top], [left + (i + 1) * step + 0.5, top], [left + (i + 1) * step + 0.5, top + 11], [left + i * step, top + 11]], colour));
  pen.line([[left, top], [left + steps.length * step, top], [left + steps.length * step, top + 11], [left, top + 11]], { width: 1, colour: ink }, true);
  const title = isResidual ? `points minus plane, ${smallUnit(frame.units).word}` : frame.units.length === 'ft-in' ? 'elevation, feet' : 'elevation, metres';
  pen.write([figure(title, 12.5)], [left, top - 13], { halo: sheet });
  const factor = isResidual ? 1 / smallUnit(frame.units).metres : frame.units.length === 'ft-in' ? FEET_PER_METRE : 1;
  const [low, high] = [pointColours.from * factor, pointColours.to * factor];
  const places = Math.abs(high - low) > 40 ? 0 : Math.abs(high - low) > 4 ? 1 : 2;
  for (let i = 0; i <= steps.length; i += isResidual ? 1 : 3) {
    const value = low + ((high - low) * i) / steps.length;
    pen.write([figure(value.toFixed(places).replace('-', '−'), 12, 400, ink2)], [left + i * step, top + 22], { align: 'centre', halo: sheet });
  }
}

/** A dot and a name for each class that occurs. */
function drawClasses(pen: Pen, frame: InkFrame, classes: readonly number[]): void {
  const rows = Math.ceil(classes.length / CLASSES_IN_ROW);
  const [left, bottom] = [50, frame.view.height - 84];
  pen.fill([[left - 8, bottom - 18 * rows - 6], [left + 300, bottom - 18 * rows - 6], [left + 300, bottom + 8], [left - 8, bottom + 8]], pen.paper.sheet, 0.86);
  classes.forEach((number, i) => {
    const [x, y] = [left + (i % CLASSES_IN_ROW) * 148, bottom - 18 * (rows - 1 - Math.floor(i / CLASSES_IN_ROW)) - 6];
    pen.circle([x + 5, y], 5);
    pen.context.fillStyle = classColour(i);
    pen.context.fill();
    pen.write([figure(`${number} `, 12, 400, pen.paper.ink2), figure(className(number), 12.5)], [x + 16, y], { halo: pen.paper.sheet });
  });
}
