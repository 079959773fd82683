import { afterAll, describe, expect, it } from 'vitest';
import DxfParser from 'dxf-parser';
import { surfaceArea, signedPlanArea } from '../../../src/geometry/polygon.ts';
import { add } from '../../../src/geometry/vector.ts';
import { writeDxf } from '../../../src/handover/dxf/dxf.ts';
import { DXF_LAYERS } from '../../../src/handover/dxf/dxf-layers.ts';
import type { RoofPlane, RoofRecord } from '../../../src/roof/record.ts';
import { pythonWith, runJson, TemporaryFolder } from '../../fixtures/outside-tool.ts';
import { recordHarbour, recordOfManyPlanes } from '../../fixtures/record-harbour.ts';

const folder = new TemporaryFolder();
afterAll(() => folder.remove());

const record = recordHarbour();
const many = recordOfManyPlanes(15, 10);
const planes = (of: RoofRecord): RoofPlane[] => of.buildings.flatMap((building) => building.roofPlanes);
const slopeArea = (plane: RoofPlane): number => surfaceArea(plane.outline) - plane.holes.reduce((sum, hole) => sum + surfaceArea(hole), 0);
const planArea = (plane: RoofPlane): number => signedPlanArea(plane.outline) + plane.holes.reduce((sum, hole) => sum + signedPlanArea(hole), 0);

interface DrawnRing {
  readonly layer: string;
  readonly closed: boolean;
  readonly area: number;
  readonly first: readonly [number, number];
  readonly id?: string;
}

interface DraftersView {
  readonly version: string;
  readonly errors: string[];
  readonly fixes: string[];
  readonly unit: number | null;
  readonly layers: Record<string, number>;
  readonly rings: DrawnRing[];
  readonly surfaces: Record<string, number>;
  readonly corners: Record<string, [number, number, number][]>;
  readonly tags: Record<string, string>[];
  readonly texts: string[];
  readonly dimensions: { readonly text: string; readonly measured: number; readonly id: string }[];
  readonly lines: { readonly layer: string; readonly length: number; readonly id: string }[];
}

/** Referee: ezdxf 0.18.1 (Debian 12 package python3-ezdxf), a DXF reader with an audit of its own. */
const python = pythonWith('ezdxf');

