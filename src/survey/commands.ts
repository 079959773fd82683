import type { TapeReading } from '../site/tape-reading.ts';
import { withBuildingPatch, type BuildingPatch } from '../layout/building-patch.ts';
import { checkTape } from './tape/check-tape.ts';
import { applyCorrection } from './correct/apply-correction.ts';
import { changeBuilding, withKind, type BuildingCommand } from './correct/building-command.ts';
import type { LabelEdit } from './correct/label-edit.ts';
import { withClientLimit } from './measure/pinned-feature.ts';
import type { AppliedCorrection, Building, Decision, EdgeKind, FeaturePhoto, RecordReading, RoofRecord, SmallFeature } from '../roof/record.ts';

/** One change a person makes to a survey. Every command has an exact inverse. */
export type SurveyCommand =
  | { readonly kind: 'add-reading'; readonly reading: RecordReading }
  | { readonly kind: 'remove-reading'; readonly id: string }
  | { readonly kind: 'add-decision'; readonly decision: Decision }
  | { readonly kind: 'remove-last-decision' }
  | { readonly kind: 'set-edge-kind'; readonly edge: string; readonly to: EdgeKind }
  | { readonly kind: 'add-feature'; readonly feature: SmallFeature }
  | { readonly kind: 'remove-feature'; readonly id: string }
  /** All readings taken on site so far; the check is made again from them. */
  | { readonly kind: 'check-tape'; readonly readings: readonly TapeReading[]; readonly toleranceM: number }
  /** What readings showed to be wrong with the whole model, corrected; the check is made again. */
  | { readonly kind: 'apply-correction'; readonly correction: AppliedCorrection }
  /** Coarsest ground sample distance the client allows; null takes the limit away. Every small feature is judged again. */
  | { readonly kind: 'set-client-limit'; readonly to: RoofRecord['clientLimit'] | null }
  | { readonly kind: 'set-record'; readonly to: RoofRecord }
  | BuildingCommand
  /** Other points make a plane: what was said of them, and the building as it was measured anew. A building that was not there is added. */
  | { readonly kind: 'refit-building'; readonly edit: LabelEdit; readonly to: Building }
  | { readonly kind: 'set-building'; readonly to: Building }
  | { readonly kind: 'remove-building'; readonly id: string }
  | { readonly kind: 'insert-building'; readonly at: number; readonly building: Building }
  /** Another reading in place of the one with its id. */
  | { readonly kind: 'set-reading'; readonly reading: RecordReading }
  | { readonly kind: 'set-feature'; readonly feature: SmallFeature }
  /** A picture for a small feature; null takes it away. */
  | { readonly kind: 'set-photo'; readonly feature: string; readonly to: FeaturePhoto | null }
  | { readonly kind: 'set-part'; readonly part: 'tape' | 'usable' | 'layout' | 'keepClear'; readonly to: unknown }
  /** What fits on one building, after a change by hand or to its roof. */
  | { readonly kind: 'patch-fit'; readonly patch: BuildingPatch }
  | { readonly kind: 'insert-reading'; readonly at: number; readonly reading: RecordReading }
  | { readonly kind: 'insert-feature'; readonly at: number; readonly feature: SmallFeature }
  | { readonly kind: 'several'; readonly commands: readonly SurveyCommand[] };

/** A changed record, and the command that takes the change back exactly. */
export interface Applied {
  readonly record: RoofRecord;
  readonly inverse: SurveyCommand;
}

/**
 * Applies a command; the record given is left alone.
 *
 * @throws RangeError when the command speaks of something the record does not hold.
 */
