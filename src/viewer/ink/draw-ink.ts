import { add, scale as scaled, type Vector3 } from '../../geometry/vector.ts';
import { wallsOf } from '../hidden-lines.ts';
import type { Paper } from '../paper.ts';
import type { RoofScene, SceneEdge } from '../scene.ts';
import { drawBlankSheet } from './blank-sheet.ts';
import { drawClipBox } from './clip-lines.ts';
import { drawDetailCircle } from './detail-circle.ts';
import { drawDimension } from './dimension.ts';
import { elevationLevels } from './elevation-levels.ts';
import { drawFitting } from './fitting-lines.ts';
import type { InkFrame } from './frame.ts';
import { drawLegend, drawNorthArrow, drawScaleBar, drawSectionLine, reserveFurniture } from './furniture.ts';
import { drawKeyPlan } from './key-plan.ts';
import { datumOf, drawLevelMarks } from './level-marks.ts';
import { drawMeasuring, drawReadings } from './measure-lines.ts';
import { Pen, type Dot } from './pen.ts';
import { drawPointLegend } from './point-legend.ts';
import { drawEdges, drawNames, drawRegularEdge, drawRegularPlane, drawSelectedEdge, drawSelectedPlane, inPicture, isMap, visiblePieces } from './roof-lines.ts';
import { drawElevationGround, drawSection, drawSectionLegend } from './section-lines.ts';
import { drawParapets, drawPins, drawThingNames, drawThings } from './thing-lines.ts';

/** Draws one frame in ink over whatever the canvas's background shows. */
export function drawInk(context: CanvasRenderingContext2D, frame: InkFrame, paper: Paper, names: ReadonlyMap<string, string>): void {
  const pen = new Pen(context, paper, frame.view);
  if (frame.blank) return drawBlankSheet(pen);
  const legend = frame.scene && frame.layers.edges && frame.name !== 'section' && !isMap(frame) ? frame.scene.edges : null;
  reserveFurniture(pen, frame, legend);
  if (frame.scene) {
    if (frame.name === 'section') drawSection(pen, frame);
    else drawRoof(pen, frame, frame.scene, names);
  }
  if (frame.layers.readings && (frame.name === 'section' || !frame.scene)) drawReadings(pen, frame, names);
  if (frame.name === 'section' || frame.name === 'elevation') drawKeyPlan(pen, frame);
  if (frame.scene && frame.name === 'section') drawSectionLegend(pen, frame);
  drawScaleBar(pen, frame);
  drawNorthArrow(pen, frame);
  if (legend) drawLegend(pen, frame, legend);
  drawPointLegend(pen, frame);
}

/** What follows the pointer, on a sheet of its own above the ink: it changes often, the ink seldom. */
export function drawOverlay(context: CanvasRenderingContext2D, frame: InkFrame, paper: Paper): void {
  const pen = new Pen(context, paper, frame.view);
  if (frame.clip) drawClipBox(pen, frame.clip);
  drawSectionLine(pen, frame);
  drawMeasuring(pen, frame);
  drawDetailCircle(pen, frame);
}

function drawRoof(pen: Pen, frame: InkFrame, scene: RoofScene, names: ReadonlyMap<string, string>): void {
  if (frame.name === 'elevation') drawElevationGround(pen, frame);
  if (frame.name === 'free' || frame.name === 'elevation') drawWalls(pen, frame, scene);
  const plane = scene.planes.find(({ id }) => id === frame.selection?.id);
  const edge = scene.edges.find(({ id }) => id === frame.selection?.id);
  if (plane) drawSelectedPlane(pen, frame, plane);
  drawFitting(pen, frame);
  if (edge) drawSelectedEdge(pen, frame, edge);
  if (frame.layers.edges) drawEdges(pen, frame, scene.edges);
  if (plane) drawRegularPlane(pen, plane);
  if (edge) drawRegularEdge(pen, edge);
  if (frame.layers.things) {
    drawParapets(pen, frame, scene.parapets);
    drawThings(pen, frame, scene.things);
    drawPins(pen, frame);
  }
  if (plane && frame.name !== 'elevation') drawPlaneDimensions(pen, frame, scene, plane.id);
  if (edge) dimensionOf(pen, frame, edge);
  if (frame.name === 'elevation') drawLevelMarks(pen, frame, elevationLevels(frame, scene), datumOf(frame, scene.buildings.length === 1 ? scene.buildings[0]!.ground : undefined));
  // Readings come first: letters yield to them.
  if (frame.layers.readings) drawReadings(pen, frame, names);
  if (frame.layers.letters) {
    drawNames(pen, frame, scene);
    if (frame.layers.things && !isMap(frame)) drawThingNames(pen, frame, scene.things);
  }
}

function drawWalls(pen: Pen, frame: InkFrame, scene: RoofScene): void {
  for (const wall of wallsOf(scene)) {
    if (!inPicture(pen, wall[0]!, wall[2]!)) continue;
    for (const [from, to] of [[wall[1]!, wall[2]!], [wall[2]!, wall[3]!]] as const) {
      for (const [a, b] of visiblePieces(frame, from, to)) pen.line([pen.at(a), pen.at(b)], { width: 1, colour: pen.paper.mid });
    }
  }
}

/** The two longest free edges of the selected plane, dimensioned outside it, unless they run the same way. */
function drawPlaneDimensions(pen: Pen, frame: InkFrame, scene: RoofScene, plane: string): void {
  const free = scene.edges.filter((edge) => edge.planes[0] === plane && edge.planes.length === 1).sort((a, b) => (b.slopeLengthM.value ?? 0) - (a.slopeLengthM.value ?? 0));
  const first = free[0];
  if (!first) return;
  dimensionOf(pen, frame, first);
  const across = free.find((edge) => Math.abs(edge.outward[0] * first.outward[0] + edge.outward[1] * first.outward[1]) < 0.5);
  if (across) dimensionOf(pen, frame, across);
}

function dimensionOf(pen: Pen, frame: InkFrame, edge: SceneEdge): void {
  const [from, to] = [pen.at(edge.from), pen.at(edge.to)];
  const run = Math.hypot(to[0] - from[0], to[1] - from[1]);
  // A line the eye does not see is not dimensioned.
  if (run < 60 || (frame.hidden && !frame.hidden.isVisible(scaled(add(edge.from, edge.to), 0.5)))) return;
  const out = pen.at([edge.from[0] + edge.outward[0], edge.from[1] + edge.outward[1], edge.from[2]] as Vector3);
  const side: Dot = [(to[1] - from[1]) / run, -(to[0] - from[0]) / run];
  const agrees = (out[0] - from[0]) * side[0] + (out[1] - from[1]) * side[1] >= 0;
  drawDimension(pen, from, to, agrees ? side : [-side[0], -side[1]], edge.slopeLengthM, frame.units, { colour: pen.paper.ink, offset: edge.planes.length > 1 ? 26 : 34 });
}
