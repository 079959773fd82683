import { persistentMinima, type Minimum } from '../../../geometry/persistent-minima.ts';
import type { Vector2, Vector3 } from '../../../geometry/vector.ts';
import { SIGMAS_95 } from '../../../reading/plane-uncertainty.ts';
import type { LowPoint } from '../../../roof/record.ts';
import { measured, missing } from '../../../units/measured.ts';
import { deckHeights, longWaveSigma, type DeckHeights } from './deck-heights.ts';
import type { FaceFit } from '../faces/fit-faces.ts';
import { elevationAt } from '../borders/intersections.ts';
import type { PointLookup } from '../raster/point-lookup.ts';
import { inwardHoles, type InwardHole } from './inward-holes.ts';
import { pondOf } from './pond.ts';
import type { FoundEdge } from '../edges/roof-edges.ts';
import { cellCentre, type Face, type RoofRaster } from '../raster/roof-raster.ts';
import type { SolvedCorners } from '../corners/solve-corners.ts';
import type { RoofMap } from '../borders/split-arcs.ts';
import { taperBottoms, type TaperBottom, type TaperLine } from './taper-planes.ts';
import { log } from '../../../geometry/same-math.ts';

/** Steeper planes shed water by themselves. [-] 5°. */
const NEAR_FLAT = 0.0875;
/** Shallower hollows are not told from deflection. [m] */
const LEAST_DEPTH = 0.012;
const LEAST_SIGMAS = 3;
/** A low point this near an edge where water can leave is the eave. [m] */
const RIM = 0.4;
/** Corner of falling planes this near a minimum is where the water goes. [m] */
const CORNER_REACH = 0.6;
/**
 * Depth over the sigma of the long waves: a drain, and anything at all. For a square bay the depth is 0.89 times fall times
 * basin radius, so this is the ratio of methods D, whose 10 and 5 hold for waves before smoothing; limits calibrated by the
 * simulation of drains in the accuracy run.
 */
const TRUSTWORTHY = 8;
const TELLING = 6.3;
/** A hollow that no pass ends is as deep as the deck's heights range, and those of mere waves range over some seven sigmas. */
const TELLING_FULL = 9.5;
const CANNOT_TELL = 'cannot be told from this cloud';
/** Depth of a square bay over fall times basin radius. */
const BAY_SHAPE = Math.sqrt(Math.PI) / 2;
/** Smoothing lifts the bottom of a cone and lowers a crease by its fall times its own sigma times these (mean distances). */
const SMOOTHED_BOTTOM = Math.sqrt(Math.PI / 2);
const SMOOTHED_CREASE = Math.sqrt(2 / Math.PI);
/** Noise lowers the lowest pass of a level divide, and raises the highest place: expected extremes of some 20 and 7 heights. [sigmas] */
const LOWEST_PASS = 1.87;
const HIGHEST_PLACE = 1.35;
/**
 * Fall times basin radius over sigma, the middle one of a deck's hollows, from which on its drains are claimed. Sigma is that
 * of smoothed heights, seven tenths of the waves' own, so this is the 10 of methods D: of 88 drains of simulated decks from
 * there on, 98 % have a low point within 0.3 m.
 */
const TRUSTED_RATIO = 13;
/** And no place is claimed whose own 95 % radius is more. [m] */
const WORST_PLACED = 0.45;
/** Radius that holds 95 % of a two-dimensional normal scatter, in sigmas of an axis. */
const SIGMAS_95_IN_PLAN = Math.sqrt(-2 * log(0.05));

export interface LowPointInput {
  readonly raster: RoofRaster;
  readonly faces: readonly Face[];
  readonly fits: readonly FaceFit[];
  readonly edges: readonly FoundEdge[];
  readonly map: RoofMap;
  readonly points: PointLookup;
  readonly solved: SolvedCorners;
}

/**
 * Hollows of near-flat roofs where water would stand or drain: minima by persistence, placed by where taper planes meet.
 * A deck whose hollows are no deeper than the waves of its noise gives one entry that says so instead of a place.
 */
