import { describe, expect, it } from 'vitest';
import { withBuildingPatch } from '../../../src/layout/building-patch.ts';
import { USUAL_FIT_OPTIONS, type FitOptions } from '../../../src/layout/fit-options.ts';
import { fitRecord } from '../../../src/layout/fit-record.ts';
import { litSite } from '../../../src/layout/layout-light.ts';
import { buildingStands, refitBuilding, refitWithout } from '../../../src/layout/refit-building.ts';
import { SHIPPED_RULES } from '../../../src/layout/shipped-rules.ts';
import type { Decision, RoofRecord } from '../../../src/roof/record.ts';
import { validateRecord } from '../../../src/survey/validate-record.ts';
import { recordHarbour } from '../../fixtures/record-harbour.ts';
import { boxOn, leanTo } from '../../fixtures/record-roofs.ts';

const refuse = (about: string): Decision => ({ at: '2026-01-01T00:00:00Z', by: 'A. B.', what: 'refuse', about });
const place = { latitudeDeg: 52, longitudeDeg: 5, needKwh: 9000 };

/** Fits with a thing, refuses it, and sets what follows beside a whole new fit. */
function bothWays(record: RoofRecord, building: string, gone: string, options: FitOptions) {
  const before = fitRecord(record, options);
  const judged = { ...before, decisions: [refuse(gone)] };
  const patch = refitWithout(judged, building, gone, buildingStands(before, building)!, options, litSite(record, options));
  return { before, patch, followed: patch && withBuildingPatch(judged, patch), whole: fitRecord({ ...record, decisions: [refuse(gone)] }, options) };
}

function expectSame(followed: RoofRecord, whole: RoofRecord): void {
  expect(followed.layout!.modules.map(({ id, corners }) => ({ id, corners }))).toEqual(whole.layout!.modules.map(({ id, corners }) => ({ id, corners })));
  followed.layout!.modules.forEach((module, i) => expect(module.solarAccess!).toBeCloseTo(whole.layout!.modules[i]!.solarAccess!, 3));
  for (const part of ['count', 'upperBound', 'ratedPowerKw'] as const) expect(followed.layout![part]).toBeCloseTo(whole.layout![part], 9);
  const [ours, theirs] = [followed.layout!.yearlyEnergyKwh, whole.layout!.yearlyEnergyKwh];
  expect(ours.value! / theirs.value!).toBeCloseTo(1, 3);
  expect(('u95' in ours ? ours.u95 : 0) / ('u95' in theirs ? theirs.u95 : 0)).toBeCloseTo(1, 2);
  // Ground is judged for shade in squares of half a metre here, and of a metre away from the rim of the shade in a whole fit.
  followed.usable!.planes.forEach(({ usableSlopeAreaM2: { value } }, i) => expect(Math.abs(value! - whole.usable!.planes[i]!.usableSlopeAreaM2.value!)).toBeLessThanOrEqual(1e-3 * value! + 1e-6));
  expect(followed.layout!.need!.metShare.value!).toBeCloseTo(whole.layout!.need!.metShare.value!, 3);
}

describe('after an obstruction was refused', () => {
  it('modules, light, areas and energy are those of a whole new fit, on every building of the town', () => {
    const options = { ...USUAL_FIT_OPTIONS, ...place, rules: SHIPPED_RULES['clear-round-the-array']!, leastGroup: 1 };
    const record = recordHarbour();
    let compared = 0;
    for (const building of record.buildings) {
      for (const { id } of building.obstructions.slice(0, 2)) {
        const { followed, whole } = bothWays(record, building.id, id, options);
        expectSame(followed!, whole);
        compared++;
      }
    }
    expect(compared).toBeGreaterThan(2);
  }, 120_000);

  it('a first answer has the same modules and areas, and an energy within its own ±', () => {
    const options = { ...USUAL_FIT_OPTIONS, ...place, rules: SHIPPED_RULES['clear-round-the-array']!, leastGroup: 1 };
    const record = leanTo(20, [boxOn('b1.o1', 'b1.p1', 4, 2, 1, 1, 1)]);
    const before = fitRecord(record, options);
    const judged = { ...before, decisions: [refuse('b1.o1')] };
    const answers = [true, false].map((isFirst) => refitWithout(judged, 'b1', 'b1.o1', buildingStands(before, 'b1')!, options, litSite(record, options), isFirst)!);
    const [first, whole] = answers.map((patch) => withBuildingPatch(judged, patch)) as [RoofRecord, RoofRecord];
    expect(first.layout!.modules.map(({ id, corners }) => ({ id, corners }))).toEqual(whole.layout!.modules.map(({ id, corners }) => ({ id, corners })));
    expect(first.usable!.totalM2.value).toBe(whole.usable!.totalM2.value);
    expect(first.layout!.yearlyEnergyKwh.value! / whole.layout!.yearlyEnergyKwh.value!).toBeCloseTo(1, 1);
  });

  it('dark ground comes back where the thing made it dark', () => {
    const options = { ...USUAL_FIT_OPTIONS, ...place, rules: SHIPPED_RULES['clear-round-the-array']!, leastGroup: 1 };
    const { before, followed, whole } = bothWays(leanTo(10, [boxOn('b1.o1', 'b1.p1', 3, 0.2, 4, 0.6, 3)]), 'b1', 'b1.o1', options);
    expect(before.usable!.planes[0]!.lostM2.shade).toBeGreaterThan(2);
    expectSame(followed!, whole);
  });

  it('a rule that comes to apply by the share of modules is left to a whole fit', () => {
    const options = { ...USUAL_FIT_OPTIONS, ...place, leastAccess: 0, leastGroup: 1 };
    const big = [boxOn('b1.o1', 'b1.p1', 0.5, 0.5, 8, 4.4, 0.2)];
    const { before, patch, whole } = bothWays(leanTo(30, big), 'b1', 'b1.o1', options);
    const widened = (record: RoofRecord): boolean => record.keepClear!.zones.some(({ because }) => because.includes('36 in where modules cover more'));
    expect([widened(before), widened(whole)]).toEqual([false, true]);
    expect(patch).toBeNull();
  });

  it('costs of the building go, those of others stay; the record stays one the schema takes', () => {
    const options = { ...USUAL_FIT_OPTIONS, ...place, costs: true, draws: 5 };
    const record = recordHarbour();
    const building = record.buildings.find(({ obstructions }) => obstructions.length > 0)!;
    const { before, patch } = bothWays(record, building.id, building.obstructions[0]!.id, { ...options, rules: SHIPPED_RULES['clear-round-the-array']! });
    const after = withBuildingPatch(before, patch!);
    const own = new Set(building.obstructions.map(({ id }) => id));
    expect(after.layout!.costs!.some(({ obstruction }) => own.has(obstruction))).toBe(false);
    expect(after.layout!.changedSince).toEqual([building.id]);
    expect(after.layout!.costs!.length).toBe(before.layout!.costs!.filter(({ obstruction }) => !own.has(obstruction)).length);
    expect(() => validateRecord(JSON.parse(JSON.stringify(after)), 'after')).not.toThrow();
  });
});

it('a building fitted again alone is as in a whole fit', () => {
  const options = { ...USUAL_FIT_OPTIONS, ...place };
  const record = recordHarbour();
  const before = fitRecord(record, options);
  for (const { id } of record.buildings) {
    const after = withBuildingPatch({ ...before, decisions: [refuse(record.buildings[0]!.roofPlanes[0]!.id)] }, refitBuilding(before, id, options, litSite(record, options)));
    expectSame(after, before);
    expect(after.keepClear).toEqual(before.keepClear);
  }
});
