import type { Vector3 } from '../geometry/vector.ts';
import type { RoofRecord } from '../roof/record.ts';
import { northOf } from './north.ts';
import { crsOf, type DrawingUnit, type HandoverOptions } from './handover-kind.ts';

/** International foot (exact by definition, 1959) and US survey foot (1200/3937 m exactly). */
const METRES_IN: Readonly<Record<DrawingUnit, number>> = { m: 1, ft: 0.3048, 'us-ft': 1200 / 3937 };
const UNIT_WORD: Readonly<Record<DrawingUnit, string>> = { m: 'metres', ft: 'feet (0.3048 m)', 'us-ft': 'US survey feet (1200/3937 m)' };

/** How local-frame metres become the numbers of a drawing, and the sentences that say so. */
export interface DrawingPlace {
  readonly place: (local: Vector3) => Vector3;
  /** Drawing units in one metre. */
  readonly perMetre: number;
  readonly unit: DrawingUnit;
  readonly statement: readonly string[];
}

export function drawingPlace(record: RoofRecord, options: HandoverOptions): DrawingPlace {
  const { origin = 'local', unit = 'm' } = options;
  const perMetre = 1 / METRES_IN[unit];
  const shift: Vector3 = origin === 'grid' ? record.frame.origin : [0, 0, 0];
  return {
    place: ([x, y, z]) => [(x + shift[0]) * perMetre, (y + shift[1]) * perMetre, (z + shift[2]) * perMetre],
    perMetre,
    unit,
    statement: placeStatement(record, options),
  };
}

function placeStatement(record: RoofRecord, options: HandoverOptions): string[] {
  const { origin = 'local', unit = 'm' } = options;
  const perMetre = 1 / METRES_IN[unit];
  const [x, y, z] = record.frame.origin.map((value) => decimal(value * perMetre)) as [string, string, string];
  const crs = crsOf(record, options);
  const system = crs ?? 'source coordinates (no projection stated)';
  return [
    `Unit: ${UNIT_WORD[unit]}.`,
    origin === 'grid'
      ? `Coordinates: full grid coordinates, ${system}.`
      : `Coordinates: local origin. Add ${x} east, ${y} north, ${z} up (${unit}) for full coordinates in ${system}.`,
    `x is grid east, y is grid north, z is up. ${northOf(record) === 'true' ? `True bearing = grid bearing + ${decimal(record.frame.gridToTrueDeg)} degrees.` : 'True north is not known without a projection.'}`,
    `Grid lengths divided by ${decimal(record.frame.scaleFactor, 8)} are ground lengths.`,
  ];
}

const decimal = (value: number, places = 4): string => String(Number(value.toFixed(places)));