export function lowPoints(input: LowPointInput): Omit<LowPoint, 'id'>[] {
  const flat = input.fits.map((fit) => Math.hypot(fit.slopeX, fit.slopeY) < NEAR_FLAT && fit.pointCount > 50);
  if (!flat.some(Boolean)) return [];
  const deck = deckHeights(input.raster, input.faces, flat, input.points);
  return flatGroups(input, flat).flatMap((group) => groupLowPoints(input, deck, new Set(group)));
}

/** Near-flat faces that touch belong to one roof deck. */
function flatGroups({ map, solved, fits }: LowPointInput, flat: readonly boolean[]): number[][] {
  const group = fits.map((_, i) => i);
  const find = (i: number): number => {
    while (group[i] !== i) i = group[i]!;
    return i;
  };
  map.pieces.forEach((piece, i) => {
    if (solved.vanished[i] || piece.left === 0 || piece.right === 0) return;
    const [a, b] = [piece.left - 1, piece.right - 1];
    if (!flat[a] || !flat[b]) return;
    const at = solved.positions[piece.from]!;
    if (Math.abs(elevationAt(fits[a]!, at) - elevationAt(fits[b]!, at)) > 0.1) return;
    const [p, q] = [find(a), find(b)];
    group[Math.max(p, q)] = Math.min(p, q);
  });
  const members = new Map<number, number[]>();
  fits.forEach((_, i) => {
    if (flat[i]) members.set(find(i), [...(members.get(find(i)) ?? []), i + 1]);
  });
  return [...members.values()];
}

function groupLowPoints(input: LowPointInput, deck: DeckHeights, group: ReadonlySet<number>): Omit<LowPoint, 'id'>[] {
  const sigma = longWaveSigma(deck, (face) => group.has(face));
  if (sigma === null) return [];
  const heights = deck.smooth.map((h, k) => (group.has(deck.face[k]!) ? h : Number.NaN));
  const rim = input.edges.filter(({ faces, kind }) => faces.some((f) => group.has(f)) && faces.length === 1 && kind !== 'parapet' && kind !== 'abutment');
  const all = persistentMinima(heights, deck.columns, deck.rows, Math.max(LEAST_DEPTH, LEAST_SIGMAS * sigma), rim.length > 0)
    .filter(({ cell }) => !rim.some((edge) => distanceToEdge(edge, cellCentre(deck, cell)) < RIM));
  const highest = heights.reduce((most, h) => (h > most ? h : most), -Infinity);
  const isTelling = ({ cell, persistence }: Minimum): boolean => persistence >= (heights[cell]! + persistence < highest ? TELLING : TELLING_FULL) * sigma;
  const telling = deckArea(deck, heights) < LEAST_DECK ? [] : all.filter(isTelling);
  const holes = inwardHoles(deck, (face) => group.has(face), spacingOf(input, group), sigma);
  if (telling.length === 0) return [...holes.map(holeAlone), ...(all.length > 0 || hidesFalls(sigma, deck, heights) ? [refusal(deck, heights)] : [])];
  const deep = telling.filter(({ persistence }) => persistence >= TRUSTWORTHY * sigma);
  const trust = { sigma, isTrusted: deep.length > 0 && deep[deep.length >> 1]!.persistence >= TRUSTED_RATIO * BAY_SHAPE * sigma };
  const bottoms = sidesMeet(telling, deck);
  const holeOf = holesBy(holes, telling.map(({ cell }, i): Vector2 => (bottoms[i]?.kind === 'point' ? (bottoms[i] as TaperBottom).at : cellCentre(deck, cell))));
  return [
    ...telling.map((minimum, i) => lowPointOf(minimum, { bottom: bottoms[i] ?? null, hole: holeOf[i] ?? null }, input, deck, heights, trust)),
    ...holes.filter((hole) => !holeOf.includes(hole)).map(holeAlone),
  ];
}

/** Of the deck's thinnest face. [m] */
const spacingOf = ({ fits }: LowPointInput, group: ReadonlySet<number>): number => fits.reduce((most, { density }, i) => (group.has(i + 1) ? Math.max(most, 1 / Math.sqrt(Math.max(density, 1e-6))) : most), 0);

/** A hole this near a low point speaks of the same drain (methods D). [m] */
const HOLE_REACH = 1;

