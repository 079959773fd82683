import { hatchLines } from '../../geometry/hatch.ts';
import { interiorPosition } from '../../geometry/interior-position.ts';
import { ringContains } from '../../geometry/polygon.ts';
import type { Vector2, Vector3 } from '../../geometry/vector.ts';
import { partNames } from '../../roof/part-names.ts';
import type { Building, Obstruction, RoofEdge, RoofPlane, RoofRecord } from '../../roof/record.ts';
import { plainReading } from '../../units/written-reading.ts';
import { edgeBand, edgeInk } from './edge-ink.ts';
import { LabelSpace } from './label-space.ts';
import { area, circle, DOUBT, INK, INK_2, MID, polyline, SELECT, text, type Mark, type TextMark, type TextRun } from './mark.ts';
import { numberRuns } from './number-runs.ts';
import type { PlanView } from './plan-view.ts';

/** Plans of several buildings show outlines and names; a plan of one shows everything. */
export type PlanDetail = 'building' | 'site';

/** Draws buildings from above. Ink over bands over areas; lettering last and never over other lettering. */
export function planMarks(record: RoofRecord, buildings: readonly Building[], view: PlanView, detail: PlanDetail): Mark[] {
  const plan = new Plan(record, view);
  for (const building of buildings) plan.surfaces(building);
  if (detail === 'building') plan.zonesAndModules(new Set(buildings.flatMap((building) => building.roofPlanes.map((plane) => plane.id))));
  for (const building of buildings) plan.lines(building, detail);
  for (const building of buildings) plan.things(building);
  if (detail === 'building') plan.smallFeatures(buildings);
  for (const building of buildings) plan.lettering(building, detail);
  return plan.marks;
}

class Plan {
  readonly marks: Mark[] = [];
  private readonly labels: LabelSpace;
  private readonly names: Map<string, string>;

  constructor(
    private readonly record: RoofRecord,
    private readonly view: PlanView,
  ) {
    this.labels = new LabelSpace(view.box);
    this.names = partNames(record);
  }

  surfaces(building: Building): void {
    for (const plane of building.roofPlanes) {
      this.marks.push(area([plane.outline, ...plane.holes].map((ring) => this.ring(ring)), { fill: '#fbfcfa', stroke: MID, width: 0.18 }, plane.id));
    }
  }

  zonesAndModules(planes: ReadonlySet<string>): void {
    for (const zone of this.record.keepClear?.zones ?? []) {
      if (!planes.has(zone.plane)) continue;
      const ring = this.ring(zone.polygon);
      this.marks.push(area([ring], { stroke: MID, width: 0.18, dash: [1.2, 0.8] }));
      const strokes = zone.reason === 'access' ? [0.25] : zone.reason === 'obstruction' ? [Math.PI / 4, -Math.PI / 4] : [Math.PI / 4];
      for (const angle of strokes) {
        const parts = hatchLines([ring], zone.reason === 'edge' ? 1.9 : 2.4, angle).map((points) => ({ points, closed: false }));
        this.marks.push({ kind: 'path', parts, stroke: MID, width: 0.13, ...(zone.reason === 'access' ? { dash: [0, 1.6], roundEnds: true, width: 0.4 } : {}) });
      }
    }
    for (const module of this.record.layout?.modules ?? []) {
      if (!planes.has(module.plane)) continue;
      this.marks.push(area([this.ring(module.corners)], { fill: '#dcebf5', stroke: INK, width: 0.2 }, module.id));
    }
  }

  lines(building: Building, detail: PlanDetail): void {
    if (detail === 'site') {
      this.marks.push(area([this.ring(building.outline)], { stroke: INK, width: 0.5 }, building.id));
      for (const edge of building.edges) this.marks.push(polyline([this.at(edge.from), this.at(edge.to)], { stroke: INK, width: 0.2 }));
      return;
    }
    for (const edge of building.edges) this.marks.push(...edgeBand(edge.kind, this.at(edge.from), this.at(edge.to)));
    for (const parapet of building.parapets) this.parapet(parapet.path, parapet.thicknessM.value);
    for (const edge of building.edges) this.marks.push(...edgeInk(edge.kind, this.at(edge.from), this.at(edge.to), this.outward(edge, building)));
  }

  /** Outer face at true thickness, to the right of a path that runs with the roof on its left or the other way round. */
  private parapet(path: readonly Vector3[], thickness: number | null): void {
    this.marks.push(polyline(this.ring(path), { stroke: INK, width: 0.35 }));
    if (thickness === null || !(thickness > 0) || path.length < 2) return;
    const width = (thickness * 1000) / this.view.scale;
    this.marks.push(polyline(this.ring(path), { stroke: MID, width: Math.max(width, 0.4), opacity: 0.3 }));
  }

