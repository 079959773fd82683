import { describe, expect, test } from 'vitest';
import { missing } from '../../../src/units/measured.ts';
import { decimalPlaces, plainReading, writeCount, writeReading } from '../../../src/units/written-reading.ts';

const written = (value: number, u95: number) => writeReading({ value, u95 }, 'length')!;

describe('writeReading', () => {
  // Two significant digits of the uncertainty and the value to the same place: JCGM 100:2008, 7.2.6.
  test.each([
    [42.3102, 0.203, '42.31', '0.20'],
    [100.324, 0.411, '100.32', '0.41'],
    [1.8, 1.1, '1.8', '1.1'],
    [9.21446, 0.0164, '9.214', '0.016'],
    [0.14699, 0.0996, '0.15', '0.10'],
    [90342, 6900, '90 300', '6900'],
    [7167, 2947, '7200', '2900'],
    [7898, 132, '7900', '130'],
    [7898, 99.6, '7900', '100'],
    [-1234, 995, '−1200', '1000'],
    [476, 18, '476', '18'],
  ])('%f ± %f', (value, u95, digits, plusMinus) => {
    const { firm, soft, plusMinus: shown } = written(value, u95);
    expect(firm + soft).toBe(digits);
    expect(shown).toBe(plusMinus);
  });

  test('digits worth at least the ± are firm, smaller ones soft', () => {
    expect(written(42.3102, 0.203)).toMatchObject({ firm: '42.', soft: '31' });
    expect(written(9.2144, 0.0164)).toMatchObject({ firm: '9.2', soft: '14' });
    expect(written(0.147, 0.042)).toMatchObject({ firm: '0.1', soft: '47' });
  });

  test('a value smaller than its ± has no firm digit', () => {
    expect(written(1.8, 2.1)).toMatchObject({ firm: '', soft: '1.8' });
    expect(written(0.02, 0.5)).toMatchObject({ firm: '', soft: '0.02' });
  });

  test('a negative value carries a true minus, a rounded zero none', () => {
    expect(plainReading({ value: -0.057, u95: 0.012 }, 'length')).toBe('−0.057 m ± 0.012');
    expect(plainReading({ value: -0.0001, u95: 0.12 }, 'length')).toBe('0.00 m ± 0.12');
  });

  test('a missing value is not written as a number', () => {
    expect(writeReading(missing('level plane'), 'bearing')).toBeNull();
    expect(plainReading(missing('level plane'), 'bearing')).toBe('level plane');
  });

  test('feet and inches: 3.048 m is ten feet (international foot, exactly 0.3048 m)', () => {
    const choice = { length: 'ft-in', pitch: 'deg' } as const;
    expect(plainReading({ value: 3.048, u95: 0.0254 }, 'length', choice)).toBe('10′ 0.0″ ± 1.0');
    expect(plainReading({ value: 3.3274, u95: 0.0127 }, 'length', choice)).toBe('10′ 11.00″ ± 0.50');
    expect(plainReading({ value: 9.290304, u95: 0.9290304 }, 'area', choice)).toBe('100 ft² ± 10');
  });

  test('pitch as per cent and as rise in 12: 45° rises 12 in 12, 100 per cent', () => {
    expect(plainReading({ value: 45, u95: 0.1 }, 'pitch', { length: 'm', pitch: 'in-12' })).toBe('12.000 in 12 ± 0.042');
    expect(plainReading({ value: 45, u95: 0.1 }, 'pitch', { length: 'm', pitch: 'percent' })).toBe('100.00 % ± 0.35');
  });
});

test('decimalPlaces rounds before it counts', () => {
  expect([0.0994, 0.0996, 0.1, 9.96, 12].map(decimalPlaces)).toEqual([3, 2, 2, 0, 0]);
});

test('counts group thousands from five digits on', () => {
  expect([1998, 14212, 1998312].map(writeCount)).toEqual(['1998', '14 212', '1 998 312']);
});
