import type { Vector3 } from '../../geometry/vector.ts';
import type { DrawingUnit } from '../handover-kind.ts';
import { DXF_LAYERS, LINE_TYPES } from './dxf-layers.ts';
import type { DxfText } from './dxf-text.ts';

/** Name our own data is filed under in the file. */
export const APPLICATION = 'ROOFDATUM';
export const TEXT_STYLE = 'STANDARD';
export const DIMENSION_STYLE = 'ROOFDATUM';
export const TAG_BLOCK = 'OBSTRUCTION-TAG';

/** Handles other sections refer to. */
export const OWNER = { model: '20', paper: '21', blockTable: '1' } as const;

export interface DrawingFrame {
  readonly min: Vector3;
  readonly max: Vector3;
  readonly unit: DrawingUnit;
  /** Drawing units for one millimetre on paper at the drawing's scale. */
  readonly perPaperMm: number;
}

/** DXF unit codes: 6 metre, 2 foot, 21 US survey foot. */
const INSERT_UNIT: Readonly<Record<DrawingUnit, number>> = { m: 6, ft: 2, 'us-ft': 21 };

export function writeHeader(out: DxfText, frame: DrawingFrame, handleSeed: string): void {
  const variable = (name: string): DxfText => out.tag(9, name);
  out.tag(0, 'SECTION').tag(2, 'HEADER');
  variable('$ACADVER').tag(1, out.isModern ? 'AC1021' : 'AC1009');
  variable('$DWGCODEPAGE').tag(3, 'ANSI_1252');
  variable('$INSBASE').position(10, [0, 0, 0]);
  variable('$EXTMIN').position(10, frame.min);
  variable('$EXTMAX').position(10, frame.max);
  variable('$LTSCALE').real(40, 1);
  variable('$TEXTSIZE').real(40, 2.5 * frame.perPaperMm);
  variable('$TEXTSTYLE').tag(7, TEXT_STYLE);
  variable('$CLAYER').tag(8, '0');
  variable('$DIMSTYLE').tag(2, DIMENSION_STYLE);
  variable('$LUNITS').tag(70, 2);
  variable('$LUPREC').tag(70, 4);
  variable('$AUNITS').tag(70, 0);
  if (out.isModern) {
    variable('$HANDSEED').tag(5, handleSeed);
    variable('$INSUNITS').tag(70, INSERT_UNIT[frame.unit]);
    variable('$MEASUREMENT').tag(70, frame.unit === 'm' ? 1 : 0);
  }
  out.tag(0, 'ENDSEC');
}

export function writeTables(out: DxfText, frame: DrawingFrame, blockNames: readonly string[], blockRecords: ReadonlyMap<string, string>): void {
  out.tag(0, 'SECTION').tag(2, 'TABLES');
  viewports(out, frame);
  table(out, 'LTYPE', 'AcDbLinetypeTableRecord', lineTypeRecords(out, frame));
  table(out, 'LAYER', 'AcDbLayerTableRecord', [
    { name: '0', body: () => layerBody(out, 7, 'CONTINUOUS') },
    ...DXF_LAYERS.map(({ name, index, rgb, weight, lineType }) => ({
      name,
      body: () => {
        layerBody(out, index, lineType);
        if (out.isModern) out.tag(420, rgb).tag(370, weight);
      },
    })),
  ]);
  table(out, 'STYLE', 'AcDbTextStyleTableRecord', [
    { name: TEXT_STYLE, body: () => out.real(40, 0).real(41, 1).real(50, 0).tag(71, 0).real(42, 2.5).tag(3, 'txt').tag(4, '') },
  ]);
  table(out, 'VIEW', '', []);
  table(out, 'UCS', '', []);
  table(out, 'APPID', 'AcDbRegAppTableRecord', [{ name: 'ACAD', body: () => out }, { name: APPLICATION, body: () => out }]);
  dimensionStyles(out, frame);
  if (out.isModern) blockRecordTable(out, blockNames, blockRecords);
  out.tag(0, 'ENDSEC');
}

interface TableRecord {
  readonly name: string;
  readonly body: () => unknown;
}

function tableHead(out: DxfText, type: string, count: number): string {
  const handle = out.handle();
  out.tag(0, 'TABLE').tag(2, type);
  if (out.isModern) out.tag(5, handle).tag(330, '0').tag(100, 'AcDbSymbolTable');
  out.tag(70, count);
  return handle;
}

function recordHead(out: DxfText, type: string, owner: string, subclass: string, handleCode = 5): void {
  out.tag(0, type);
  if (out.isModern) out.tag(handleCode, out.handle()).tag(330, owner).tag(100, 'AcDbSymbolTableRecord').tag(100, subclass);
}

