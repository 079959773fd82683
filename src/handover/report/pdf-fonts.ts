import type { Face, TextRun } from '../paper/mark.ts';
import type { ReportFonts } from './fonts.ts';
import type { PdfDocument } from './pdf-document.ts';

/** A stretch of text one font can set. */
export interface FontRun {
  readonly text: string;
  readonly font: string;
}

/** Knows which of the bundled fonts holds which character, and cuts text accordingly. */
export class PdfFonts {
  private readonly choices: Readonly<Record<Face, readonly { readonly name: string; readonly has: (codePoint: number) => boolean }[]>>;

  /** Width of a text at size 1, by font and text: tables repeat themselves. */
  private readonly widths = new Map<string, number>();

  /** @param document  Opened with the first font of `figures` as its own. */
  constructor(
    private readonly document: PdfDocument,
    { bytes }: ReportFonts,
  ) {
    // The writer keeps the font it was opened with under that font's own name, and would open it anew under any other.
    const own = document._font.name;
    const choicesOf = (face: Face) =>
      bytes[face].map((source, i) => {
        const name = face === 'figures' && i === 0 ? own : `${face}-${i}`;
        if (name !== own) document.registerFont(name, source);
        const { font } = document.font(name)._font;
        return { name, has: (codePoint: number) => font.hasGlyphForCodePoint(codePoint) };
      });
    this.choices = {
      figures: choicesOf('figures'),
      'figures-firm': choicesOf('figures-firm'),
      'figures-soft': choicesOf('figures-soft'),
      lettering: choicesOf('lettering'),
      'lettering-firm': choicesOf('lettering-firm'),
    };
  }

  /** Cuts runs at every change of font. Characters no font holds are written as their code: [U+4E2D]. */
  cut(runs: readonly TextRun[]): FontRun[] {
    const out: { text: string; font: string }[] = [];
    const add = (text: string, font: string): void => {
      const last = out[out.length - 1];
      if (last !== undefined && last.font === font) last.text += text;
      else out.push({ text, font });
    };
    for (const { text, face } of runs) {
      const choices = this.choices[face];
      for (const character of text.normalize('NFC').replace(/\s+/gu, ' ')) {
        const codePoint = character.codePointAt(0)!;
        const holder = choices.find((choice) => choice.has(codePoint));
        if (holder !== undefined) add(character, holder.name);
        else add(REPLACED.get(character) ?? `[U+${codePoint.toString(16).toUpperCase().padStart(4, '0')}]`, choices[0]!.name);
      }
    }
    return out;
  }

  /** Width of cut runs. [points] */
  width(runs: readonly FontRun[], size: number): number {
    return runs.reduce((sum, { text, font }) => sum + this.widthAtSizeOne(text, font) * size, 0);
  }

  private widthAtSizeOne(text: string, font: string): number {
    const key = `${font}|${text}`;
    let width = this.widths.get(key);
    if (width === undefined) {
      width = this.document.font(font).fontSize(1000).widthOfString(text, TABULAR) / 1000;
      this.widths.set(key, width);
    }
    return width;
  }

  /** Sets cut runs on a line from a baseline. @returns where the line ends. */
  set(runs: readonly FontRun[], x: number, baseline: number, size: number, ink: string): number {
    let at = x;
    for (const { text, font } of runs) {
      this.document.font(font).fontSize(size).fillColor(ink).text(text, at, baseline, { lineBreak: false, baseline: 'alphabetic', ...TABULAR });
      at += this.widthAtSizeOne(text, font) * size;
    }
    return at;
  }

  /** Breaks runs into lines of a width. [points] A word longer than the width is broken where it must. */
  lines(runs: readonly TextRun[], width: number, size: number): FontRun[][] {
    const lines: FontRun[][] = [];
    let line: FontRun[] = [];
    let used = 0;
    for (const word of words(this.cut(runs))) {
      const wide = this.width(word, size);
      if (used > 0 && used + this.width(trimEnd(word), size) > width) {
        lines.push(line);
        [line, used] = [[], 0];
      }
      if (wide <= width) {
        line.push(...word);
        used += wide;
        continue;
      }
      for (const { text, font } of word) {
        for (const character of text) {
          const one = this.width([{ text: character, font }], size);
          if (used + one > width && used > 0) {
            lines.push(line);
            [line, used] = [[], 0];
          }
          line.push({ text: character, font });
          used += one;
        }
      }
    }
    if (line.length > 0 || lines.length === 0) lines.push(line);
    return lines.map(joined);
  }
}

/** All digits equally wide, so that columns line up. */
const TABULAR = { features: ['tnum'] };

/** Signs the typefaces lack, by what reads the same. */
const REPLACED: ReadonlyMap<string, string> = new Map([
  ['′', "'"],
  ['″', '"'],
  ['≤', 'at most '],
  ['≥', 'at least '],
  ['→', 'to'],
]);

/** Runs cut into words, each with the space after it. */
function words(runs: readonly FontRun[]): FontRun[][] {
  const out: FontRun[][] = [];
  let word: FontRun[] = [];
  for (const { text, font } of runs) {
    for (const piece of text.match(/[^ ]* |[^ ]+/g) ?? []) {
      word.push({ text: piece, font });
      if (piece.endsWith(' ')) {
        out.push(word);
        word = [];
      }
    }
  }
  if (word.length > 0) out.push(word);
  return out;
}

const trimEnd = (word: readonly FontRun[]): FontRun[] => word.map((run, i) => (i === word.length - 1 ? { ...run, text: run.text.trimEnd() } : run));

function joined(line: readonly FontRun[]): FontRun[] {
  const out: { text: string; font: string }[] = [];
  for (const run of line) {
    const last = out[out.length - 1];
    if (last !== undefined && last.font === run.font) last.text += run.text;
    else out.push({ ...run });
  }
  const last = out[out.length - 1];
  if (last !== undefined) last.text = last.text.trimEnd();
  return out;
}
