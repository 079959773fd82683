import type { MeshColour, MeshPaint } from '../../cloud/mesh.ts';
import type { ByteSource } from '../byte-source.ts';
import type { LineTokens } from '../text/line-tokens.ts';
import { withoutByteOrderMark } from '../text/utf16-source.ts';
import { eachObjLine } from './obj-lines.ts';

/** What an `mtllib` line of an OBJ file names. */
export interface MaterialLibrary {
  readonly words: readonly string[];
  /** Counted from 1. */
  readonly line: number;
}

/** A picture in a file of its own, or a plain colour. */
export type ObjPaint = { readonly source: ByteSource; readonly mimeType: string } | MeshColour;

/** Materials of an OBJ file, as far as they hold a picture of the colour or a diffuse colour. */
export interface ObjMaterials {
  /** Files of the pictures, each once, and plain colours. */
  readonly pictures: readonly ObjPaint[];
  /** Number of a material's picture or colour, counted from 1; a material without either is not in it. */
  readonly pictureOf: ReadonlyMap<string, number>;
  /** What was not found, one sentence each. */
  readonly notes: readonly string[];
}

/** How many words follow an option of a picture line; a placing has up to three numbers (MTL, "Options for texture map statements"). */
const OPTION_WORDS: Readonly<Record<string, number>> = { '-blendu': 1, '-blendv': 1, '-boost': 1, '-bm': 1, '-cc': 1, '-clamp': 1, '-imfchan': 1, '-mm': 2, '-texres': 1, '-type': 1 };
const PLACINGS = new Set(['-o', '-s', '-t']);

/**
 * Looks up the materials an OBJ file names among the files that were opened with it.
 *
 * @param beside  Files without folders; the names in the text are compared by their last part, exactly first and then without regard to case.
 */
export async function findMaterials(fileName: string, libraries: readonly MaterialLibrary[], beside: readonly ByteSource[]): Promise<ObjMaterials> {
  const pictures: ObjPaint[] = [];
  const pictureOf = new Map<string, number>();
  const notes: string[] = [];
  const lost: string[] = [];
  const found: ByteSource[] = [];
  for (const { words, line } of libraries) {
    // One name with blanks in it, or several names.
    const whole = words.join(' ');
    const hasOne = named(whole, beside) !== null || !words.some((word) => named(word, beside));
    for (const name of hasOne ? [whole] : words) {
      const library = named(name, beside);
      if (library) found.push(library);
      else notes.push(`${fileName}, line ${line}: materials ${name} are not among the opened files; what they cover is drawn plain.`);
    }
  }
  for (const library of new Set(found)) {
    const { named: inLibrary, colours } = await paintsIn(library);
    for (const { material, path, line } of inLibrary) {
      const source = named(path, beside);
      const mimeType = source && (await kindOf(source));
      if (!source) lost.push(`${library.name}, line ${line}: picture ${path} is not among the opened files; what it covers is drawn plain.`);
      else if (!mimeType) lost.push(`${library.name}, line ${line}: picture ${path} is neither JPEG, PNG nor WebP; what it covers is drawn plain.`);
      else {
        const known = pictures.findIndex((picture) => 'source' in picture && picture.source === source);
        pictureOf.set(material, known >= 0 ? known + 1 : pictures.push({ source, mimeType }));
      }
    }
    // What has a picture is drawn with it, and with its colour where that is not at hand.
    for (const [material, colour] of colours) if (!pictureOf.has(material)) pictureOf.set(material, numberOf(colour, pictures));
  }
  if (lost.length > 0) notes.push(`${lost[0]}${lost.length > 1 ? ` The same holds for ${lost.length - 1} more ${lost.length === 2 ? 'picture' : 'pictures'}.` : ''}`);
  return { pictures, pictureOf, notes };
}