  things(building: Building): void {
    for (const thing of building.obstructions) {
      const ring = this.ring(thing.footprint);
      const doubtful = thing.resolvability !== 'resolved';
      this.marks.push(area([ring], { fill: '#ffffff', stroke: INK, width: 0.4, ...(doubtful ? { dash: [1.4, 0.9] } : {}) }, thing.id));
      if (thing.shape === 'box' && ring.length === 4) {
        this.marks.push(polyline([ring[0]!, ring[2]!], { stroke: INK, width: 0.18 }), polyline([ring[1]!, ring[3]!], { stroke: INK, width: 0.18 }));
      }
    }
    for (const low of building.lowPoints) {
      const at = this.at(low.at);
      if (low.pond) this.marks.push(area([this.ring(low.pond.outline)], { stroke: INK_2, width: 0.3, dash: [0, 1], roundEnds: true }, low.id));
      if (low.lowLine) this.marks.push(polyline(this.ring(low.lowLine), { stroke: INK_2, width: 0.3, dash: [3, 0.8, 0.5, 0.8] }));
      this.marks.push(circle(at, 1.1, { stroke: INK, width: 0.3 }), circle(at, 0.35, { fill: INK }));
    }
  }

  smallFeatures(buildings: readonly Building[]): void {
    const planes = new Set(buildings.flatMap((building) => building.roofPlanes.map((plane) => plane.id)));
    for (const thing of this.record.smallFeatures) {
      if (thing.onPlane === null || !planes.has(thing.onPlane) || thing.at.length === 0) continue;
      const path = this.ring(thing.at);
      if (path.length > 1) this.marks.push(polyline(path, { stroke: DOUBT, width: 0.5, dash: [0.1, 1.1], roundEnds: true }));
      else this.marks.push(circle(path[0]!, 1.7, { stroke: DOUBT, width: 0.4, dash: [0.9, 0.7] }));
      this.shoulder(path[0]!, [{ text: `${this.name(thing.id)} ${thing.kind}`, face: 'figures' }]);
    }
  }

  lettering(building: Building, detail: PlanDetail): void {
    if (detail === 'site') {
      const { at } = interiorPosition([building.outline]);
      this.put(text(this.at(at), building.id, { size: 4.5, face: 'lettering-firm', anchor: 'middle', halo: true }));
      return;
    }
    for (const plane of building.roofPlanes) this.planeLabel(plane, building);
    for (const thing of building.obstructions) this.thingLabel(thing);
    for (const low of building.lowPoints) this.shoulder(this.at(low.at), [{ text: this.name(low.id), face: 'figures' }]);
    for (const edge of building.edges) this.edgeLabel(edge, building);
  }

  /** Name, pitch and fall arrow, where nothing else stands; a small plane gets its name only. */
  private planeLabel(plane: RoofPlane, building: Building): void {
    const rings = [plane.outline, ...plane.holes];
    const modules = (this.record.layout?.modules ?? []).filter((module) => module.plane === plane.id).map((module) => module.corners);
    const things = building.obstructions.filter((thing) => thing.onPlane === plane.id).map((thing) => thing.footprint);
    const free = interiorPosition([...rings, ...modules, ...things]);
    const perMetre = 1000 / this.view.scale;
    const { at, clearance } = free.clearance * perMetre > 6 ? free : interiorPosition(rings);
    const [x, y] = this.at(at);
    this.put(text([x, y], this.name(plane.id), { size: 4, face: 'lettering-firm', anchor: 'middle', halo: true }));
    if (clearance * perMetre < 9) return;
    this.put(text([x, y + 5], numberRuns(plane.pitchDeg, 'pitch'), { anchor: 'middle', halo: true }));
    if (plane.azimuthDeg.value !== null) this.fallArrow(plane, [x, y], Math.min(clearance * perMetre * 0.9, 14));
  }

  /** Beside the lettering, on whichever side lies on the plane; it always points down the roof. */
  private fallArrow(plane: RoofPlane, [x, y]: Vector2, size: number): void {
    const bearing = (plane.azimuthDeg.value! * Math.PI) / 180;
    const down: Vector2 = [Math.sin(bearing), -Math.cos(bearing)];
    const outline = this.ring(plane.outline);
    for (const aside of [16, -16]) {
      const foot: Vector2 = [x + aside, y + 1];
      const tip: Vector2 = [foot[0] + (down[0] * size) / 2, foot[1] + (down[1] * size) / 2];
      const tail: Vector2 = [foot[0] - (down[0] * size) / 2, foot[1] - (down[1] * size) / 2];
      if (!ringContains(outline, tip) || !ringContains(outline, tail)) continue;
      const back = (side: number): Vector2 => [tip[0] - down[0] * 2.6 - down[1] * side, tip[1] - down[1] * 2.6 + down[0] * side];
      this.marks.push(polyline([tail, tip], { stroke: INK, width: 0.35 }), area([[tip, back(0.8), back(-0.8)]], { fill: INK }));
      return;
    }
  }

