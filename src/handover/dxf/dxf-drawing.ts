import { interiorPosition } from '../../geometry/interior-position.ts';
import { ringContains } from '../../geometry/polygon.ts';
import { triangulateRing } from '../../geometry/triangulate-ring.ts';
import { subtract, type Vector2, type Vector3 } from '../../geometry/vector.ts';
import { partNames } from '../../roof/part-names.ts';
import type { Building, LowPoint, Obstruction, RoofEdge, RoofPlane, RoofRecord } from '../../roof/record.ts';
import { plainReading } from '../../units/written-reading.ts';
import type { DrawingPlace } from '../drawing-place.ts';
import { planeNamed, planesById } from '../features.ts';
import { obstructionSolid, solidFaces } from '../obstruction-solid.ts';
import { ringsOfUsable } from '../usable-rings.ts';
import { circle, closedOutline, dimensionEntity, face, line, obstructionTag, spacePath, text, type DimensionLine, type Facts } from './dxf-entities.ts';
import { edgeLayer } from './dxf-layers.ts';
import { OWNER } from './dxf-tables.ts';
import type { DxfText } from './dxf-text.ts';

/** Attributes of an obstruction's tag, in this order. HEIGHT is for people, HEIGHT_M for programs. */
export const TAG_ATTRIBUTES = ['NAME', 'HEIGHT', 'ID', 'ON_PLANE', 'HEIGHT_M', 'HEIGHT_U95_M', 'PLAN_AREA_M2', 'SHAPE', 'SURE', 'NOTE'] as const;

/** An edge counts as level, and is dimensioned in plan, when it rises less than this per metre: then plan and slope length agree to 0.02 %. */
const LEVEL_RISE = 0.02;

/** Draws one record into the entities section. */
export class DxfDrawing {
  readonly dimensions: DimensionLine[] = [];
  private readonly names: Map<string, string>;
  private readonly planes: Map<string, RoofPlane>;

  constructor(
    private readonly out: DxfText,
    private readonly record: RoofRecord,
    private readonly frame: DrawingPlace,
    /** Height of lettering. [drawing units] */
    private readonly letter: number,
  ) {
    this.names = partNames(record);
    this.planes = planesById(record);
  }

  draw(): void {
    for (const building of this.record.buildings) this.drawBuilding(building);
    this.drawLayout();
    for (const thing of this.record.smallFeatures) {
      const facts = { id: thing.id, kind: thing.kind, sure: thing.resolvability, verify_on_site: String(thing.verifyOnSite) };
      this.drawMark('SMALL-FEATURE', thing.at, facts, `${this.name(thing.id)} ${thing.kind}${thing.verifyOnSite ? ', verify on site' : ''}`);
    }
  }

  private drawBuilding(building: Building): void {
    this.outline('BUILDING-OUTLINE', building.outline, { id: building.id });
    for (const plane of building.roofPlanes) this.drawPlane(plane);
    for (const edge of building.edges) this.drawEdge(edge);
    for (const parapet of building.parapets) {
      spacePath(this.out, OWNER.model, 'PARAPET', parapet.path.map(this.frame.place), {
        id: parapet.id,
        height_above_roof_m: parapet.heightAboveRoofM.value,
        thickness_m: parapet.thicknessM.value,
      });
    }
    for (const thing of building.obstructions) this.drawObstruction(thing);
    for (const low of building.lowPoints) this.drawLowPoint(low);
  }

  private drawLowPoint({ id, at, depthM, verdict, pond, lowLine }: LowPoint): void {
    const depth = { depth_m: depthM.value, depth_u95_m: depthM.value === null ? null : depthM.u95 };
    const pondArea = pond ? `, holds ${plainReading(pond.planAreaM2, 'area')}` : '';
    this.drawMark('LOW-POINT', [at], { id, ...depth, verdict }, `${this.name(id)} ${verdict === 'cannot-tell' ? 'cannot tell' : `depth ${plainReading(depthM, 'length')}`}${pondArea}`);
    if (pond) {
      const { planAreaM2 } = pond;
      this.outline('POND', pond.outline, { id, ...depth, plan_area_m2: planAreaM2.value, plan_area_u95_m2: planAreaM2.value === null ? null : planAreaM2.u95 });
    }
    if (lowLine) spacePath(this.out, OWNER.model, 'LEVEL-LINE', lowLine.map(this.frame.place), { id });
  }

