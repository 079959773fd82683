import { subtract, type Vector3 } from '../../geometry/vector.ts';
import { APPLICATION, DIMENSION_STYLE, TAG_BLOCK, TEXT_STYLE } from './dxf-tables.ts';
import type { DxfText } from './dxf-text.ts';

/** Facts filed with an entity (extended data of our own name), one `key=value` each. */
export type Facts = Readonly<Record<string, string | number | null>>;

/** DXF allows 255 bytes in one such string; longer ones are cut at a safe length. */
const LONGEST_FACT = 80;

function writeFacts(out: DxfText, facts: Facts): void {
  const known = Object.entries(facts).filter(([, value]) => value !== null);
  if (known.length === 0) return;
  out.tag(1001, APPLICATION);
  for (const [key, value] of known) out.text(1000, `${key}=${String(value).slice(0, LONGEST_FACT)}`);
}

/** Closed outline in plan, at height 0. */
export function closedOutline(out: DxfText, owner: string, layer: string, ring: readonly Vector3[], facts: Facts): void {
  if (out.isModern) {
    out.entity('LWPOLYLINE', layer, owner, 'AcDbPolyline');
    out.tag(90, ring.length).tag(70, 1).real(43, 0).real(38, 0);
    for (const [x, y] of ring) out.real(10, x).real(20, y);
    writeFacts(out, facts);
    return;
  }
  polyline(out, owner, layer, ring.map(([x, y]): Vector3 => [x, y, 0]), 1, 0, facts);
}

/** Open path in space. */
export function spacePath(out: DxfText, owner: string, layer: string, path: readonly Vector3[], facts: Facts): void {
  polyline(out, owner, layer, path, 8, 32, facts);
}

function polyline(out: DxfText, owner: string, layer: string, path: readonly Vector3[], flags: number, vertexFlags: number, facts: Facts): void {
  const inSpace = vertexFlags === 32;
  const handle = out.entity('POLYLINE', layer, owner, inSpace ? 'AcDb3dPolyline' : 'AcDb2dPolyline');
  out.tag(66, 1).position(10, [0, 0, 0]).tag(70, flags);
  writeFacts(out, facts);
  for (const corner of path) {
    out.entity('VERTEX', layer, handle, 'AcDbVertex');
    out.subclass(inSpace ? 'AcDb3dPolylineVertex' : 'AcDb2dVertex');
    out.position(10, corner).tag(70, vertexFlags);
  }
  out.entity('SEQEND', layer, handle, '');
}

export function line(out: DxfText, owner: string, layer: string, from: Vector3, to: Vector3, facts: Facts = {}): void {
  out.entity('LINE', layer, owner, 'AcDbLine');
  out.position(10, from).position(11, to);
  writeFacts(out, facts);
}

/** Three or four corners; a triangle repeats its third corner, as the format asks. */
export function face(out: DxfText, owner: string, layer: string, corners: readonly Vector3[], facts: Facts): void {
  out.entity('3DFACE', layer, owner, 'AcDbFace');
  for (let i = 0; i < 4; i++) out.position(10 + i, corners[Math.min(i, corners.length - 1)]!);
  writeFacts(out, facts);
}

export function circle(out: DxfText, owner: string, layer: string, centre: Vector3, radius: number, facts: Facts = {}): void {
  out.entity('CIRCLE', layer, owner, 'AcDbCircle');
  out.position(10, centre).real(40, radius);
  writeFacts(out, facts);
}

export interface TextPlace {
  readonly at: Vector3;
  readonly height: number;
  readonly turnDeg?: number;
  readonly align?: 'left' | 'centre';
}

export function text(out: DxfText, owner: string, layer: string, content: string, place: TextPlace): void {
  out.entity('TEXT', layer, owner, 'AcDbText');
  textBody(out, content, place);
  out.subclass('AcDbText');
  if (place.align === 'centre') out.tag(73, 2);
}

function textBody(out: DxfText, content: string, { at, height, turnDeg = 0, align = 'left' }: TextPlace): void {
  out.position(10, at).real(40, height).text(1, content).real(50, turnDeg).tag(7, TEXT_STYLE);
  if (align === 'centre') out.tag(72, 1).position(11, at);
}

