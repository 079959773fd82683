import jstat from 'jstat';

const { chisquare, studentt, normal } = jstat.jStat;

/** Value that a chi-square variable stays below with the given probability. */
export const chiSquareQuantile = (probability: number, degreesOfFreedom: number): number => chisquare.inv(probability, degreesOfFreedom);

/** Probability that a chi-square variable exceeds the value. */
export const chiSquareTail = (value: number, degreesOfFreedom: number): number => 1 - chisquare.cdf(value, degreesOfFreedom);

export const studentQuantile = (probability: number, degreesOfFreedom: number): number => studentt.inv(probability, degreesOfFreedom);

export const normalQuantile = (probability: number): number => normal.inv(probability, 0, 1);

/** Probability that a standard normal variable stays below the value. */
export const normalCumulative = (value: number): number => normal.cdf(value, 0, 1);
