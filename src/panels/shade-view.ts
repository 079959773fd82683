import type { Building } from '../roof/record.ts';
import { accessOf, LIT, shadeAt, SHADED, darkHoursOf, type CellRun } from '../sun/picture-values.ts';
import { sunMoments, winterSolstice, type SunMoment } from '../sun/shade-hours.ts';
import type { ShadePicture } from '../survey/shade-picture.ts';
import { shadeCanvas, type ShadeImage } from '../viewer/ink/shade-image.ts';
import { HEIGHT_STEPS } from '../viewer/palettes.ts';
import type { ShadeShown } from './fit-state.ts';

export interface ShadeWish {
  readonly shown: ShadeShown;
  readonly month: number;
  readonly day: string;
  readonly moment: number;
}

/** What is drawn, its legend and its twin in words. */
export interface ShadeShow {
  readonly images: readonly ShadeImage[];
  readonly legend: readonly { readonly colour: string | null; readonly words: string }[];
  /** Mean over each plane that has cells: share of light, hours without sun, or share of it without sun now. */
  readonly planes: readonly { readonly id: string; readonly words: string }[];
}

/** Minutes a moment of a day stands for. */
export const STEP_MINUTES = 10;
const ALL_MONTHS = Array.from({ length: 12 }, (_, month) => month);
/** Lower limits of the classes of solar access, brightest last. */
const ACCESS_FROM = [0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95];
/** Upper limits of the classes of hours without sun, least first. [h] */
const HOURS_TO = [0.25, 1, 2, 3, 4, 6, Infinity];
const CLASS_COLOURS = [0, 1, 3, 4, 5, 7, 8].map((step) => HEIGHT_STEPS[step]!);
const SHADE_COLOUR = HEIGHT_STEPS[0];
const AWAY_COLOUR = '#8c8c8c';

/** Moments of the day that is looked at. */
export function momentsOf({ latitudeDeg, longitudeDeg, gridToTrueDeg }: ShadePicture, day: string): SunMoment[] {
  const noon = Date.parse(`${day}T12:00:00Z`);
  return Number.isFinite(noon) ? sunMoments(noon, { latitudeDeg, longitudeDeg, gridToTrueDeg, stepMinutes: STEP_MINUTES }) : [];
}

/** Moments from 9 to 15 h solar time at the winter solstice. */
function solsticeMoments({ latitudeDeg, longitudeDeg, gridToTrueDeg }: ShadePicture): SunMoment[] {
  return sunMoments(winterSolstice(latitudeDeg, 2026), { latitudeDeg, longitudeDeg, gridToTrueDeg, stepMinutes: STEP_MINUTES, fromHour: 9, toHour: 15 });
}

export function shadeImages(picture: ShadePicture, buildings: readonly Building[], wish: ShadeWish): ShadeShow {
  const { classOf, valuesOf, wordsOf, legend } = lookOf(picture, wish);
  const planes = new Map(buildings.flatMap(({ roofPlanes }) => roofPlanes.map((plane) => [plane.id, plane] as const)));
  const images: ShadeImage[] = [];
  const words: { id: string; words: string }[] = [];
  let first = 0;
  picture.grids.forEach((grid, orientation) => {
    const run: CellRun = { first, count: grid.cells.length, normal: grid.normal, orientation };
    first += grid.cells.length;
    const plane = planes.get(grid.plane);
    if (!plane || run.count === 0) return;
    const values = valuesOf(run);
    const classes = Uint8Array.from(values, classOf);
    images.push({ image: shadeCanvas(grid, classes, legend.map(({ colour }) => colour)), grid, outline: plane.outline, holes: plane.holes });
    words.push({ id: grid.plane, words: wordsOf(values) });
  });
  return { images, legend, planes: words };
}

interface Look {
  readonly valuesOf: (run: CellRun) => Float32Array;
  readonly classOf: (value: number) => number;
  readonly wordsOf: (values: Float32Array) => string;
  readonly legend: ShadeShow['legend'];
}

function lookOf(picture: ShadePicture, { shown, month, day, moment }: ShadeWish): Look {
  const { light } = picture;
  if (shown === 'year' || shown === 'month') {
    const months = shown === 'year' ? ALL_MONTHS : [month];
    return {
      valuesOf: (run) => accessOf(light, run, months),
      classOf: (access) => ACCESS_FROM.findLastIndex((from) => access >= from),
      wordsOf: (values) => `${Math.round(100 * mean(values))} %`,
      legend: ACCESS_FROM.map((from, i) => ({ colour: CLASS_COLOURS[i]!, words: i === 0 ? `below ${ACCESS_FROM[1]! * 100} %` : i === ACCESS_FROM.length - 1 ? `${from * 100} % and more` : `${from * 100} to ${ACCESS_FROM[i + 1]! * 100} %` })),
    };
  }
  if (shown === 'moment') {
    const now = momentsOf(picture, day)[moment];
    return {
      valuesOf: (run) => (now ? shadeAt(light, run, now) : new Float32Array(run.count).fill(SHADED)),
      classOf: (state) => state,
      wordsOf: (values) => `${Math.round(100 * (values.filter((state) => state !== LIT).length / values.length))} % without sun`,
      legend: [{ colour: null, words: 'in the sun' }, { colour: SHADE_COLOUR, words: 'in shade' }, { colour: AWAY_COLOUR, words: 'turned away from the sun' }],
    };
  }
  const moments = shown === 'solstice' ? solsticeMoments(picture) : momentsOf(picture, day);
  return {
    valuesOf: (run) => darkHoursOf(light, run, moments, STEP_MINUTES),
    classOf: (hours) => HOURS_TO.findIndex((to) => hours <= to),
    wordsOf: (values) => `${mean(values).toFixed(1)} h`,
    legend: HOURS_TO.map((to, i) => ({ colour: CLASS_COLOURS[HOURS_TO.length - 1 - i]!, words: i === 0 ? 'under ¼ h' : to === Infinity ? 'over 6 h' : `up to ${to} h` })),
  };
}

const mean = (values: Float32Array): number => values.reduce((sum, value) => sum + value, 0) / values.length;

/** Solar time of a moment, written: noon is when the sun stands highest. */
export function clockOf(moment: SunMoment, longitudeDeg: number): string {
  const minutes = Math.round((moment.instant / 60_000 + longitudeDeg * 4) % 1440 + 1440) % 1440;
  return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
}
