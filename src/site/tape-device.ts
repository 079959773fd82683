export type TapeDevice = 'steel-tape-1' | 'steel-tape-2' | 'steel-tape-3' | 'laser' | 'level' | 'inclinometer' | 'total-station' | 'receiver';

export interface TapeDeviceAbout {
  readonly device: TapeDevice;
  readonly title: string;
  /** Largest error of the instrument itself at a length. [m], [degree] for an inclinometer */
  readonly tolerance: (length: number) => number;
  /** One sigma of holding, aiming and reading it on a roof. Common practice, no source. Same unit. */
  readonly handlingSigma: number;
  readonly isSteel: boolean;
  readonly source: string;
}

const MEASURING_INSTRUMENTS = 'Directive 2014/32/EU, annex X (MI-008), chapter I, table 1';

/**
 * Instruments and what their makers or the law promise. Maximum permissible errors are hard limits; values marked as
 * common practice are what such instruments usually state, and the instrument's own sheet goes before them.
 */
export const TAPE_DEVICES: readonly TapeDeviceAbout[] = [
  steelTape('steel-tape-1', 'I', 0.1, 0.1, 0.1),
  steelTape('steel-tape-2', 'II', 0.3, 0.2, 0.2),
  steelTape('steel-tape-3', 'III', 0.6, 0.4, 0.3),
  {
    device: 'laser', title: 'laser distance meter', isSteel: false, handlingSigma: 0.003,
    // Out of doors: ± 2 mm, and 0.15 mm more for each metre beyond ten.
    tolerance: (length) => 0.002 + 0.00015 * Math.max(0, length - 10),
    source: 'stated as ISO 16331-1:2017 asks, out of doors at 95 %; figures common practice, no source',
  },
  { device: 'level', title: 'level and staff', isSteel: false, handlingSigma: 0.003, tolerance: () => 0.002, source: 'common practice, no source; test by ISO 17123-2' },
  { device: 'inclinometer', title: 'inclinometer', isSteel: false, handlingSigma: 0.2, tolerance: () => 0.1, source: 'common practice, no source' },
  { device: 'total-station', title: 'total station', isSteel: false, handlingSigma: 0.004, tolerance: () => 0.004, source: 'common practice, no source; test by ISO 17123-5' },
  { device: 'receiver', title: 'satellite receiver with corrections', isSteel: false, handlingSigma: 0.01, tolerance: () => 0.02, source: 'common practice, no source; test by ISO 17123-8' },
];

/**
 * ± (a + b L) mm between two scale marks, L in metres rounded up to the next whole one, and c more from an end that is a
 * surface: a hook or a ring, as on a tape that is hung over an edge.
 */
function steelTape(device: TapeDevice, name: string, a: number, b: number, c: number): TapeDeviceAbout {
  return {
    device, title: `steel tape, class ${name}`, isSteel: true, handlingSigma: 0.005,
    tolerance: (length) => (a + b * Math.ceil(Math.abs(length)) + c) / 1000,
    source: MEASURING_INSTRUMENTS,
  };
}

export const aboutDevice = (device: TapeDevice): TapeDeviceAbout => TAPE_DEVICES.find((each) => each.device === device)!;

/**
 * One sigma of a reading with an instrument: its tolerance as a uniform limit (GUM, JCGM 100:2008, 4.3.7), joined with
 * its handling.
 *
 * @param value  Metres, or degrees for an inclinometer.
 */
export function deviceSigma(device: TapeDevice, value: number): number {
  const { tolerance, handlingSigma } = aboutDevice(device);
  return Math.hypot(tolerance(value) / Math.sqrt(3), handlingSigma);
}

/** "± 2.5 mm at 10.00 m (Directive …)". */
export function toleranceStatement(device: TapeDevice, value: number): string {
  const { tolerance, source } = aboutDevice(device);
  if (device === 'inclinometer') return `± ${tolerance(value)}° (${source})`;
  const at = device === 'level' || device === 'receiver' || device === 'total-station' ? '' : ` at ${value.toFixed(2)} m`;
  return `± ${(1000 * tolerance(value)).toFixed(1)} mm${at} (${source})`;
}
