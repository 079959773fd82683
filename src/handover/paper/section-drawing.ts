import type { Vector2 } from '../../geometry/vector.ts';
import { fittingScale } from '../drawing-scale.ts';
import type { Section } from '../section.ts';
import { area, HAIR, INK, INK_2, MID, polyline, text, type Mark } from './mark.ts';
import { numberRuns } from './number-runs.ts';
import type { PaperBox } from './plan-view.ts';

/** Room at the right for level marks, below for the title. [mm] */
const LEVELS_WIDTH = 52;
const TITLE_HEIGHT = 9;

/** Draws a section into a box: roof thick, walls unmeasured and dashed, ground where it was seen, levels at the right. */
export function sectionMarks(section: Section, box: PaperBox, letter: string): { readonly marks: Mark[]; readonly scale: number } {
  const corners = [...section.pieces.flatMap((piece) => [piece.from, piece.to]), ...section.things.flatMap((thing) => thing.corners), ...section.parapets.map((one): Vector2 => [one.at[0], one.topElevation])];
  const ground = section.ground.value;
  let [minS, maxS, minZ, maxZ] = [Infinity, -Infinity, ground ?? Infinity, -Infinity];
  for (const [s, z] of corners) [minS, maxS, minZ, maxZ] = [Math.min(minS, s), Math.max(maxS, s), Math.min(minZ, z), Math.max(maxZ, z)];
  const room = { width: box.width - LEVELS_WIDTH - 6, height: box.height - TITLE_HEIGHT - 4 };
  const scale = fittingScale(maxS - minS, maxZ - minZ, room.width, room.height);
  const perMetre = 1000 / scale;
  const bottom = box.top + box.height - TITLE_HEIGHT;
  const left = box.left + 3 + (room.width - (maxS - minS) * perMetre) / 2;
  const at = ([s, z]: Vector2): Vector2 => [left + (s - minS) * perMetre, bottom - (z - minZ) * perMetre];

  const marks: Mark[] = [];
  if (ground !== null) {
    const y = at([0, ground])[1];
    marks.push(polyline([[box.left, y], [left + (maxS - minS) * perMetre + 6, y]], { stroke: INK, width: 0.6 }));
    for (const s of [minS, maxS]) {
      const eave = section.pieces.flatMap((piece) => [piece.from, piece.to]).filter((end) => Math.abs(end[0] - s) < 1e-6);
      if (eave.length > 0) marks.push(polyline([at(eave[0]!), at([s, ground])], { stroke: MID, width: 0.3, dash: [1.8, 1.3] }));
    }
  }
  for (const one of section.parapets) marks.push(parapetMark(one, (minS + maxS) / 2, at));
  for (const thing of section.things) marks.push(area([thing.corners.map(at)], { fill: '#ffffff', stroke: INK, width: 0.35 }, thing.id));
  for (const piece of section.pieces) marks.push(polyline([at(piece.from), at(piece.to)], { stroke: INK, width: 0.7 }));
  marks.push(...levelMarks(section, box, at));
  const caption = `1 : ${scale}${ground === null ? '; ground not seen, heights not given' : ', walls not measured'}`;
  marks.push(text([box.left, bottom + 5], `Section ${letter}–${letter}`, { size: 3.6, face: 'lettering-firm' }), text([box.left, bottom + 9], caption, { size: 2.8, ink: INK_2 }));
  return { marks, scale };
}

/** Outside is away from the middle of the cut. */
function parapetMark(one: Section['parapets'][number], middle: number, at: (p: Vector2) => Vector2): Mark {
  const outer = one.at[0] + Math.sign(one.at[0] - middle) * one.thickness;
  return area([([[one.at[0], one.at[1]], [one.at[0], one.topElevation], [outer, one.topElevation], [outer, one.at[1]]] as Vector2[]).map(at)], { fill: '#e5eae4', stroke: INK, width: 0.4 }, one.id);
}

/** Moves sorted places apart to a least distance, none below `lowest`. [mm] */
function spread(sorted: readonly number[], apart: number, lowest: number): number[] {
  const places = [...sorted];
  for (let i = 1; i < places.length; i++) places[i] = Math.max(places[i]!, places[i - 1]! + apart);
  for (let i = places.length - 1, limit = lowest; i >= 0; i--, limit -= apart) places[i] = Math.min(places[i]!, limit);
  return places;
}

function levelMarks(section: Section, box: PaperBox, at: (p: Vector2) => Vector2): Mark[] {
  const marks: Mark[] = [];
  const x = box.left + box.width - LEVELS_WIDTH;
  const rows = section.levels.map((level) => ({ y: at(level.at)[1], level }));
  if (section.ground.value !== null) rows.push({ y: at([0, section.ground.value])[1], level: { what: 'ground', at: [0, section.ground.value], heightAboveGround: section.ground } });
  rows.sort((a, b) => a.y - b.y);
  const places = spread(rows.map((row) => row.y), 4.2, box.top + box.height - 1);
  for (const [i, { y, level }] of rows.entries()) {
    const textY = places[i]!;
    marks.push(polyline([[at(level.at)[0], y], [x, y]], { stroke: HAIR, width: 0.18, dash: [3, 0.8, 0.5, 0.8] }));
    marks.push(area([[[x, textY], [x + 1.1, textY - 1.7], [x - 1.1, textY - 1.7]]], { fill: INK }));
    const name = { text: `${level.what} `, face: 'figures' as const };
    const runs = level.what === 'ground' ? [name, { text: '0.00 m', face: 'figures' as const }] : [name, ...numberRuns(level.heightAboveGround, 'length')];
    marks.push(text([x + 2, textY - 0.4], level.heightAboveGround.value === null ? [name] : runs, { size: 2.9 }));
  }
  return marks;
}
