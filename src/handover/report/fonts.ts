import { inlinedBytes } from '../inlined-bytes.ts';
import type { Face } from '../paper/mark.ts';

/**
 * The report's typefaces, both under the SIL Open Font License 1.1: Atkinson Hyperlegible Next for figures and National
 * Park for lettering. The static cuts are bundled (the PDF writer can not set the variable ones), first the Latin
 * letters, then the extended Latin ones as a second choice.
 */
export interface ReportFonts {
  /** Addresses of form `data:font/woff;base64,…`, first choice first. */
  readonly addresses: Readonly<Record<Face, readonly string[]>>;
  readonly bytes: Readonly<Record<Face, readonly Uint8Array[]>>;
}

/** Some hundred kilobytes, so they are loaded only when a report is asked for. */
export async function loadFonts(): Promise<ReportFonts> {
  const pick = (parts: readonly { readonly default: string }[]): string[] => parts.map((part) => part.default);
  const [soft, plain, firm, lettering, letteringFirm] = await Promise.all([
    Promise.all([
      import('@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-300-normal.woff?url&inline'),
      import('@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-ext-300-normal.woff?url&inline'),
    ]),
    Promise.all([
      import('@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-400-normal.woff?url&inline'),
      import('@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-ext-400-normal.woff?url&inline'),
    ]),
    Promise.all([
      import('@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-700-normal.woff?url&inline'),
      import('@fontsource/atkinson-hyperlegible-next/files/atkinson-hyperlegible-next-latin-ext-700-normal.woff?url&inline'),
    ]),
    Promise.all([
      import('@fontsource/national-park/files/national-park-latin-500-normal.woff?url&inline'),
      import('@fontsource/national-park/files/national-park-latin-ext-500-normal.woff?url&inline'),
    ]),
    Promise.all([
      import('@fontsource/national-park/files/national-park-latin-700-normal.woff?url&inline'),
      import('@fontsource/national-park/files/national-park-latin-ext-700-normal.woff?url&inline'),
    ]),
  ]);
  const addresses: Record<Face, string[]> = {
    figures: pick(plain),
    'figures-firm': pick(firm),
    'figures-soft': pick(soft),
    lettering: pick(lettering),
    'lettering-firm': pick(letteringFirm),
  };
  const bytesOf = (face: Face): Uint8Array[] => addresses[face].map(inlinedBytes);
  return {
    addresses,
    bytes: {
      figures: bytesOf('figures'),
      'figures-firm': bytesOf('figures-firm'),
      'figures-soft': bytesOf('figures-soft'),
      lettering: bytesOf('lettering'),
      'lettering-firm': bytesOf('lettering-firm'),
    },
  };
}
