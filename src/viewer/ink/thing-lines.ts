import type { Vector3 } from '../../geometry/vector.ts';
import { writeReading } from '../../units/written-reading.ts';
import type { SceneParapet, SceneThing } from '../scene.ts';
import { drawTicks } from './edge-lines.ts';
import { drawRevisionCloud } from './revision-cloud.ts';
import type { InkFrame } from './frame.ts';
import { figure, letter, readingPieces, type Dot, type Pen } from './pen.ts';
import { isMap, patternScale, visiblePieces } from './roof-lines.ts';

/** Things in the way: prism outlines, a cross over what rises, a second line inside what lies flush. */
export function drawThings(pen: Pen, frame: InkFrame, things: readonly SceneThing[]): void {
  for (const thing of things) {
    const selected = frame.selection?.id === thing.id;
    const current = frame.building === null || frame.building === thing.building;
    const colour = selected ? pen.paper.select : current ? pen.paper.ink : pen.paper.mid;
    const width = selected ? 3 : current ? 1.6 : 1;
    const top = thing.top.map((corner) => pen.at(corner));
    if (frame.name === 'plan') {
      pen.fill(top, pen.paper.sheet, 0.75);
      if (selected) pen.fill(top, pen.paper.selectWash);
    }
    ringLines(pen, frame, thing.top, width, colour);
    if (frame.name !== 'plan') drawSides(pen, frame, thing, colour);
    if (frame.name === 'plan' && sizeOf(top) > 9) drawMark(pen, thing, top, colour);
    if (current && thing.doubtful && !isMap(frame) && (frame.hidden?.isVisible(thing.centre) ?? true)) drawRevisionCloud(pen, frame.name === 'plan' ? top : [...top, ...thing.base.map((corner) => pen.at(corner))], patternScale(frame));
  }
}

function ringLines(pen: Pen, frame: InkFrame, ring: readonly Vector3[], width: number, colour: string): void {
  ring.forEach((corner, i) => {
    for (const [from, to] of visiblePieces(frame, corner, ring[(i + 1) % ring.length]!)) {
      pen.line([pen.at(from), pen.at(to)], { width, colour, cap: 'round' });
    }
  });
}

function drawSides(pen: Pen, frame: InkFrame, thing: SceneThing, colour: string): void {
  // A round thing has many corners; only its outer sides would show, and the ring says enough.
  if (thing.base.length <= 8) {
    thing.base.forEach((corner, i) => {
      for (const [from, to] of visiblePieces(frame, corner, thing.top[i]!)) pen.line([pen.at(from), pen.at(to)], { width: 1.3, colour });
    });
  }
  ringLines(pen, frame, thing.base, 1, colour);
}

/** What rises is crossed; what lies flush has a second line inside; a low point of light is nothing to cross. */
function drawMark(pen: Pen, thing: SceneThing, top: readonly Dot[], colour: string): void {
  const { shape } = thing.obstruction;
  if (shape === 'box' && top.length === 4) {
    pen.line([top[0]!, top[2]!], { width: 1, colour });
    pen.line([top[1]!, top[3]!], { width: 1, colour });
  } else if (shape === 'flush' || shape === 'line') {
    const middle = centre(top);
    pen.line(top.map(([x, y]): Dot => [middle[0] + (x - middle[0]) * 0.8, middle[1] + (y - middle[1]) * 0.8]), { width: 1, colour }, true);
  }
}

export function drawThingNames(pen: Pen, frame: InkFrame, things: readonly SceneThing[]): void {
  for (const thing of things) {
    if (frame.building !== null && thing.building !== frame.building) continue;
    const top = thing.top.map((corner) => pen.at(corner));
    const selected = frame.selection?.id === thing.id;
    if (sizeOf(top) < 7 && !selected) continue;
    if (frame.hidden && !frame.hidden.isVisible(thing.centre)) continue;
    const right = Math.max(...top.map(([x]) => x)) + 7;
    const y = centre(top)[1];
    const height = writeReading(thing.obstruction.heightAboveRoofM, 'length', frame.units);
    const roomy = frame.view.pixelsPerMetre > 18 || selected;
    if (!pen.write([letter(thing.name), figure(roomy ? ` ${thingWord(thing)}` : '', 12)], [right, y], { yields: !selected })) continue;
    if (height && (selected || frame.view.pixelsPerMetre > 30)) pen.write(readingPieces(height, pen.paper, 12), [right, y + 16], { yields: !selected });
  }
}

