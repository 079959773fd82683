import type { EdgeKind } from '../../roof/record.ts';

export interface DxfLayer {
  readonly name: string;
  /** Index colour for R12, true colour for R2007. */
  readonly index: number;
  readonly rgb: number;
  readonly lineType: 'CONTINUOUS' | 'HIP' | 'VALLEY' | 'DOTS';
  /** Hundredths of a millimetre. */
  readonly weight: number;
  readonly about: string;
}

const INK = 0x13201d;

/** Names stay within what R12 allows: capital letters, digits and hyphens, at most 31. */
export const DXF_LAYERS: readonly DxfLayer[] = [
  layer('BUILDING-OUTLINE', 8, 0x727f79, 25, 'outline of each building, closed, in plan'),
  layer('PLANE-OUTLINE', 7, INK, 35, 'outline of each roof plane, closed, in plan'),
  layer('PLANE-HOLE', 7, INK, 25, 'openings in roof planes, closed, in plan'),
  layer('PLANE-SURFACE', 9, 0xb3beb7, 9, 'roof planes as 3D faces on the measured surface'),
  layer('EDGE-EAVE', 5, 0x0072b2, 50, 'eaves in space'),
  layer('EDGE-RIDGE', 30, 0xd55e00, 50, 'ridges in space'),
  layer('EDGE-HIP', 104, 0x009e73, 50, 'hips in space', 'HIP'),
  layer('EDGE-VALLEY', 140, 0x56b4e9, 50, 'valleys in space', 'VALLEY'),
  layer('EDGE-RAKE', 221, 0xcc79a7, 35, 'rakes in space'),
  layer('EDGE-PARAPET', 40, 0xe69f00, 35, 'roof edges that end at a parapet, in space'),
  layer('EDGE-ABUTMENT', 8, 0x727f79, 35, 'roof edges that end at a wall, in space'),
  layer('EDGE-UNKNOWN', 7, INK, 35, 'edges of unknown kind, in space', 'DOTS'),
  layer('PARAPET', 40, 0xe69f00, 35, 'inner face of each parapet at roof level, in space'),
  layer('OBSTRUCTION', 1, 0xd55e00, 35, 'footprint of each obstruction, closed, in plan'),
  layer('OBSTRUCTION-SURFACE', 1, 0xd55e00, 9, 'obstructions of known height as 3D faces'),
  layer('OBSTRUCTION-TAG', 1, 0xd55e00, 18, 'block with attributes ID, NAME, HEIGHT_M, HEIGHT_U95_M, SHAPE, SURE, NOTE'),
  layer('SMALL-FEATURE', 6, 0xcc79a7, 25, 'drains, pipes, gutters: verify on site'),
  layer('LOW-POINT', 4, 0x56b4e9, 25, 'low points of the roof'),
  layer('POND', 4, 0x56b4e9, 18, 'what could be under water before it spills, closed, in plan', 'DOTS'),
  layer('LEVEL-LINE', 4, 0x56b4e9, 25, 'lines in which two boards meet without a fall, in space', 'HIP'),
  layer('KEEP-CLEAR', 30, 0xe69f00, 18, 'keep-clear zones, closed, in plan'),
  layer('USABLE', 3, 0x009e73, 25, 'usable area, closed, in plan'),
  layer('MODULE', 5, 0x0072b2, 25, 'module places, closed, in plan'),
  layer('MODULE-SURFACE', 5, 0x0072b2, 9, 'module places as 3D faces on the roof plane'),
  layer('DIMENSION', 7, INK, 18, 'lengths in plan of level edges'),
  layer('LABEL', 7, INK, 18, 'names of planes, edges and obstructions with pitch and slope length'),
  layer('NORTH', 7, INK, 25, 'true north'),
  layer('NOTE', 7, INK, 18, 'origin, unit, projection, who decides'),
];

function layer(name: string, index: number, rgb: number, weight: number, about: string, lineType: DxfLayer['lineType'] = 'CONTINUOUS'): DxfLayer {
  return { name, index, rgb, lineType, weight, about };
}

export const edgeLayer = (kind: EdgeKind): string => `EDGE-${kind.toUpperCase()}`;

/** Pen down and pen up lengths in millimetres on paper, for a drawing at `metresPerPaperMm`. */
export const LINE_TYPES: readonly { readonly name: string; readonly about: string; readonly dashes: readonly number[] }[] = [
  { name: 'HIP', about: 'hip, long dash and short dash', dashes: [4.2, -1.1, 0.7, -1.1] },
  { name: 'VALLEY', about: 'valley, dashes', dashes: [1.9, -1.1] },
  { name: 'DOTS', about: 'unknown, dots', dashes: [0, -1.3] },
];
