import type { EdgeKind } from '../roof/record.ts';

/** Colours and faces of the paper a drawing stands on, as the style sheet gives them. */
export interface Paper {
  readonly sheet: string;
  readonly lift: string;
  readonly recess: string;
  readonly ink: string;
  readonly ink2: string;
  readonly ink3: string;
  readonly mid: string;
  readonly hair: string;
  readonly select: string;
  readonly selectWash: string;
  readonly doubt: string;
  readonly pencil: Readonly<Record<EdgeKind, string | null>>;
  readonly pencilOpacity: number;
  /** Font families, quoted. */
  readonly lettering: string;
  readonly figures: string;
  /** Size of text against its design size, for people who read with larger letters. */
  readonly textScale: number;
}

/** Reads the paper from the custom properties that reach an element. */
export function readPaper(element: Element): Paper {
  const style = getComputedStyle(element);
  const token = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  return {
    sheet: token('sheet'), lift: token('lift'), recess: token('recess'),
    ink: token('ink'), ink2: token('ink-2'), ink3: token('ink-3'), mid: token('mid'), hair: token('hair'),
    select: token('select'), selectWash: token('select-wash'), doubt: token('doubt'),
    pencil: {
      eave: token('pencil-eave'), ridge: token('pencil-ridge'), hip: token('pencil-hip'), valley: token('pencil-valley'),
      rake: token('pencil-rake'), parapet: token('pencil-parapet'), abutment: token('mid'), unknown: null,
    },
    pencilOpacity: Number(token('pencil-opacity')) || 0.34,
    lettering: token('lettering'),
    figures: token('figures'),
    textScale: Number.parseFloat(getComputedStyle(document.documentElement).fontSize) / 16,
  };
}