/** The nearest hole of each place, each hole once. */
function holesBy(holes: readonly InwardHole[], places: readonly Vector2[]): (InwardHole | null)[] {
  const found = places.map((): InwardHole | null => null);
  const pairs = places.flatMap(([x, y], i) => holes.map((hole, h) => ({ i, h, away: Math.hypot(hole.at[0] - x, hole.at[1] - y) })));
  for (const { i, h, away } of pairs.sort((a, b) => a.away - b.away || a.i - b.i || a.h - b.h)) {
    const hole = holes[h]!;
    if (away <= HOLE_REACH && found[i] === null && !found.includes(hole)) found[i] = hole;
  }
  return found;
}

const HOLE = 'a hole in the points that the deck slopes to from all sides: standing water and glossy membranes leave no points';
const BOTTOM_UNSEEN = 'its bottom has no points';

/** A hole where the deck shows no hollow: a cue to look, no more. */
const holeAlone = ({ at, elevation, radius }: InwardHole): Omit<LowPoint, 'id'> => ({
  at: [at[0], at[1], elevation], depthM: missing(BOTTOM_UNSEEN), drainedPlanAreaM2: missing(BOTTOM_UNSEEN), verdict: 'candidate',
  positionM: measured(0, [{ name: 'hole in the points', u95: radius }]), cues: ['hole-sloping-in'], note: HOLE,
});

/** A bay of the usual fall, a fiftieth over four metres, and the least deck that has one: on less, waves pass for hollows. [m, m²] */
const USUAL_DEPTH = 0.07;
const LEAST_DECK = 15;

/** Plan area with heights. [m²] */
const deckArea = ({ step }: DeckHeights, heights: Float64Array): number => heights.reduce((n, h) => n + (Number.isNaN(h) ? 0 : 1), 0) * step * step;

/** True where waves of the noise would hide the hollow of a usual bay. */
const hidesFalls = (sigma: number, deck: DeckHeights, heights: Float64Array): boolean => TELLING * sigma > USUAL_DEPTH && deckArea(deck, heights) > LEAST_DECK;

function refusal(deck: DeckHeights, heights: Float64Array): Omit<LowPoint, 'id'> {
  let lowest = -1;
  for (let k = 0; k < heights.length; k++) if (!Number.isNaN(heights[k]!) && (lowest < 0 || heights[k]! < heights[lowest]!)) lowest = k;
  const [x, y] = cellCentre(deck, lowest);
  return { at: [x, y, heights[lowest]!], depthM: missing(CANNOT_TELL), drainedPlanAreaM2: missing(CANNOT_TELL), verdict: 'cannot-tell' };
}

/** What the deck's noise lets be said. */
interface DeckTrust {
  readonly sigma: number;
  readonly isTrusted: boolean;
}

