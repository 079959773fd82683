import jstat from 'jstat';

const { chisquare, studentt, normal } = jstat.jStat;

/** The library leaves last digits to the engine, and is good to nine of them: no more are given on. */
const settled = (value: number): number => Number(value.toPrecision(9));

/** Value that a chi-square variable stays below with the given probability. */
export const chiSquareQuantile = (probability: number, degreesOfFreedom: number): number => settled(chisquare.inv(probability, degreesOfFreedom));

/** Probability that a chi-square variable exceeds the value. */
export const chiSquareTail = (value: number, degreesOfFreedom: number): number => settled(1 - chisquare.cdf(value, degreesOfFreedom));

export const studentQuantile = (probability: number, degreesOfFreedom: number): number => settled(studentt.inv(probability, degreesOfFreedom));

export const normalQuantile = (probability: number): number => settled(normal.inv(probability, 0, 1));

/** Probability that a standard normal variable stays below the value. */
export const normalCumulative = (value: number): number => settled(normal.cdf(value, 0, 1));