  private drawPlane(plane: RoofPlane): void {
    const facts: Facts = {
      id: plane.id,
      pitch_deg: plane.pitchDeg.value,
      azimuth_deg: plane.azimuthDeg.value,
      slope_area_m2: plane.slopeAreaM2.value,
      plan_area_m2: plane.planAreaM2.value,
    };
    this.outline('PLANE-OUTLINE', plane.outline, facts);
    for (const hole of plane.holes) this.outline('PLANE-HOLE', hole, { id: plane.id });
    const { corners, triangles } = triangulateRing([plane.outline, ...plane.holes]);
    const placed = corners.map(this.frame.place);
    for (let i = 0; i < triangles.length; i += 3) {
      face(this.out, OWNER.model, 'PLANE-SURFACE', [placed[triangles[i]!]!, placed[triangles[i + 1]!]!, placed[triangles[i + 2]!]!], { id: plane.id });
    }
    const { at } = interiorPosition([plane.outline, ...plane.holes]);
    this.label(this.name(plane.id), at, 0);
    this.label(`pitch ${plainReading(plane.pitchDeg, 'pitch')}`, at, 1);
    this.label(`slope area ${plainReading(plane.slopeAreaM2, 'area')}`, at, 2);
  }

  private drawEdge(edge: RoofEdge): void {
    const facts = { id: edge.id, name: this.name(edge.id), planes: edge.planes.join(' '), slope_length_m: edge.slopeLengthM.value, slope_length_u95_m: edge.slopeLengthM.value === null ? null : edge.slopeLengthM.u95 };
    line(this.out, OWNER.model, edgeLayer(edge.kind), this.frame.place(edge.from), this.frame.place(edge.to), facts);
    const [dx, dy, dz] = subtract(edge.to, edge.from);
    const plan = Math.hypot(dx, dy);
    if (plan < 1e-3) return;
    const free = edge.planes.length === 1 && Math.abs(dz) <= LEVEL_RISE * plan;
    if (free) this.dimension(edge);
    this.edgeLabel(edge, free ? this.name(edge.id) : `${this.name(edge.id)} ${plainReading(edge.slopeLengthM, 'length')}`);
  }

  /** Dimensions stand outside the roof. */
  private dimension(edge: RoofEdge): void {
    const [from, to] = [this.flat(edge.from), this.flat(edge.to)];
    const plan = Math.hypot(edge.to[0] - edge.from[0], edge.to[1] - edge.from[1]);
    const dimension: DimensionLine = {
      from,
      to,
      aside: this.outwardSide(edge) * 4 * this.letter,
      textHeight: this.letter,
      content: (plan * this.frame.perMetre).toFixed(3),
    };
    this.dimensions.push(dimension);
    dimensionEntity(this.out, OWNER.model, `*D${this.dimensions.length}`, dimension, { id: edge.id });
  }

  /** +1 when the outside lies to the left of from → to, −1 when to the right. */
  private outwardSide(edge: RoofEdge): 1 | -1 {
    const plane = this.planes.get(edge.planes[0]!);
    if (plane === undefined) return 1;
    const [dx, dy] = subtract(edge.to, edge.from);
    const size = Math.hypot(dx, dy);
    const probe: Vector2 = [(edge.from[0] + edge.to[0]) / 2 - (dy / size) * 0.05, (edge.from[1] + edge.to[1]) / 2 + (dx / size) * 0.05];
    return ringContains(plane.outline, probe) ? -1 : 1;
  }

  private edgeLabel(edge: RoofEdge, content: string): void {
    const [dx, dy] = subtract(edge.to, edge.from);
    let turnDeg = (Math.atan2(dy, dx) * 180) / Math.PI;
    if (turnDeg > 90 || turnDeg <= -90) turnDeg += turnDeg > 0 ? -180 : 180;
    const up = (turnDeg * Math.PI) / 180 + Math.PI / 2;
    const [x, y] = this.flat([(edge.from[0] + edge.to[0]) / 2, (edge.from[1] + edge.to[1]) / 2, 0]);
    const at: Vector3 = [x + Math.cos(up) * this.letter * 0.6, y + Math.sin(up) * this.letter * 0.6, 0];
    text(this.out, OWNER.model, 'LABEL', content, { at, height: this.letter, turnDeg, align: 'centre' });
  }

