import type { Vector2 } from '../../geometry/vector.ts';

/** What a sheet is made of: lines, areas and lettering in millimetres on paper, x right, y down. */
export type Mark = PathMark | CircleMark | TextMark;

export interface Ink {
  readonly stroke?: string;
  /** [mm] */
  readonly width?: number;
  /** Pen down, pen up. [mm] */
  readonly dash?: readonly number[];
  readonly roundEnds?: boolean;
  readonly fill?: string;
  /** 0 to 1, of line and area together. */
  readonly opacity?: number;
}

export interface PathMark extends Ink {
  readonly kind: 'path';
  readonly parts: readonly { readonly points: readonly Vector2[]; readonly closed: boolean }[];
  /** What the mark stands for: a record id, kept in the file. */
  readonly of?: string;
}

export interface CircleMark extends Ink {
  readonly kind: 'circle';
  readonly centre: Vector2;
  readonly radius: number;
}

/** Figures for numbers and sentences, lettering for names and headings. */
export type Face = 'figures' | 'figures-firm' | 'figures-soft' | 'lettering' | 'lettering-firm';

export interface TextRun {
  readonly text: string;
  readonly face: Face;
}

export interface TextMark {
  readonly kind: 'text';
  readonly at: Vector2;
  readonly runs: readonly TextRun[];
  /** Height of the type. [mm] */
  readonly size: number;
  readonly anchor: 'start' | 'middle' | 'end';
  readonly turnDeg: number;
  readonly ink: string;
  /** A rim of paper colour under the letters, so that lines do not cut them. */
  readonly halo: boolean;
}

/** Inks of the drafting film, printed on white. */
export const INK = '#13201d';
export const INK_2 = '#3f4d48';
export const INK_3 = '#586660';
export const MID = '#727f79';
export const HAIR = '#b3beb7';
export const RECESS = '#f0f3ef';
/** Okabe and Ito (2008), blue and vermilion. */
export const SELECT = '#0072b2';
export const DOUBT = '#d55e00';

export const polyline = (points: readonly Vector2[], ink: Ink): PathMark => ({ kind: 'path', parts: [{ points, closed: false }], ...ink });
export const area = (rings: readonly (readonly Vector2[])[], ink: Ink, of?: string): PathMark => ({
  kind: 'path',
  parts: rings.map((points) => ({ points, closed: true })),
  ...ink,
  ...(of === undefined ? {} : { of }),
});
export const circle = (centre: Vector2, radius: number, ink: Ink): CircleMark => ({ kind: 'circle', centre, radius, ...ink });

export interface Lettering {
  readonly size?: number;
  readonly face?: Face;
  readonly anchor?: 'start' | 'middle' | 'end';
  readonly turnDeg?: number;
  readonly ink?: string;
  readonly halo?: boolean;
}

/** Default size: 3.2 mm (about 9 points), the smallest that reads well at arm's length. */
export function text(at: Vector2, content: string | readonly TextRun[], lettering: Lettering = {}): TextMark {
  const { size = 3.2, face = 'figures', anchor = 'start', turnDeg = 0, ink = INK, halo = false } = lettering;
  return { kind: 'text', at, runs: typeof content === 'string' ? [{ text: content, face }] : content, size, anchor, turnDeg, ink, halo };
}
