import type { Paint } from './surface.ts';

type Colour = readonly [number, number, number];

const BASE: Record<Paint, Colour> = {
  'clay tile': [168, 92, 66], slate: [92, 98, 108], membrane: [196, 196, 190], zinc: [150, 158, 164], brick: [146, 84, 66],
  plaster: [226, 216, 196], timber: [128, 104, 80], concrete: [168, 164, 156], quay: [150, 146, 138], grass: [104, 126, 70],
  water: [58, 84, 96], glass: [88, 112, 128], metal: [182, 186, 188], leaf: [70, 104, 52], 'white van': [228, 228, 224],
  'blue van': [64, 92, 140], fascia: [210, 208, 202],
};

/** Shade of a place on a surface, 1 for the plain colour. `u` runs level, `v` up or north. [m] */
function pattern(paint: Paint, u: number, v: number): number {
  switch (paint) {
    case 'clay tile': return (frac(v / 0.34) < 0.14 ? 0.78 : 1) * (frac(u / 0.22) < 0.16 ? 0.92 : 1);
    case 'slate': return frac(v / 0.25) < 0.1 ? 0.82 : 0.95 + 0.1 * checker(u / 0.3, v / 0.25);
    case 'membrane': return frac(u / 1.5) < 0.03 ? 0.86 : 1;
    case 'brick': return frac(v / 0.2) < 0.15 ? 1.12 : 1;
    case 'quay': return frac(u / 0.8) < 0.05 || frac(v / 0.5) < 0.06 ? 0.8 : 0.94 + 0.1 * checker(u / 0.8, v / 0.5);
    case 'grass': return 0.85 + 0.3 * checker(u / 0.17, v / 0.13);
    case 'timber': return frac(u / 0.16) < 0.12 ? 0.75 : 1;
    default: return 1;
  }
}

const frac = (x: number): number => x - Math.floor(x);
/** A number from 0 to 1 that belongs to a tile of the pattern. */
function checker(u: number, v: number): number {
  let h = (Math.imul(Math.floor(u), 0x27d4eb2d) ^ Math.imul(Math.floor(v), 0x165667b1)) | 0;
  h = Math.imul(h ^ (h >>> 15), 0x2c1b3c6d);
  return ((h ^ (h >>> 13)) >>> 0) / 4294967296;
}

/** Windows and a door in rows along walls. */
function isWindow(paint: Paint, u: number, heightAboveGround: number): boolean {
  if (paint !== 'plaster' && paint !== 'brick' && paint !== 'timber') return false;
  const storey = frac(heightAboveGround / 2.9) * 2.9;
  return frac(u / 2.4) > 0.35 && frac(u / 2.4) < 0.75 && storey > 0.9 && storey < 2.1;
}

/**
 * Writes red, green, blue of a place.
 *
 * @param light  Share of full sunlight, 0 to 1.
 * @param grain  Independent noise of the picture, sigma about 1.
 */
export function writeColour(
  to: Uint8Array, at: number, paint: Paint, upright: boolean, u: number, v: number, heightAboveGround: number, light: number, grain: number,
): void {
  const base = upright && isWindow(paint, u, heightAboveGround) ? BASE.glass : BASE[paint];
  const shade = pattern(paint, u, v) * (0.55 + 0.45 * light) + 0.02 * grain;
  for (let k = 0; k < 3; k++) to[at + k] = Math.max(0, Math.min(255, Math.round(base[k]! * shade)));
}