/** One word for a thing: its note where a person or the finder named it, else its shape. */
export function thingWord(thing: SceneThing): string {
  const { note, shape } = thing.obstruction;
  return note && note.length <= 18 ? note : shape === 'unknown' ? 'unknown' : shape;
}

/** Two lines at true thickness with slanted hatching between them. */
export function drawParapets(pen: Pen, frame: InkFrame, parapets: readonly SceneParapet[]): void {
  for (const { id, building, parapet } of parapets) {
    const thickness = parapet.thicknessM.value ?? 0.2;
    const height = frame.name === 'plan' ? 0 : (parapet.heightAboveRoofM.value ?? 0);
    const current = frame.building === null || frame.building === building;
    const selected = frame.selection?.id === id;
    const colour = selected ? pen.paper.select : current ? pen.paper.ink : pen.paper.mid;
    for (let i = 0; i + 1 < parapet.path.length; i++) {
      const [inner, outer] = [side(parapet.path, i, height, 0), side(parapet.path, i, height, thickness)];
      for (const [from, to] of visiblePieces(frame, ...inner)) pen.line([pen.at(from), pen.at(to)], { width: selected ? 2.5 : 1.2, colour });
      for (const [from, to] of visiblePieces(frame, ...outer)) pen.line([pen.at(from), pen.at(to)], { width: selected ? 2.5 : 1.2, colour });
      const deep = thickness * frame.view.pixelsPerMetre;
      if (frame.name === 'plan' && current && deep > 2.5) {
        const [a, b, c] = [pen.at(inner[0]), pen.at(inner[1]), pen.at(outer[0])];
        drawTicks(pen, a, b, [(c[0] - a[0]) / deep, (c[1] - a[1]) / deep], 7 * patternScale(frame), deep, 0.7);
      }
    }
  }
}

/** One length of a parapet, `by` outside its inner face. The path runs along the inner face with the roof to its left. */
function side(path: readonly Vector3[], i: number, lift: number, by: number): [Vector3, Vector3] {
  const [from, to] = [path[i]!, path[i + 1]!];
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
  const run = Math.hypot(dx, dy) || 1;
  const [ox, oy] = [(dy / run) * by, (-dx / run) * by];
  return [[from[0] + ox, from[1] + oy, from[2] + lift], [to[0] + ox, to[1] + oy, to[2] + lift]];
}

/** Low points of the roof, and small features a person pinned. */
export function drawPins(pen: Pen, frame: InkFrame): void {
  const { scene, view } = frame;
  if (!scene || view.pixelsPerMetre < 6) return;
  for (const { low } of scene.lowPoints) {
    if (low.pond) pen.line(low.pond.outline.map((corner) => pen.at(corner)), { width: 1, colour: pen.paper.ink, dash: [1.5, 4] }, true);
    if (low.lowLine) pen.line([pen.at(low.lowLine[0]), pen.at(low.lowLine[1])], { width: 1.5, colour: pen.paper.ink, dash: [8, 3, 2, 3] });
  }
  for (const { id, name, low } of scene.lowPoints) drawPin(pen, pen.at(low.at), name, low.verdict !== 'likely', frame.selection?.id === id);
  for (const { id, name, feature } of scene.features) {
    drawPin(pen, pen.at(feature.at[0]!), `${name} ${feature.kind}`, feature.resolvability !== 'resolved', frame.selection?.id === id);
  }
}

function drawPin(pen: Pen, at: Dot, name: string, doubtful: boolean, selected: boolean): void {
  const colour = selected ? pen.paper.select : pen.paper.ink;
  pen.circle(at, 6);
  pen.stroke({ width: selected ? 3 : 1.5, colour, ...(doubtful ? { dash: [3, 2.5] } : {}) });
  pen.line([[at[0] - 6, at[1]], [at[0] + 6, at[1]]], { width: 1, colour });
  pen.line([[at[0], at[1] - 6], [at[0], at[1] + 6]], { width: 1, colour });
  pen.write([letter(name, 12)], [at[0] + 11, at[1]], { yields: true });
}

const sizeOf = (ring: readonly Dot[]): number => {
  const xs = ring.map(([x]) => x);
  const ys = ring.map(([, y]) => y);
  return Math.max(Math.max(...xs) - Math.min(...xs), Math.max(...ys) - Math.min(...ys));
};

const centre = (ring: readonly Dot[]): Dot => [ring.reduce((sum, [x]) => sum + x, 0) / ring.length, ring.reduce((sum, [, y]) => sum + y, 0) / ring.length];
