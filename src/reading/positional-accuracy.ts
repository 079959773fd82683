import { meanAndDeviation, rootMeanSquare } from './sample-statistics.ts';

/** Count that ASPRS Positional Accuracy Standards, Edition 2 (2023), asks for; Edition 1 (2014) asked for 20, as NSSDA does. */
export const ASPRS_EDITION_2_LEAST_CHECKPOINTS = 30;
export const NSSDA_LEAST_CHECKPOINTS = 20;

/** A mean above this share of the RMSE may be a bias (PE&RS, May 2014, p. 397: 25 to 50 %). */
const BIAS_SHARE = 0.25;

export interface AxisAccuracy {
  readonly mean: number;
  readonly deviation: number;
  readonly rmse: number;
  readonly mayBeBiased: boolean;
}

export interface PositionalAccuracy {
  readonly count: number;
  readonly x: AxisAccuracy;
  readonly y: AxisAccuracy;
  readonly z: AxisAccuracy;
  readonly rmseHorizontal: number;
  /** ASPRS Edition 2: root sum of squares of horizontal and vertical. */
  readonly rmse3d: number;
  /** FGDC-STD-007.3-1998; ASPRS Edition 2 no longer states a 95 % figure. */
  readonly nssdaHorizontal95: number;
  readonly nssdaVertical95: number;
  readonly statement: string;
}

/** @param residuals  Ours minus survey, `n` triples of x, y, z. [m] */
export function positionalAccuracy(residuals: readonly (readonly [number, number, number])[]): PositionalAccuracy {
  const axis = (index: 0 | 1 | 2): AxisAccuracy => {
    const values = residuals.map((residual) => residual[index]);
    const { mean, deviation } = meanAndDeviation(values);
    const rmse = rootMeanSquare(values);
    return { mean, deviation, rmse, mayBeBiased: Math.abs(mean) > BIAS_SHARE * rmse };
  };
  const [x, y, z] = [axis(0), axis(1), axis(2)];
  const rmseHorizontal = Math.hypot(x.rmse, y.rmse);
  return {
    count: residuals.length,
    x,
    y,
    z,
    rmseHorizontal,
    rmse3d: Math.hypot(rmseHorizontal, z.rmse),
    nssdaHorizontal95: horizontal95(x.rmse, y.rmse),
    nssdaVertical95: 1.96 * z.rmse,
    statement: statementFor(residuals.length),
  };
}

/** FGDC-STD-007.3-1998, Appendix 3-A: equal axes, and unequal ones within 0.6 to 1 (from memory for the unequal case). */
function horizontal95(rmseX: number, rmseY: number): number {
  const ratio = Math.min(rmseX, rmseY) / Math.max(rmseX, rmseY);
  return ratio >= 0.6 && ratio < 1 ? 2.4477 * 0.5 * (rmseX + rmseY) : 1.7308 * Math.hypot(rmseX, rmseY);
}

function statementFor(count: number): string {
  if (count >= ASPRS_EDITION_2_LEAST_CHECKPOINTS) return `${count} checkpoints: enough for ASPRS Edition 2 (2023) and for NSSDA (1998).`;
  const nssda = count >= NSSDA_LEAST_CHECKPOINTS ? 'enough for NSSDA (1998), ' : `NSSDA (1998) asks for ${NSSDA_LEAST_CHECKPOINTS}, `;
  return `${count} checkpoints: ${nssda}ASPRS Edition 2 (2023) asks for ${ASPRS_EDITION_2_LEAST_CHECKPOINTS}; computed, but no conformity may be claimed.`;
}
