import { InputError } from '../../units/input-error.ts';
import type { Truth } from './truth.ts';

/** What every entry of a list must hold: `point` a row of 2 or 3 numbers, `ring` three points or more, `path` two or more. */
type Demand = 'text' | 'number' | 'number or null' | 'unit vector' | 'point' | 'ring' | 'path' | 'rings' | 'texts';

const LISTS: Readonly<Record<string, Readonly<Record<string, Demand>>>> = {
  buildings: { id: 'text', groundElevationM: 'number' },
  planes: {
    id: 'text', building: 'text', roof: 'text', normal: 'unit vector', pitchDeg: 'number', azimuthGridDeg: 'number or null',
    ring: 'ring', holes: 'rings', slopeAreaM2: 'number', planAreaM2: 'number',
  },
  edges: { id: 'text', kind: 'text', planes: 'texts', from: 'point', to: 'point' },
  obstructions: {
    id: 'text', plane: 'text', class: 'text', shape: 'text', footprint: 'ring', widthM: 'number', heightAboveRoofM: 'number',
  },
  parapets: { id: 'text', path: 'path', heightAboveRoofM: 'number', topElevationM: 'number or null', thicknessM: 'number' },
  drains: { id: 'text', at: 'point' },
  curved: { id: 'text', ring: 'ring' },
};

/**
 * Reads a truth file.
 *
 * @param name  File name for messages.
 * @throws InputError naming the first field that is not as the form wants it.
 */
export function parseTruth(text: string, name: string): Truth {
  let parsed: unknown;
  try {
    parsed = JSON.parse(text);
  } catch (error) {
    throw new InputError(name, `expected JSON, ${(error as Error).message}`);
  }
  if (typeof parsed !== 'object' || parsed === null) throw new InputError(name, `expected an object, got ${JSON.stringify(parsed)}`);
  const truth = parsed as Record<string, unknown>;
  if (truth['schema'] !== 'roofdatum-truth/1') {
    throw new InputError(name, `schema: expected "roofdatum-truth/1", got ${JSON.stringify(truth['schema'])}`);
  }
  if (!meets(truth['groundElevationM'], 'number')) throw new InputError(name, 'groundElevationM: expected a number');
  const sampling = truth['sampling'] as Record<string, unknown> | undefined;
  if (!sampling || !((sampling['spacingM'] as number) > 0)) throw new InputError(name, 'sampling.spacingM: expected a number above 0');
  for (const [list, fields] of Object.entries(LISTS)) {
    const entries = truth[list];
    if (!Array.isArray(entries)) throw new InputError(name, `${list}: expected a list, got ${JSON.stringify(entries)}`);
    entries.forEach((entry: Record<string, unknown>, i) => {
      for (const [field, demand] of Object.entries(fields)) {
        if (meets(entry?.[field], demand)) continue;
        throw new InputError(name, `${list}[${i}].${field}: expected ${demand}, got ${JSON.stringify(entry?.[field])?.slice(0, 60)}`);
      }
    });
  }
  return parsed as Truth;
}

function meets(value: unknown, demand: Demand): boolean {
  switch (demand) {
    case 'text': return typeof value === 'string';
    case 'number': return typeof value === 'number' && Number.isFinite(value);
    case 'number or null': return value === null || meets(value, 'number');
    case 'point': return Array.isArray(value) && (value.length === 2 || value.length === 3) && value.every((c) => meets(c, 'number'));
    case 'unit vector': return meets(value, 'point') && Math.abs(Math.hypot(...(value as number[])) - 1) < 1e-6;
    case 'ring': return Array.isArray(value) && value.length >= 3 && value.every((p) => meets(p, 'point'));
    case 'path': return Array.isArray(value) && value.length >= 2 && value.every((p) => meets(p, 'point'));
    case 'rings': return Array.isArray(value) && value.every((ring) => meets(ring, 'ring'));
    case 'texts': return Array.isArray(value) && value.every((t) => meets(t, 'text'));
  }
}