  private thingLabel(thing: Obstruction): void {
    const { at } = interiorPosition([thing.footprint]);
    const height = thing.heightAboveRoofM.value === null ? [] : [{ text: ` +${thing.heightAboveRoofM.value.toFixed(2)} m`, face: 'figures' as const }];
    this.shoulder(this.at(at), [{ text: this.name(thing.id), face: 'lettering-firm' }, ...height]);
  }

  /** A label on a leader that bends to the level, at the first free place around. */
  private shoulder(from: Vector2, runs: readonly TextRun[]): void {
    const places: (readonly [Vector2, TextMark])[] = [];
    for (const reach of [6, 10, 15]) {
      for (const [dx, dy] of [[1, -1], [-1, -1], [1, 1], [-1, 1], [0.3, -1.4], [-0.3, 1.4]] as const) {
        const knee: Vector2 = [from[0] + dx * reach, from[1] + dy * reach * 0.8];
        const anchor = dx >= 0 ? 'start' : 'end';
        places.push([knee, text([knee[0] + (dx >= 0 ? 1 : -1), knee[1] + 1], runs, { size: 3, anchor, halo: true })]);
      }
    }
    const placed = places.find(([, mark]) => this.labels.take(mark));
    if (placed === undefined) return;
    const [knee, mark] = placed;
    this.marks.push(polyline([from, knee], { stroke: INK_2, width: 0.18 }), circle(from, 0.4, { fill: INK }), mark);
  }

  private edgeLabel(edge: RoofEdge, building: Building): void {
    const [a, b] = [this.at(edge.from), this.at(edge.to)];
    const run = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (run < 3) return;
    let turnDeg = (Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI;
    if (turnDeg > 90 || turnDeg <= -90) turnDeg += turnDeg > 0 ? -180 : 180;
    const outward = this.outward(edge, building);
    const free = edge.planes.length === 1;
    const runs: TextRun[] = [{ text: this.name(edge.id), face: 'lettering-firm' }];
    const long = run > 24 ? [...runs, { text: `  ${plainReading(edge.slopeLengthM, 'length')}`, face: 'figures' as const }] : runs;
    const marks: TextMark[] = [];
    for (const content of long === runs ? [runs] : [long, runs]) {
      for (const share of [0.5, 0.35, 0.65, 0.2, 0.8]) {
        for (const aside of free ? [4.6, -3.2] : [3, -3]) {
          // Baseline: letters hang from it on one side, so the paper distance differs by their height.
          const up = Math.cos((turnDeg * Math.PI) / 180) * outward[1] - Math.sin((turnDeg * Math.PI) / 180) * outward[0] < 0 === aside > 0;
          const distance = Math.abs(aside) + (up ? -1 : 1.2);
          const at: Vector2 = [a[0] + (b[0] - a[0]) * share + outward[0] * Math.sign(aside) * distance, a[1] + (b[1] - a[1]) * share + outward[1] * Math.sign(aside) * distance];
          marks.push(text(at, content, { size: 3, anchor: 'middle', turnDeg, halo: true }));
        }
      }
    }
    const mark = this.labels.firstThatFits(marks);
    if (mark !== null) this.marks.push(mark);
  }

  /** Unit vector on paper away from the edge's first plane. */
  private outward(edge: RoofEdge, building: Building): Vector2 {
    const [a, b] = [this.at(edge.from), this.at(edge.to)];
    const run = Math.hypot(b[0] - a[0], b[1] - a[1]);
    if (run === 0) return [0, -1];
    const normal: Vector2 = [-(b[1] - a[1]) / run, (b[0] - a[0]) / run];
    const plane = building.roofPlanes.find((one) => one.id === edge.planes[0]);
    if (plane === undefined) return normal;
    const probe: Vector2 = [(a[0] + b[0]) / 2 + normal[0] * 0.5, (a[1] + b[1]) / 2 + normal[1] * 0.5];
    return ringContains(this.ring(plane.outline), probe) ? [-normal[0], -normal[1]] : normal;
  }

  private put(mark: TextMark): void {
    if (this.labels.take(mark)) this.marks.push(mark);
  }

  private name(id: string): string {
    return this.names.get(id) ?? id;
  }

  private at(position: Vector2 | Vector3): Vector2 {
    return this.view.toPaper(position);
  }

  private ring(corners: readonly (Vector2 | Vector3)[]): Vector2[] {
    return corners.map((corner) => this.at(corner));
  }
}

/** A cut line across a plan: chain, with the section's letter at both ends. */
export function cutLineMarks(view: PlanView, from: Vector2, to: Vector2, letter: string): Mark[] {
  const [a, b] = [view.toPaper(from), view.toPaper(to)];
  return [
    polyline([a, b], { stroke: SELECT, width: 0.4, dash: [3.2, 0.8, 0.5, 0.8] }),
    text([a[0], a[1] - 1.2], letter, { face: 'lettering-firm', anchor: 'middle', ink: INK, halo: true }),
    text([b[0], b[1] - 1.2], letter, { face: 'lettering-firm', anchor: 'middle', ink: INK, halo: true }),
  ];
}