/** Number of a plain colour, counted from 1: many materials have one. */
function numberOf(colour: MeshColour['colour'], pictures: ObjPaint[]): number {
  const known = pictures.findIndex((picture) => 'colour' in picture && picture.colour.every((value, i) => value === colour[i]));
  return known >= 0 ? known + 1 : pictures.push({ colour });
}

export const readPictures = ({ pictures }: ObjMaterials): Promise<MeshPaint[]> =>
  Promise.all(pictures.map(async (picture) => ('colour' in picture ? picture : { bytes: await picture.source.read(0, picture.source.size), mimeType: picture.mimeType })));

/** Words of a line from one on, as one text; UTF-8 where they are, else one byte a character. */
export function wordsFrom(tokens: LineTokens, first: number): string {
  const words = Array.from({ length: Math.max(0, tokens.count - first) }, (_, i) => tokens.text(first + i)).join(' ').trim();
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(Uint8Array.from(words, (character) => character.charCodeAt(0)));
  } catch {
    return words;
  }
}

interface LibraryPaints {
  readonly named: readonly { readonly material: string; readonly path: string; readonly line: number }[];
  readonly colours: ReadonlyMap<string, MeshColour['colour']>;
}

/** The colour picture (`map_Kd`) and the diffuse colour (`Kd`) of each material of an MTL file. */
async function paintsIn(library: ByteSource): Promise<LibraryPaints> {
  const text = await withoutByteOrderMark(library);
  const found: { material: string; path: string; line: number }[] = [];
  const colours = new Map<string, MeshColour['colour']>();
  let material = '';
  await eachObjLine(text, 0, text.size, ({ keyword, tokens, lineNumber }) => {
    if (keyword === 'newmtl') material = wordsFrom(tokens, 1);
    else if (keyword.toLowerCase() === 'map_kd') {
      const path = wordsFrom(tokens, pathAt(tokens));
      if (path !== '') found.push({ material, path, line: lineNumber });
    } else if (keyword.toLowerCase() === 'kd') {
      const colour = diffuseColour(tokens);
      if (colour) colours.set(material, colour);
    }
  });
  return { named: found, colours };
}

/** Red, green and blue from 0 to 1; green and blue are as red where they are left out. Spectral and CIEXYZ colours are not read. */
function diffuseColour(tokens: LineTokens): MeshColour['colour'] | null {
  const share = (at: number): number => tokens.number(tokens.count > at ? at : 1);
  const [red, green, blue] = [1, 2, 3].map((at) => Math.round(255 * Math.min(1, Math.max(0, share(at))))) as [number, number, number];
  return tokens.count > 1 && red + green + blue >= 0 ? [red, green, blue] : null;
}

/** First word behind the options of a picture line. */
function pathAt(tokens: LineTokens): number {
  let at = 1;
  while (at < tokens.count) {
    const option = tokens.text(at).toLowerCase();
    if (PLACINGS.has(option)) {
      const first = ++at;
      while (at < tokens.count && at < first + 3 && !Number.isNaN(tokens.number(at))) at++;
    } else if (option in OPTION_WORDS) at += 1 + OPTION_WORDS[option]!;
    else break;
  }
  return at;
}

function named(path: string, beside: readonly ByteSource[]): ByteSource | null {
  const last = lastPart(path);
  return beside.find(({ name }) => lastPart(name) === last) ?? beside.find(({ name }) => lastPart(name).toLowerCase() === last.toLowerCase()) ?? null;
}

/** Name without folders, of either kind of slash, quotes and double blanks. */
const lastPart = (path: string): string => path.replace(/^"|"$/g, '').split(/[\\/]/).at(-1)!.replace(/\s+/g, ' ').normalize('NFC');

async function kindOf(source: ByteSource): Promise<string | null> {
  const head = await source.read(0, Math.min(4, source.size));
  if (head[0] === 0xff && head[1] === 0xd8) return 'image/jpeg';
  if (head[0] === 0x89 && head[1] === 0x50) return 'image/png';
  return head[0] === 0x52 && head[1] === 0x49 && head[2] === 0x46 ? 'image/webp' : null;
}