  private drawObstruction(thing: Obstruction): void {
    const plane = planeNamed(this.planes, thing.onPlane, `obstruction ${thing.id}`);
    const height = thing.heightAboveRoofM;
    this.outline('OBSTRUCTION', thing.footprint, { id: thing.id, plan_area_m2: thing.planAreaM2.value, height_above_roof_m: height.value });
    const solid = obstructionSolid(thing, plane);
    if (solid !== null) {
      for (const corners of solidFaces(solid)) face(this.out, OWNER.model, 'OBSTRUCTION-SURFACE', corners.map(this.frame.place), { id: thing.id });
    }
    const { at } = interiorPosition([thing.footprint]);
    const values: Record<(typeof TAG_ATTRIBUTES)[number], string> = {
      NAME: this.name(thing.id),
      HEIGHT: height.value === null ? `height: ${height.why}` : `+${plainReading(height, 'length')}`,
      ID: thing.id,
      ON_PLANE: thing.onPlane,
      HEIGHT_M: height.value === null ? '' : height.value.toFixed(3),
      HEIGHT_U95_M: height.value === null ? '' : height.u95.toFixed(3),
      PLAN_AREA_M2: thing.planAreaM2.value === null ? '' : thing.planAreaM2.value.toFixed(3),
      SHAPE: thing.shape,
      SURE: thing.resolvability,
      NOTE: thing.note ?? '',
    };
    obstructionTag(this.out, OWNER.model, this.flat([at[0], at[1], 0]), this.letter, TAG_ATTRIBUTES.map((tag) => [tag, values[tag]] as const));
  }

  private drawLayout(): void {
    for (const [i, zone] of (this.record.keepClear?.zones ?? []).entries()) {
      this.outline('KEEP-CLEAR', zone.polygon, { id: `k${i + 1}`, on_plane: zone.plane, reason: zone.reason, because: zone.because });
    }
    for (const plane of this.record.usable?.planes ?? []) {
      for (const ring of ringsOfUsable(plane.polygons).flat()) this.outline('USABLE', ring, { on_plane: plane.id });
    }
    for (const module of this.record.layout?.modules ?? []) {
      const facts = { id: module.id, on_plane: module.plane, solar_access: module.solarAccess };
      this.outline('MODULE', module.corners, facts);
      face(this.out, OWNER.model, 'MODULE-SURFACE', module.corners.map(this.frame.place), facts);
    }
  }

  /** One position is a ring with a cross, several are a path in space. */
  private drawMark(layer: string, at: readonly Vector3[], facts: Facts, label: string): void {
    if (at.length === 0) return;
    const [x, y] = this.flat(at[0]!);
    const radius = this.letter / 2;
    if (at.length === 1) {
      circle(this.out, OWNER.model, layer, [x, y, 0], radius, facts);
      line(this.out, OWNER.model, layer, [x - radius, y, 0], [x + radius, y, 0]);
      line(this.out, OWNER.model, layer, [x, y - radius, 0], [x, y + radius, 0]);
    } else {
      spacePath(this.out, OWNER.model, layer, at.map(this.frame.place), facts);
    }
    text(this.out, OWNER.model, layer, label, { at: [x + radius * 1.5, y + radius * 1.5, 0], height: this.letter });
  }

  private label(content: string, at: Vector2, row: number): void {
    const [x, y] = this.flat([at[0], at[1], 0]);
    text(this.out, OWNER.model, 'LABEL', content, { at: [x, y - row * this.letter * 1.5, 0], height: this.letter, align: 'centre' });
  }

  private outline(layer: string, ring: readonly (Vector2 | Vector3)[], facts: Facts): void {
    if (ring.length < 3) return;
    closedOutline(this.out, OWNER.model, layer, ring.map((corner): Vector3 => this.frame.place([corner[0], corner[1], 0])), facts);
  }

  private flat(local: Vector3): Vector3 {
    const [x, y] = this.frame.place(local);
    return [x, y, 0];
  }

  private name(id: string): string {
    return this.names.get(id) ?? id;
  }
}

/** North as an arrow beside the drawing. */
export function drawNorth(out: DxfText, at: Vector3, gridToTrueDeg: number, letter: number, north: 'true' | 'grid'): void {
  // A true bearing of 0 is a grid bearing of -gridToTrue.
  const turn = (-gridToTrueDeg * Math.PI) / 180;
  const toward = (along: number, across: number): Vector3 => [
    at[0] + (along * Math.sin(turn) + across * Math.cos(turn)) * letter,
    at[1] + (along * Math.cos(turn) - across * Math.sin(turn)) * letter,
    0,
  ];
  const layer = 'NORTH';
  line(out, OWNER.model, layer, toward(-5, 0), toward(5, 0));
  line(out, OWNER.model, layer, toward(5, 0), toward(2.5, 0.9));
  line(out, OWNER.model, layer, toward(5, 0), toward(2.5, -0.9));
  text(out, OWNER.model, layer, 'N', { at: toward(5.8, 0), height: 1.4 * letter, align: 'centre' });
  text(out, OWNER.model, layer, `${north} north`, { at: toward(-7, 0), height: letter, align: 'centre' });
}
