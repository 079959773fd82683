import { INK_3 } from '../paper/mark.ts';
import type { PlanSheet } from '../plan-sheets.ts';
import { NO_DATE } from '../record-date.ts';
import type { Block, Report } from './block.ts';
import { loadFonts } from './fonts.ts';
import type { PdfDocument, StructureElement } from './pdf-document.ts';
import { PdfFlow } from './pdf-flow.ts';
import { PdfFonts } from './pdf-fonts.ts';
import { drawMarks, POINTS_PER_MM } from './pdf-sheet.ts';

/**
 * The report as a tagged PDF: text on A4, plans on A3 at their true scale. Dates come from the record, so the same
 * report gives the same bytes.
 */
export async function writePdfReport(report: Report): Promise<Uint8Array> {
  const [{ default: PDFDocument }, fontData] = await Promise.all([import('pdfkit'), loadFonts()]);
  const document = new PDFDocument({
    autoFirstPage: false,
    bufferPages: true,
    tagged: true,
    displayTitle: true,
    lang: 'en',
    pdfVersion: '1.7',
    font: fontData.bytes.figures[0]!,
    info: { Title: `${report.title}: ${report.subtitle}`, Subject: report.subtitle, Creator: 'roofdatum', Producer: 'roofdatum', CreationDate: report.date ?? NO_DATE },
  });
  const bytes = collect(document);
  const fonts = new PdfFonts(document, fontData);
  const root = document.struct('Document');
  document.addStructure(root);
  const flow = new PdfFlow(document, fonts, root);
  flow.title(report.title, report.subtitle, report.date === null ? 'No decision dated yet.' : `Last decision ${report.date.toISOString().slice(0, 10)}.`);
  report.blocks.forEach((block, i) => setBlock(block, report.blocks[i + 1], flow, document, fonts, root));
  root.end();
  numberPages(document, fonts, report.foot);
  document.end();
  return bytes;
}

function setBlock(block: Block, next: Block | undefined, flow: PdfFlow, document: PdfDocument, fonts: PdfFonts, root: StructureElement): void {
  switch (block.kind) {
    case 'heading':
      return flow.heading(block.level, block.text, next);
    case 'paragraph':
      return flow.paragraph(block.text, block.lead);
    case 'list':
      return flow.list(block.items, false);
    case 'caution':
      return flow.list(block.items, true);
    case 'table':
      return flow.table(block);
    case 'picture':
      return flow.picture(block);
    case 'signatures':
      return flow.signatures(block.roles);
    case 'sheet':
      setSheet(block.sheet, document, fonts, root);
      return flow.interrupt();
  }
}

function setSheet(sheet: PlanSheet, document: PdfDocument, fonts: PdfFonts, root: StructureElement): void {
  const size = [sheet.widthMm * POINTS_PER_MM, sheet.heightMm * POINTS_PER_MM] as const;
  document.addPage({ size, margin: 0 });
  const figure = document.struct('Figure', { alt: `${sheet.title}. ${sheet.describes}`, bbox: [0, 0, ...size] });
  root.add(figure);
  const content = document.markStructureContent('Figure');
  drawMarks(document, fonts, sheet.marks);
  document.endMarkedContent();
  figure.add(content);
  figure.end();
}

/** "Page 3 of 9" and what the report is of, at the foot of every page. */
function numberPages(document: PdfDocument, fonts: PdfFonts, foot: string): void {
  const { start, count } = document.bufferedPageRange();
  for (let i = 0; i < count; i++) {
    document.switchToPage(start + i);
    document.markContent('Artifact', { type: 'Pagination' });
    const y = document.page.height - (document.page.width > document.page.height ? 4 : 10) * POINTS_PER_MM;
    fonts.set(fonts.cut([{ text: foot, face: 'figures' }]), 20 * POINTS_PER_MM, y, 7.5, INK_3);
    const page = fonts.cut([{ text: `Page ${i + 1} of ${count}`, face: 'figures' }]);
    fonts.set(page, document.page.width - 15 * POINTS_PER_MM - fonts.width(page, 7.5), y, 7.5, INK_3);
    document.endMarkedContent();
  }
}

function collect(document: PdfDocument): Promise<Uint8Array> {
  const chunks: Uint8Array[] = [];
  document.on('data', (chunk) => chunks.push(chunk));
  return new Promise((resolve) => {
    document.on('end', () => {
      const bytes = new Uint8Array(chunks.reduce((sum, chunk) => sum + chunk.length, 0));
      let at = 0;
      for (const chunk of chunks) {
        bytes.set(chunk, at);
        at += chunk.length;
      }
      resolve(bytes);
    });
  });
}