function lowPointOf(
  minimum: Minimum, { bottom, hole }: { readonly bottom: TaperBottom | TaperLine | null; readonly hole: InwardHole | null }, input: LowPointInput, deck: DeckHeights, heights: Float64Array, { sigma, isTrusted }: DeckTrust,
): Omit<LowPoint, 'id'> {
  const { cell, persistence, cells } = minimum;
  const { smoothing } = deck;
  const area = cells * deck.step * deck.step;
  const radius = Math.sqrt(area / Math.PI);
  const fall = persistence / (BAY_SHAPE * Math.max(radius, smoothing));
  const isDeep = persistence >= TRUSTWORTHY * sigma;
  const lowest = cellCentre(deck, cell);
  const point = bottom?.kind === 'point' ? bottom : null;
  const line = bottom?.kind === 'line' ? bottom : null;
  const corner = isDeep && !bottom ? hollowCorner(input, lowest) : null;
  const at: Vector2 = point?.at ?? hole?.at ?? corner ?? lowest;
  const elevation = point?.elevation ?? (line ? (line.from[2] + line.to[2]) / 2 : heights[cell]! - SMOOTHED_BOTTOM * smoothing * fall);
  const pass = heights[cell]! + persistence;
  // Walls all round: the deepest hollow has no pass, and is full where the whole deck is under water.
  const isFull = heights.every((h) => !(h > pass));
  const spill = pass + SMOOTHED_CREASE * smoothing * fall + (isFull ? -HIGHEST_PLACE : LOWEST_PASS) * sigma;
  // Planes are fitted to heights as they are; a lowest cell is as smoothed as the pass, and wanders with it.
  const wandering = Math.hypot(sigma, point ? point.elevationSigma : sigma);
  const smoothed = (point ? SMOOTHED_CREASE : SMOOTHED_BOTTOM + SMOOTHED_CREASE) * smoothing * fall;
  const reach = point ? point.sigma * SIGMAS_95_IN_PLAN : hole ? hole.radius : null;
  const pond = pondOf(minimum, heights, deck, sigma);
  return {
    at: [at[0], at[1], elevation] as Vector3,
    depthM: measured(spill - elevation, [{ name: 'noise', u95: SIGMAS_95 * wandering }, { name: 'smoothing', u95: smoothed }]),
    // Two basins part where the fall is nothing, so their border wanders by the noise over the fall.
    drainedPlanAreaM2: measured(area, [{ name: 'divide', u95: Math.min(area, (SIGMAS_95 * 4 * radius * sigma) / Math.max(fall, 1e-3)) }]),
    verdict: isTrusted && isDeep && reach !== null && reach <= WORST_PLACED ? 'likely' : 'candidate',
    positionM: reach !== null ? measured(0, [{ name: point ? 'planes that meet' : 'hole in the points', u95: reach }]) : missing(line ? LEVEL_LINE : 'no planes meet here: the lowest place seen, which wanders with the noise'),
    cues: ['hollow', ...(point ? ['boards-meet' as const] : []), ...(hole ? ['hole-sloping-in' as const] : [])],
    ...(line ? { lowLine: [line.from, line.to] as const, note: LEVEL_LINE } : hole ? { note: HOLE } : {}),
    ...(pond ? { pond } : {}),
  };
}

const LEVEL_LINE = 'two planes meet in a level line: their shape does not say where along it the water leaves';

/** Cells farther from the lowest say little of where sides meet. [m] */
const SIDES_REACH = 5;
/** Where its sides meet lies this near the lowest cell, in shares of the hollow's radius, or the sides are not what is seen. */
const MEET_REACH = 0.4;

/** By hollow, the deepest first. */
function sidesMeet(hollows: readonly Minimum[], deck: DeckHeights): (TaperBottom | TaperLine | null)[] {
  const away = ([x, y]: readonly [number, number], cell: number): number => {
    const [cx, cy] = cellCentre(deck, cell);
    return Math.hypot(cx - x, cy - y);
  };
  const cells = hollows.map(({ cell, members }) => members.filter((k) => away(cellCentre(deck, k), cell) < SIDES_REACH));
  return taperBottoms(cells, deck).map((bottom, i) => {
    const radius = Math.sqrt((cells[i]!.length * deck.step * deck.step) / Math.PI);
    return bottom?.kind === 'point' && away(bottom.at, hollows[i]!.cell) > MEET_REACH * radius ? null : bottom;
  });
}

function distanceToEdge({ from, to }: FoundEdge, [x, y]: readonly [number, number]): number {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const t = Math.min(1, Math.max(0, ((x - from[0]) * dx + (y - from[1]) * dy) / (dx * dx + dy * dy)));
  return Math.hypot(from[0] + t * dx - x, from[1] + t * dy - y);
}

/** Corner where three or more planes meet, near a minimum: the planes place it better than the lowest cell does. */
function hollowCorner({ map, solved }: LowPointInput, near: readonly [number, number]): Vector2 | null {
  const meeting = new Map<number, number>();
  map.pieces.forEach((piece, i) => {
    if (solved.vanished[i] || !piece.meets) return;
    for (const v of [solved.standsFor[piece.from]!, solved.standsFor[piece.to]!]) meeting.set(v, (meeting.get(v) ?? 0) + 1);
  });
  let best: { at: Vector2; away: number } | null = null;
  for (const [v, count] of meeting) {
    const at = solved.positions[v]!;
    const away = Math.hypot(at[0] - near[0], at[1] - near[1]);
    if (count >= 3 && away < CORNER_REACH && (!best || away < best.away)) best = { at, away };
  }
  return best?.at ?? null;
}
