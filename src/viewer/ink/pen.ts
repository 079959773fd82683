import type { Vector3 } from '../../geometry/vector.ts';
import type { WrittenReading } from '../../units/written-reading.ts';
import type { Paper } from '../paper.ts';
import { project, type Projection } from '../projection.ts';

export type Dot = readonly [number, number];

export interface Stroke {
  readonly width: number;
  readonly colour: string;
  readonly dash?: readonly number[];
  readonly cap?: CanvasLineCap;
  readonly opacity?: number;
}

/** One piece of a line of text, in its own face. */
export interface TextPiece {
  readonly text: string;
  readonly face: 'lettering' | 'figures';
  readonly size: number;
  readonly weight: number;
  readonly colour?: string;
}

export interface TextPlace {
  readonly align?: 'left' | 'centre' | 'right';
  /** Turn about the place, kept upright. [rad] */
  readonly turn?: number;
  /** Text that would cover other text is left out. */
  readonly yields?: boolean;
  readonly halo?: string;
}

/** Upright box in the picture. [px] */
export interface Box {
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
}

/** Draws in picture pixels on a canvas, with the colours and faces of one paper. */
export class Pen {
  private readonly taken: Box[] = [];

  constructor(readonly context: CanvasRenderingContext2D, readonly paper: Paper, readonly view: Projection) {}

  at(point: Vector3): Dot {
    const [x, y] = project(this.view, point);
    return [x, y];
  }

  path(dots: readonly Dot[], closed = false): void {
    const { context } = this;
    context.beginPath();
    dots.forEach(([x, y], i) => (i === 0 ? context.moveTo(x, y) : context.lineTo(x, y)));
    if (closed) context.closePath();
  }

  line(dots: readonly Dot[], stroke: Stroke, closed = false): void {
    this.path(dots, closed);
    this.stroke(stroke);
  }

  stroke({ width, colour, dash, cap, opacity }: Stroke): void {
    const { context } = this;
    context.lineWidth = width;
    context.strokeStyle = colour;
    context.lineCap = cap ?? 'butt';
    context.lineJoin = 'miter';
    context.globalAlpha = opacity ?? 1;
    context.setLineDash(dash ? [...dash] : []);
    context.stroke();
    context.globalAlpha = 1;
    context.setLineDash([]);
  }

  fill(dots: readonly Dot[], colour: string, opacity = 1): void {
    this.path(dots, true);
    this.context.globalAlpha = opacity;
    this.context.fillStyle = colour;
    this.context.fill();
    this.context.globalAlpha = 1;
  }

  circle([x, y]: Dot, radius: number): void {
    this.context.beginPath();
    this.context.arc(x, y, radius, 0, 2 * Math.PI);
  }

  /** Writes one line of text, its pieces on one base line. @returns False when it yielded to other text. */
  write(pieces: readonly TextPiece[], [x, y]: Dot, place: TextPlace = {}): boolean {
    const { context, paper } = this;
    const { widths, size, turn, shift, box } = this.layOut(pieces, [x, y], place);
    if (place.yields && !this.isFree(box)) return false;
    this.taken.push(box);
    context.save();
    context.translate(x, y);
    context.rotate(turn);
    context.textBaseline = 'alphabetic';
    context.lineJoin = 'round';
    let pen = shift;
    pieces.forEach((piece, i) => {
      this.setFont(piece);
      context.lineWidth = 4;
      context.strokeStyle = place.halo ?? paper.lift;
      context.strokeText(piece.text, pen, size * 0.35);
      context.fillStyle = piece.colour ?? paper.ink;
      context.fillText(piece.text, pen, size * 0.35);
      pen += widths[i]!;
    });
    context.restore();
    return true;
  }

  widthOf(pieces: readonly TextPiece[]): number {
    return pieces.reduce((sum, piece) => {
      this.setFont(piece);
      return sum + this.context.measureText(piece.text).width;
    }, 0);
  }

  /** Keeps a place free of text that yields or can stand elsewhere. */
  reserve(box: Box): void {
    this.taken.push(box);
  }

  /** Whether text would stand wholly in the picture and on nothing else. */
  hasRoom(pieces: readonly TextPiece[], at: Dot, place: TextPlace): boolean {
    const { box } = this.layOut(pieces, at, place);
    const { width, height } = this.view;
    return box.x0 >= 0 && box.y0 >= 0 && box.x1 <= width && box.y1 <= height && this.isFree(box);
  }

  private isFree(box: Box): boolean {
    return !this.taken.some((other) => box.x0 < other.x1 && box.x1 > other.x0 && box.y0 < other.y1 && box.y1 > other.y0);
  }

  private layOut(pieces: readonly TextPiece[], [x, y]: Dot, place: TextPlace): { widths: number[]; size: number; turn: number; shift: number; box: Box } {
    const widths = pieces.map((piece) => this.widthOf([piece]));
    const width = widths.reduce((sum, w) => sum + w, 0);
    const size = Math.max(...pieces.map((piece) => piece.size)) * this.paper.textScale;
    const turn = upright(place.turn ?? 0);
    const shift = place.align === 'right' ? -width : place.align === 'centre' ? -width / 2 : 0;
    const [c, s] = [Math.abs(Math.cos(turn)), Math.abs(Math.sin(turn))];
    const middle = [x + (shift + width / 2) * Math.cos(turn), y + (shift + width / 2) * Math.sin(turn)] as const;
    const [halfX, halfY] = [(width * c + size * s) / 2 + 2, (width * s + size * c) / 2 + 1];
    return { widths, size, turn, shift, box: { x0: middle[0] - halfX, x1: middle[0] + halfX, y0: middle[1] - halfY, y1: middle[1] + halfY } };
  }

  private setFont({ face, size, weight }: TextPiece): void {
    const family = face === 'lettering' ? this.paper.lettering : this.paper.figures;
    this.context.font = `${weight} ${size * this.paper.textScale}px ${family}`;
  }
}

/** A turn that never puts text past upright. */
export function upright(turn: number): number {
  let angle = Math.atan2(Math.sin(turn), Math.cos(turn));
  if (angle > Math.PI / 2 + 1e-6) angle -= Math.PI;
  if (angle <= -Math.PI / 2 + 1e-6) angle += Math.PI;
  return angle;
}

/** A reading as text pieces: firm digits heavy, soft ones light. */
export function readingPieces(reading: WrittenReading, paper: Paper, size = 13): TextPiece[] {
  return [
    { text: reading.firm, face: 'figures', size, weight: 700 },
    { text: reading.soft, face: 'figures', size, weight: 300 },
    { text: `${reading.unit} ± ${reading.plusMinus}`, face: 'figures', size, weight: 400, colour: paper.ink2 },
  ];
}

export const letter = (text: string, size = 13, weight = 700): TextPiece => ({ text, face: 'lettering', size, weight });
export const figure = (text: string, size = 12, weight = 400, colour?: string): TextPiece =>
  colour === undefined ? { text, face: 'figures', size, weight } : { text, face: 'figures', size, weight, colour };