export function applyCommand(record: RoofRecord, command: SurveyCommand): Applied {
  switch (command.kind) {
    case 'add-reading':
      return { record: { ...record, readings: [...record.readings, command.reading] }, inverse: { kind: 'remove-reading', id: command.reading.id } };
    case 'insert-reading':
      return { record: { ...record, readings: record.readings.toSpliced(command.at, 0, command.reading) }, inverse: { kind: 'remove-reading', id: command.reading.id } };
    case 'remove-reading': {
      const at = indexById(record.readings, command.id);
      return { record: { ...record, readings: record.readings.toSpliced(at, 1) }, inverse: { kind: 'insert-reading', at, reading: record.readings[at]! } };
    }
    case 'add-feature':
      return { record: { ...record, smallFeatures: [...record.smallFeatures, command.feature] }, inverse: { kind: 'remove-feature', id: command.feature.id } };
    case 'insert-feature':
      return { record: { ...record, smallFeatures: record.smallFeatures.toSpliced(command.at, 0, command.feature) }, inverse: { kind: 'remove-feature', id: command.feature.id } };
    case 'remove-feature': {
      const at = indexById(record.smallFeatures, command.id);
      return { record: { ...record, smallFeatures: record.smallFeatures.toSpliced(at, 1) }, inverse: { kind: 'insert-feature', at, feature: record.smallFeatures[at]! } };
    }
    case 'add-decision':
      return { record: { ...record, decisions: [...record.decisions, command.decision] }, inverse: { kind: 'remove-last-decision' } };
    case 'remove-last-decision': {
      const decision = record.decisions.at(-1);
      if (!decision) throw new RangeError('There is no decision to take back.');
      return { record: { ...record, decisions: record.decisions.slice(0, -1) }, inverse: { kind: 'add-decision', decision } };
    }
    case 'set-edge-kind':
      return setEdgeKind(record, command.edge, command.to);
    case 'set-part':
      return { record: { ...record, [command.part]: command.to }, inverse: { kind: 'set-part', part: command.part, to: record[command.part] } };
    case 'patch-fit': {
      const { keepClear, usable, layout } = record;
      const parts = Object.entries({ keepClear, usable, layout }) as ['keepClear' | 'usable' | 'layout', unknown][];
      return { record: withBuildingPatch(record, command.patch), inverse: { kind: 'several', commands: parts.map(([part, to]) => ({ kind: 'set-part', part, to })) } };
    }
    case 'check-tape': {
      const tape = command.readings.length > 0 ? checkTape(record, command.readings, command.toleranceM) : null;
      return { record: { ...record, tape }, inverse: { kind: 'set-part', part: 'tape', to: record.tape } };
    }
    case 'apply-correction':
      return { record: applyCorrection(record, command.correction), inverse: { kind: 'set-record', to: record } };
    case 'set-client-limit':
      return { record: withClientLimit(record, command.to), inverse: { kind: 'set-record', to: record } };
    case 'set-record':
      return { record: command.to, inverse: { kind: 'set-record', to: record } };
    case 'refit-building':
      return record.buildings.some(({ id }) => id === command.to.id) ? setBuilding(record, command.to) : insertBuilding(record, record.buildings.length, command.to);
    case 'set-building':
      return setBuilding(record, command.to);
    case 'insert-building':
      return insertBuilding(record, command.at, command.building);
    case 'remove-building': {
      const at = indexById(record.buildings, command.id);
      return { record: { ...record, buildings: record.buildings.toSpliced(at, 1) }, inverse: { kind: 'insert-building', at, building: record.buildings[at]! } };
    }
    case 'set-reading': {
      const at = indexById(record.readings, command.reading.id);
      return { record: { ...record, readings: record.readings.with(at, command.reading) }, inverse: { kind: 'set-reading', reading: record.readings[at]! } };
    }
    case 'set-feature': {
      const at = indexById(record.smallFeatures, command.feature.id);
      return { record: { ...record, smallFeatures: record.smallFeatures.with(at, command.feature) }, inverse: { kind: 'set-feature', feature: record.smallFeatures[at]! } };
    }
    case 'set-photo':
      return setPhoto(record, command.feature, command.to);
    case 'several':
      return applyAll(record, command.commands);
    default:
      return setBuilding(record, changeBuilding(buildingOf(record, command.building), command));
  }
}

/** One picture a feature, in the order they were given; a record without any has no list of them. */
function setPhoto(record: RoofRecord, feature: string, to: FeaturePhoto | null): Applied {
  if (to) indexById(record.smallFeatures, feature);
  const { photos = [], ...rest } = record;
  const at = photos.findIndex((photo) => photo.feature === feature);
  const next = at < 0 ? (to ? [...photos, to] : photos) : to ? photos.with(at, to) : photos.toSpliced(at, 1);
  return { record: next.length > 0 ? { ...rest, photos: next } : rest, inverse: { kind: 'set-record', to: record } };
}

function buildingOf(record: RoofRecord, id: string): Building {
  const building = record.buildings.find((candidate) => candidate.id === id);
  if (!building) throw new RangeError(`No building ${id}.`);
  return building;
}

function setBuilding(record: RoofRecord, to: Building): Applied {
  const at = record.buildings.findIndex(({ id }) => id === to.id);
  if (at < 0) throw new RangeError(`No building ${to.id}.`);
  return { record: { ...record, buildings: record.buildings.with(at, to) }, inverse: { kind: 'set-building', to: record.buildings[at]! } };
}

function insertBuilding(record: RoofRecord, at: number, building: Building): Applied {
  return { record: { ...record, buildings: record.buildings.toSpliced(at, 0, building) }, inverse: { kind: 'remove-building', id: building.id } };
}

function setEdgeKind(record: RoofRecord, id: string, to: EdgeKind): Applied {
  const building = record.buildings.find(({ edges }) => edges.some((edge) => edge.id === id));
  const before = building?.edges.find((edge) => edge.id === id);
  if (!building || !before) throw new RangeError(`No edge ${id}.`);
  return { record: setBuilding(record, withKind(building, id, to)).record, inverse: { kind: 'set-edge-kind', edge: id, to: before.kind } };
}

function applyAll(record: RoofRecord, commands: readonly SurveyCommand[]): Applied {
  const inverses: SurveyCommand[] = [];
  let changed = record;
  for (const command of commands) {
    const applied = applyCommand(changed, command);
    changed = applied.record;
    inverses.unshift(applied.inverse);
  }
  return { record: changed, inverse: { kind: 'several', commands: inverses } };
}

function indexById(list: readonly { readonly id: string }[], id: string): number {
  const at = list.findIndex((entry) => entry.id === id);
  if (at < 0) throw new RangeError(`No part ${id} to take away.`);
  return at;
}
