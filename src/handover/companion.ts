import type { RoofRecord } from '../roof/record.ts';
import { drawingPlace } from './drawing-place.ts';
import { DXF_LAYERS } from './dxf/dxf-layers.ts';
import { TAG_ATTRIBUTES } from './dxf/dxf-drawing.ts';
import type { HandoverOptions } from './handover-kind.ts';

/** The text that goes with the drawings: place, unit, layers, what to trust. */
export function drawingCompanion(record: RoofRecord, fileNames: readonly string[], options: HandoverOptions): string {
  const width = Math.max(...DXF_LAYERS.map((layer) => layer.name.length));
  const lines = [
    `About ${fileNames.join(' and ')}`,
    '',
    ...drawingPlace(record, options).statement,
    ...sourceLines(record),
    '',
    'Layers',
    ...DXF_LAYERS.map((layer) => `  ${layer.name.padEnd(width)}  ${layer.about}`),
    '',
    `Every obstruction carries a block with the attributes ${TAG_ATTRIBUTES.join(', ')}.`,
    'Outlines in plan lie at height 0. 3D faces and edges lie at their measured height.',
    'Facts about each thing (id, areas, ±, reasons) stand with it as extended data filed under ROOFDATUM.',
    'Slope areas and slope lengths run along the surface; plan areas and dimensions are level.',
    'A ± holds the true value in 95 of 100 cases.',
    '',
    'Not in the drawing: strength of the roof, its build-up, live parts, fire access. Local codes and licensed persons decide.',
  ];
  return `${lines.join('\r\n')}\r\n`;
}

function sourceLines(record: RoofRecord): string[] {
  return record.sources.map((source) => `Source: ${source.file}, ${source.format}, SHA-256 ${source.sha256}.`);
}
