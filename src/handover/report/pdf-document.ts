/** The parts of the PDF writer that are used here; the package ships no types. */
export interface PdfDocument {
  readonly page: { readonly width: number; readonly height: number };
  readonly _font: { readonly name: string; readonly font: { hasGlyphForCodePoint(codePoint: number): boolean } };
  on(event: 'data', take: (chunk: Uint8Array) => void): void;
  on(event: 'end', done: () => void): void;
  end(): void;
  addPage(options: { readonly size: readonly [number, number]; readonly margin: number }): PdfDocument;
  switchToPage(index: number): void;
  bufferedPageRange(): { readonly start: number; readonly count: number };
  registerFont(name: string, source: Uint8Array): void;
  font(name: string): PdfDocument;
  fontSize(size: number): PdfDocument;
  widthOfString(text: string, options: object): number;
  image(source: PdfImage, x: number, y: number, options: { readonly width: number; readonly height: number }): PdfDocument;
  /** @throws Error when the bytes are no picture. */
  openImage(source: string): PdfImage;
  text(text: string, x: number, y: number, options: object): PdfDocument;
  save(): PdfDocument;
  restore(): PdfDocument;
  rotate(degrees: number, options: { readonly origin: readonly [number, number] }): PdfDocument;
  moveTo(x: number, y: number): PdfDocument;
  lineTo(x: number, y: number): PdfDocument;
  closePath(): PdfDocument;
  circle(x: number, y: number, radius: number): PdfDocument;
  rect(x: number, y: number, width: number, height: number): PdfDocument;
  lineWidth(width: number): PdfDocument;
  lineCap(style: 'butt' | 'round'): PdfDocument;
  dash(lengths: readonly number[]): PdfDocument;
  undash(): PdfDocument;
  opacity(value: number): PdfDocument;
  fillColor(colour: string): PdfDocument;
  strokeColor(colour: string): PdfDocument;
  fill(rule?: 'even-odd'): PdfDocument;
  stroke(): PdfDocument;
  fillAndStroke(rule?: 'even-odd'): PdfDocument;
  struct(type: string, options?: { readonly alt?: string; readonly title?: string; readonly scope?: 'Column' | 'Row'; readonly bbox?: readonly number[] }): StructureElement;
  addStructure(element: StructureElement): void;
  markContent(tag: 'Artifact', options: { readonly type: 'Pagination' | 'Layout' }): void;
  markStructureContent(tag: string): StructureContent;
  endMarkedContent(): void;
}

/** A picture in the document; equal addresses are one. */
export interface PdfImage {
  readonly width: number;
  readonly height: number;
}

/** Something a marked stretch of the page belongs to. */
export interface StructureElement {
  add(child: StructureElement | StructureContent): StructureElement;
  end(): void;
}

export interface StructureContent {
  readonly refs: readonly unknown[];
}

export interface PdfOptions {
  readonly autoFirstPage: false;
  readonly bufferPages: true;
  readonly tagged: true;
  readonly displayTitle: true;
  readonly lang: string;
  readonly pdfVersion: '1.7';
  readonly font: Uint8Array;
  readonly info: Readonly<Record<'Title' | 'Subject' | 'Creator' | 'Producer', string>> & { readonly CreationDate: Date };
}
