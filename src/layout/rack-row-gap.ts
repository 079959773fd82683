import { solsticeRowGap } from '../sun/row-shading.ts';
import { InputError } from '../units/input-error.ts';
import type { FitOptions } from './fit-options.ts';
import type { RackSpec } from './module-spec.ts';
import { sin } from '../geometry/same-math.ts';

/** The rack with its row distance: given, or by the sun-angle rule. */
export function rackFor({ rack, module, latitudeDeg }: FitOptions): RackSpec | null {
  if (!rack) return null;
  if (rack.rowGapM !== null) return { ...rack, rowGapM: rack.rowGapM };
  // Pairs back to back throw no shade on each other between slopes; a foot's width is left to walk (common practice, no source).
  if (rack.kind === 'east-west') return { ...rack, rowGapM: 0.3 };
  if (latitudeDeg === null) throw new InputError('tilt', 'needs --latitude for the distance between rows, or --row-gap-m.');
  const rise = (module.turn === 'upright' ? module.heightM : module.widthM) * sin((rack.tiltDeg * Math.PI) / 180);
  const facing = rack.facingDeg === null ? (latitudeDeg >= 0 ? Math.PI : 0) : (rack.facingDeg * Math.PI) / 180;
  try {
    return { ...rack, rowGapM: solsticeRowGap(rise, facing, (latitudeDeg * Math.PI) / 180) };
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    throw new InputError('tilt', `at latitude ${latitudeDeg} the sun is down at 9 h on the winter solstice; give --row-gap-m.`);
  }
}