function table(out: DxfText, type: string, subclass: string, records: readonly TableRecord[]): void {
  const owner = tableHead(out, type, records.length);
  for (const { name, body } of records) {
    recordHead(out, type, owner, subclass);
    out.tag(2, name).tag(70, 0);
    body();
  }
  out.tag(0, 'ENDTAB');
}

function layerBody(out: DxfText, index: number, lineType: string): void {
  out.tag(62, index).tag(6, lineType);
}

function lineTypeRecords(out: DxfText, frame: DrawingFrame): TableRecord[] {
  const plain = (name: string) => ({ name, body: () => out.tag(3, '').tag(72, 65).tag(73, 0).real(40, 0) });
  const patterns = LINE_TYPES.map(({ name, about, dashes }) => ({
    name,
    body: () => {
      const lengths = dashes.map((dash) => dash * frame.perPaperMm);
      out.tag(3, about).tag(72, 65).tag(73, lengths.length).real(40, lengths.reduce((sum, dash) => sum + Math.abs(dash), 0));
      for (const dash of lengths) {
        out.real(49, dash);
        if (out.isModern) out.tag(74, 0);
      }
    },
  }));
  return [...(out.isModern ? [plain('BYBLOCK'), plain('BYLAYER')] : []), plain('CONTINUOUS'), ...patterns];
}

/** The view a program opens with: everything, from above. */
function viewports(out: DxfText, frame: DrawingFrame): void {
  const [width, depth] = [frame.max[0] - frame.min[0], frame.max[1] - frame.min[1]];
  table(out, 'VPORT', 'AcDbViewportTableRecord', [
    {
      name: '*ACTIVE',
      body: () => {
        out.real(10, 0).real(20, 0).real(11, 1).real(21, 1);
        out.real(12, (frame.min[0] + frame.max[0]) / 2).real(22, (frame.min[1] + frame.max[1]) / 2);
        out.real(13, 0).real(23, 0).real(14, 1).real(24, 1).real(15, 1).real(25, 1);
        out.position(16, [0, 0, 1]).position(17, [0, 0, 0]);
        out.real(40, Math.max(depth, width / 1.5) * 1.05 || 1).real(41, 1.5).real(42, 50).real(43, 0).real(44, 0).real(50, 0).real(51, 0);
        out.tag(71, 0).tag(72, 100).tag(73, 1).tag(74, 3).tag(75, 0).tag(76, 0).tag(77, 0).tag(78, 0);
      },
    },
  ]);
}

function dimensionStyles(out: DxfText, frame: DrawingFrame): void {
  const owner = tableHead(out, 'DIMSTYLE', 1);
  out.subclass('AcDbDimStyleTable');
  recordHead(out, 'DIMSTYLE', owner, 'AcDbDimStyleTableRecord', 105);
  out.tag(2, DIMENSION_STYLE).tag(70, 0);
  const mm = frame.perPaperMm;
  // 40 scale, 41 arrow, 42 gap to the extension line, 44 extension beyond, 140 text height, 142 tick, 147 text gap.
  out.real(40, 1).real(41, 2.5 * mm).real(42, mm).real(44, mm).real(140, 2.5 * mm).real(142, 1.25 * mm).real(147, 0.6 * mm);
  out.tag(73, 0).tag(74, 0).tag(77, 1);
  if (out.isModern) out.tag(271, 3).tag(277, 2);
  out.tag(0, 'ENDTAB');
}

function blockRecordTable(out: DxfText, blockNames: readonly string[], blockRecords: ReadonlyMap<string, string>): void {
  out.tag(0, 'TABLE').tag(2, 'BLOCK_RECORD').tag(5, OWNER.blockTable).tag(330, '0').tag(100, 'AcDbSymbolTable').tag(70, blockNames.length);
  for (const name of blockNames) {
    out.tag(0, 'BLOCK_RECORD').tag(5, blockRecords.get(name)!).tag(330, OWNER.blockTable);
    out.tag(100, 'AcDbSymbolTableRecord').tag(100, 'AcDbBlockTableRecord').tag(2, name).tag(70, 0).tag(280, 1).tag(281, 0);
  }
  out.tag(0, 'ENDTAB');
}

/** R2007 wants a root dictionary; nothing of ours lives in it. */
export function writeObjects(out: DxfText): void {
  if (!out.isModern) return;
  const [root, groups] = [out.handle(), out.handle()];
  out.tag(0, 'SECTION').tag(2, 'OBJECTS');
  out.tag(0, 'DICTIONARY').tag(5, root).tag(330, '0').tag(100, 'AcDbDictionary').tag(281, 1).tag(3, 'ACAD_GROUP').tag(350, groups);
  out.tag(0, 'DICTIONARY').tag(5, groups).tag(330, root).tag(100, 'AcDbDictionary').tag(281, 1);
  out.tag(0, 'ENDSEC');
}
