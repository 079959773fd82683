import { describe, expect, it } from 'vitest';
import { resolvabilityOf } from '../../../src/reading/resolvability.ts';

const survey = { noise: 0.02, correlationLength: 0.04, spacing: 0.02 };

describe('what a survey can show', () => {
  it('follows h D >= 2 z sigma l', () => {
    // 2 × 4.5 × 0.02 × 0.04 = 0.0072 m²: at a width of 0.2 m the limit is 3.6 cm.
    expect(resolvabilityOf({ ...survey, width: 0.2, height: 0.035 }).resolvability).toBe('below');
    expect(resolvabilityOf({ ...survey, width: 0.2, height: 0.037 }).resolvability).toBe('marginal');
    expect(resolvabilityOf({ ...survey, width: 0.2, height: 0.073 }).resolvability).toBe('resolved');
  });

  it('asks for samples across, of points or of pixels', () => {
    expect(resolvabilityOf({ ...survey, width: 0.07, height: 3 }).resolvability).toBe('below');
    expect(resolvabilityOf({ ...survey, width: 0.15, height: 3 }).resolvability).toBe('marginal');
    expect(resolvabilityOf({ ...survey, width: 0.3, height: 3, groundSampleDistance: 0.05 }).resolvability).toBe('marginal');
  });

  it('a hole is judged as a rise', () => {
    expect(resolvabilityOf({ ...survey, width: 0.5, height: -0.2 }).resolvability).toBe('resolved');
  });

  it('says why in one sentence with the numbers', () => {
    expect(resolvabilityOf({ ...survey, width: 0.2, height: 0.01 }).why).toBe('20.0 cm wide and 1.0 cm high: at this width the noise hides what is lower than 3.6 cm.');
  });
});
