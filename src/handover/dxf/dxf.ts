import type { Vector3 } from '../../geometry/vector.ts';
import type { RoofRecord } from '../../roof/record.ts';
import { drawingPlace, type DrawingPlace } from '../drawing-place.ts';
import { fittingScale } from '../drawing-scale.ts';
import { northOf } from '../north.ts';
import type { HandoverOptions } from '../handover-kind.ts';
import { DxfDrawing, drawNorth, TAG_ATTRIBUTES } from './dxf-drawing.ts';
import { dimensionBlock, obstructionTagBlock, text, type DimensionLine } from './dxf-entities.ts';
import { OWNER, TAG_BLOCK, writeHeader, writeObjects, writeTables, type DrawingFrame } from './dxf-tables.ts';
import { DxfText, type DxfVersion } from './dxf-text.ts';

/** Lettering on paper. [mm] */
const LETTER_MM = 2.5;
/** Free paper of an A3 sheet, which sets the size of lettering. [mm] */
const ROOM_MM = [360, 250] as const;

/**
 * One record as a DXF file. Plan outlines lie at height 0 as closed polylines; surfaces and edges lie in space.
 * Facts about each thing (id, areas, reasons) stand with it as extended data filed under ROOFDATUM.
 *
 * @param version  R2007 is UTF-8; R12 is ASCII with \U+XXXX for the rest.
 */
export function writeDxf(record: RoofRecord, version: DxfVersion, options: HandoverOptions = {}): string {
  const place = drawingPlace(record, options);
  const [min, max] = extent(record, place);
  const scale = fittingScale((max[0] - min[0]) / place.perMetre, (max[1] - min[1]) / place.perMetre, ...ROOM_MM);
  const perPaperMm = (scale / 1000) * place.perMetre;
  const letter = LETTER_MM * perPaperMm;
  const margin = 14 * letter;
  const frame: DrawingFrame = { min: [min[0] - margin, min[1] - margin, min[2]], max: [max[0] + margin, max[1] + margin, max[2]], unit: place.unit, perPaperMm };

  const entities = new DxfText(version);
  const drawing = new DxfDrawing(entities, record, place, letter);
  drawing.draw();
  drawNorth(entities, [min[0] - 4 * letter, max[1] + 7 * letter, 0], record.frame.gridToTrueDeg, letter, northOf(record));
  drawNotes(entities, record, place, scale, [min[0], min[1] - 9 * letter, 0], letter);
  return assemble(entities, drawing.dimensions, frame, letter);
}

function drawNotes(out: DxfText, record: RoofRecord, place: DrawingPlace, scale: number, at: Vector3, letter: number): void {
  const notes = [
    `Roof from ${record.sources.map((source) => source.file).join(', ')}. Lettering sized for 1 : ${scale}.`,
    ...place.statement,
    'Dimensions are plan lengths of level edges; edge labels give slope lengths. +- holds the true value in 95 of 100 cases.',
    'Local codes and licensed persons decide on access, load, live parts and fire access.',
  ];
  for (const [i, note] of notes.entries()) {
    text(out, OWNER.model, 'NOTE', note, { at: [at[0], at[1] - i * 1.6 * letter, 0], height: letter });
  }
}

function assemble(entities: DxfText, dimensions: readonly DimensionLine[], frame: DrawingFrame, letter: number): string {
  const blockNames = ['*MODEL_SPACE', '*PAPER_SPACE', TAG_BLOCK, ...dimensions.map((_, i) => `*D${i + 1}`)];
  const tail = entities.part();
  const blockRecords = new Map(blockNames.map((name, i): [string, string] => [name, i === 0 ? OWNER.model : i === 1 ? OWNER.paper : tail.handle()]));

  const blocks = tail.part();
  writeBlocks(blocks, blockNames, blockRecords, dimensions, letter);
  const tables = blocks.part();
  writeTables(tables, frame, blockNames, blockRecords);
  const objects = tables.part();
  writeObjects(objects);

  const file = new DxfText(entities.version);
  writeHeader(file, frame, objects.handleSeed);
  file.append(tables).append(blocks);
  file.tag(0, 'SECTION').tag(2, 'ENTITIES').append(entities).tag(0, 'ENDSEC');
  file.append(objects).tag(0, 'EOF');
  return file.toString();
}

function writeBlocks(out: DxfText, names: readonly string[], records: ReadonlyMap<string, string>, dimensions: readonly DimensionLine[], letter: number): void {
  out.tag(0, 'SECTION').tag(2, 'BLOCKS');
  for (const [i, name] of names.entries()) {
    // R12 keeps its two spaces without blocks of their own.
    if (!out.isModern && i < 2) continue;
    const owner = records.get(name)!;
    out.entity('BLOCK', '0', owner, 'AcDbBlockBegin');
    out.tag(2, name).tag(70, name === TAG_BLOCK ? 2 : name.startsWith('*D') ? 1 : 0).position(10, [0, 0, 0]).tag(3, name).tag(1, '');
    if (name === TAG_BLOCK) obstructionTagBlock(out, owner, letter, TAG_ATTRIBUTES);
    if (name.startsWith('*D')) dimensionBlock(out, owner, dimensions[i - 3]!);
    out.entity('ENDBLK', '0', owner, 'AcDbBlockEnd');
  }
  out.tag(0, 'ENDSEC');
}

function extent(record: RoofRecord, { place }: DrawingPlace): [Vector3, Vector3] {
  let [minX, minY, minZ, maxX, maxY, maxZ] = [Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity];
  const take = (at: Vector3): void => {
    const [x, y, z] = place(at);
    [minX, minY, minZ] = [Math.min(minX, x), Math.min(minY, y), Math.min(minZ, z)];
    [maxX, maxY, maxZ] = [Math.max(maxX, x), Math.max(maxY, y), Math.max(maxZ, z)];
  };
  for (const building of record.buildings) {
    for (const [x, y] of building.outline) take([x, y, 0]);
    for (const plane of building.roofPlanes) plane.outline.forEach(take);
  }
  return [[minX, minY, minZ], [maxX, maxY, maxZ]];
}