/** The tag of an obstruction: a block with one attribute per value, so that a program can list them. */
export function obstructionTag(out: DxfText, owner: string, at: Vector3, height: number, values: readonly (readonly [string, string])[]): void {
  const layer = 'OBSTRUCTION-TAG';
  const handle = out.entity('INSERT', layer, owner, 'AcDbBlockReference');
  out.tag(66, 1).tag(2, TAG_BLOCK).position(10, at);
  for (const [i, [tag, value]] of values.entries()) {
    out.entity('ATTRIB', layer, handle, 'AcDbText');
    textBody(out, value, { at: [at[0], at[1] - (i + 1) * height * 1.4, at[2]], height });
    // Only name and height are shown; the rest is there to be read.
    out.subclass('AcDbAttribute').tag(2, tag).tag(70, tag === 'NAME' || tag === 'HEIGHT' ? 0 : 1);
  }
  out.entity('SEQEND', layer, handle, '');
}

/** Definition of that block: a small cross and the same attributes, empty. */
export function obstructionTagBlock(out: DxfText, owner: string, height: number, tags: readonly string[]): void {
  const layer = 'OBSTRUCTION-TAG';
  const arm = height / 2;
  line(out, owner, layer, [-arm, 0, 0], [arm, 0, 0]);
  line(out, owner, layer, [0, -arm, 0], [0, arm, 0]);
  for (const [i, tag] of tags.entries()) {
    out.entity('ATTDEF', layer, owner, 'AcDbText');
    textBody(out, '', { at: [0, -(i + 1) * height * 1.4, 0], height });
    out.subclass('AcDbAttributeDefinition').text(3, tag).tag(2, tag).tag(70, tag === 'NAME' || tag === 'HEIGHT' ? 0 : 1);
  }
}

export interface DimensionLine {
  readonly from: Vector3;
  readonly to: Vector3;
  /** Distance of the dimension line, to the left of from → to. */
  readonly aside: number;
  readonly textHeight: number;
  readonly content: string;
}

/** Where the parts of a dimension lie, in plan. */
export function dimensionParts({ from, to, aside, textHeight }: DimensionLine) {
  const [dx, dy] = subtract(to, from);
  const size = Math.hypot(dx, dy);
  const [nx, ny] = [-dy / size, dx / size];
  const move = (p: Vector3, distance: number): Vector3 => [p[0] + nx * distance, p[1] + ny * distance, 0];
  const [a, b] = [move(from, aside), move(to, aside)];
  const overshoot = aside + Math.sign(aside) * textHeight * 0.4;
  let turnDeg = (Math.atan2(dy, dx) * 180) / Math.PI;
  const upsideDown = turnDeg > 90 || turnDeg <= -90;
  if (upsideDown) turnDeg += turnDeg > 0 ? -180 : 180;
  const textAside = aside + (upsideDown ? -1 : 1) * textHeight * 0.9;
  const middle: Vector3 = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2, 0];
  return { a, b, overshootA: move(from, overshoot), overshootB: move(to, overshoot), textAt: move(middle, textAside), turnDeg, along: [dx / size, dy / size] as const };
}

/** The drawn form of a dimension: extension lines, dimension line, slanted ticks, text. */
export function dimensionBlock(out: DxfText, owner: string, dimension: DimensionLine): void {
  const layer = 'DIMENSION';
  const { a, b, overshootA, overshootB, textAt, turnDeg, along } = dimensionParts(dimension);
  const tick = dimension.textHeight * 0.5;
  const [tx, ty] = [(along[0] - along[1]) * tick * Math.SQRT1_2, (along[1] + along[0]) * tick * Math.SQRT1_2];
  line(out, owner, layer, [dimension.from[0], dimension.from[1], 0], overshootA);
  line(out, owner, layer, [dimension.to[0], dimension.to[1], 0], overshootB);
  line(out, owner, layer, a, b);
  for (const end of [a, b]) line(out, owner, layer, [end[0] - tx, end[1] - ty, 0], [end[0] + tx, end[1] + ty, 0]);
  text(out, owner, layer, dimension.content, { at: textAt, height: dimension.textHeight, turnDeg, align: 'centre' });
}

export function dimensionEntity(out: DxfText, owner: string, block: string, dimension: DimensionLine, facts: Facts): void {
  const { b, textAt } = dimensionParts(dimension);
  out.entity('DIMENSION', 'DIMENSION', owner, 'AcDbDimension');
  out.tag(2, block).position(10, b).position(11, textAt).tag(70, 33).text(1, dimension.content).tag(3, DIMENSION_STYLE);
  out.subclass('AcDbAlignedDimension');
  out.position(13, [dimension.from[0], dimension.from[1], 0]).position(14, [dimension.to[0], dimension.to[1], 0]);
  writeFacts(out, facts);
}