describe.skipIf(python === null)('a drafter who has only the DXF and ezdxf', () => {
  const paths = [
    folder.write('modern.dxf', writeDxf(record, 'R2007')),
    folder.write('old-grid.dxf', writeDxf(record, 'R12', { origin: 'grid' })),
    folder.write('feet.dxf', writeDxf(record, 'R2007', { unit: 'ft', origin: 'grid' })),
    folder.write('survey-feet.dxf', writeDxf(record, 'R2007', { unit: 'us-ft' })),
    folder.write('many.dxf', writeDxf(many, 'R12')),
  ];
  const [modern, old, feet, surveyFeet, crowd] = python === null ? [] : (runJson(python, [new URL('read-dxf.py', import.meta.url).pathname, ...paths]) as DraftersView[]);
  const each = [
    ['R2007', modern!, 1],
    ['R12 on the grid', old!, 1],
    ['R2007 in feet', feet!, 1 / 0.3048],
    ['R2007 in US survey feet', surveyFeet!, 3937 / 1200],
  ] as const;

  it.each(each)('%s: passes the audit with nothing to mend', (_name, view) => {
    expect(view.errors).toEqual([]);
    expect(view.fixes).toEqual([]);
  });

  it.each(each)('%s: a pond keeps its plan area and depth, each with its ±, and a level line lies where the boards meet', (_name, view, perMetre) => {
    const [low] = record.buildings[0]!.lowPoints;
    const pond = view.rings.find((ring) => ring.layer === 'POND')! as DrawnRing & Record<string, string>;
    expect(pond.closed).toBe(true);
    expect(pond.area / perMetre ** 2).toBeCloseTo(signedPlanArea(low!.pond!.outline), 4);
    expect(pond).toMatchObject({ id: 'b1.d1', depth_m: '0.022', depth_u95_m: '0.012', plan_area_m2: '4.32', plan_area_u95_m2: '1.7' });
    expect(view.texts).toContain('D1 depth 0.022 m ± 0.012, holds 4.3 m² ± 1.7');
    expect(view.layers['LEVEL-LINE']).toBe(1);
  });

  it('states version and unit as the format defines them (check-values, DXF row)', () => {
    expect([modern!.version, old!.version]).toEqual(['AC1021', 'AC1009']);
    expect([modern!.unit, feet!.unit, surveyFeet!.unit]).toEqual([6, 2, 21]);
  });

  it.each(each)('%s: rebuilds every slope area from 3D faces and every plan area from closed outlines', (_name, view, perMetre) => {
    for (const plane of planes(record)) {
      const holes = view.rings.filter((ring) => ring.layer === 'PLANE-HOLE' && ring.id === plane.id);
      const outlines = view.rings.filter((ring) => ring.layer === 'PLANE-OUTLINE' && ring.id === plane.id);
      expect(outlines).toHaveLength(1);
      expect(holes).toHaveLength(plane.holes.length);
      const plan = outlines[0]!.area - holes.reduce((sum, hole) => sum + hole.area, 0);
      // Coordinates are written to a micrometre of a drawing unit.
      expect(plan / perMetre ** 2).toBeCloseTo(planArea(plane), 4);
      expect(view.surfaces[`PLANE-SURFACE ${plane.id}`]! / perMetre ** 2).toBeCloseTo(slopeArea(plane), 4);
      // And so equal to what the record states, to its printed precision.
      expect(Math.abs(plan / perMetre ** 2 - plane.planAreaM2.value!)).toBeLessThan(1e-3);
    }
  });

  it.each(each)('%s: draws every outline closed', (_name, view) => {
    expect(view.rings.length).toBeGreaterThan(30);
    expect(view.rings.filter((ring) => !ring.closed)).toEqual([]);
  });

  it('rebuilds obstruction heights from attribute text, and says why where there is none', () => {
    const things = record.buildings.flatMap((building) => building.obstructions);
    for (const view of [modern!, old!]) {
      expect(view.tags).toHaveLength(things.length);
      for (const thing of things) {
        const tag = view.tags.find((one) => one['ID'] === thing.id)!;
        const height = thing.heightAboveRoofM.value;
        expect(tag['HEIGHT_M']).toBe(height === null ? '' : height.toFixed(3));
        expect(tag['HEIGHT']).toContain(height === null ? 'too few points on top' : String(height));
      }
      expect(view.tags.find((tag) => tag['ID'] === 'b1.o1')!['NOTE']).toBe('Ofenlüftung, Bäckerei');
    }
  });

  it('counts the modules, in plan and in space', () => {
    for (const view of [modern!, old!, feet!]) {
      expect(view.rings.filter((ring) => ring.layer === 'MODULE')).toHaveLength(record.layout!.count);
      expect(view.layers['MODULE-SURFACE']).toBe(record.layout!.count);
    }
  });

  it('finds every edge on the layer of its kind with its slope length', () => {
    for (const edge of record.buildings.flatMap((building) => building.edges)) {
      const line = modern!.lines.find((one) => one.id === edge.id)!;
      expect(line.layer).toBe(`EDGE-${edge.kind.toUpperCase()}`);
      expect(line.length).toBeCloseTo(edge.slopeLengthM.value!, 4);
    }
  });

  it('dimensions measure what they say', () => {
    expect(modern!.dimensions.length).toBeGreaterThan(8);
    for (const view of [modern!, feet!]) {
      for (const dimension of view.dimensions) expect(dimension.measured.toFixed(3)).toBe(dimension.text);
    }
  });

  it('holds full grid coordinates of seven digits, or local ones with the shift in words', () => {
    const outlineOf = (view: DraftersView) => view.rings.find((ring) => ring.layer === 'PLANE-OUTLINE' && ring.id === 'b2.p1')!;
    const corner = record.buildings[1]!.roofPlanes[0]!.outline[0]!;
    const [east, north] = add(corner, record.frame.origin);
    expect(outlineOf(old!).first[0]).toBeCloseTo(east, 5);
    expect(outlineOf(old!).first[1]).toBeCloseTo(north, 5);
    expect(outlineOf(modern!).first[0]).toBeCloseTo(corner[0], 5);
    expect(outlineOf(feet!).first[0]).toBeCloseTo(east / 0.3048, 4);
    expect(modern!.texts.join('\n')).toContain('Add 1748735.5 east, 5427916.25 north, 12 up (m) for full coordinates in EPSG:2193');
    expect(old!.texts.join('\n')).toContain('full grid coordinates, EPSG:2193');
  });

  it('keeps 3D faces on their plane, at grid heights', () => {
    for (const plane of planes(record)) {
      for (const [x, y, z] of old!.corners[`PLANE-SURFACE ${plane.id}`]!) {
        const local = [x - record.frame.origin[0], y - record.frame.origin[1], z - record.frame.origin[2]] as const;
        const off = plane.normal[0] * local[0] + plane.normal[1] * local[1] + plane.normal[2] * local[2] + plane.offset;
        expect(Math.abs(off)).toBeLessThan(2e-6);
      }
    }
  });

  it('carries names beyond ASCII in both versions', () => {
    for (const view of [modern!, old!]) expect(view.texts.some((text) => text.includes('Bäckerei Ðórshöfn, Łódź-Kai.laz'))).toBe(true);
  });

  it('holds a site of 300 planes', () => {
    expect(crowd!.errors).toEqual([]);
    expect(crowd!.rings.filter((ring) => ring.layer === 'PLANE-OUTLINE')).toHaveLength(300);
    for (const plane of planes(many)) expect(crowd!.surfaces[`PLANE-SURFACE ${plane.id}`]!).toBeCloseTo(slopeArea(plane), 4);
  });
});

describe('the DXF text', () => {
  /** Second referee: dxf-parser 1.1.2. */
  it('is read by another parser, with all layers by meaning', () => {
    const parsed = new DxfParser().parseSync(writeDxf(record, 'R2007'))!;
    expect(Object.keys(parsed.tables.layer.layers)).toEqual(['0', ...DXF_LAYERS.map((layer) => layer.name)]);
    expect(parsed.entities.filter((entity) => entity.type === 'LWPOLYLINE' && entity.layer === 'PLANE-OUTLINE')).toHaveLength(planes(record).length);
  });

  it('is ASCII in R12, and the same for the same record', () => {
    const text = writeDxf(record, 'R12');
    // eslint-disable-next-line no-control-regex -- the range is what the test is about
    expect(/^[\x00-\x7f]*$/.test(text)).toBe(true);
    expect(text).toContain('B\\U+00E4ckerei');
    expect(writeDxf(recordHarbour(), 'R12')).toBe(text);
  });

  it('refuses an obstruction on a plane the record does not hold, by name', () => {
    const [hall, ...rest] = record.buildings;
    const stray = { ...hall!, obstructions: [{ ...hall!.obstructions[0]!, onPlane: 'b9.p1' }] };
    expect(() => writeDxf({ ...record, buildings: [stray, ...rest] }, 'R2007')).toThrow(/b1\.o1.*b9\.p1/);
  });
});
