import type { TapeReading } from '../site/tape-reading.ts';
import { checkTape } from './tape/check-tape.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { Measured } from '../units/measured.ts';
import { addObstruction, HEIGHT_NOT_MEASURED, withHeight } from './correct/add-obstruction.ts';
import { moveCorner } from './correct/move-corner.ts';
import type { Building, Decision, EdgeKind, RecordPick, RecordReading, RoofRecord, SmallFeature } from '../roof/record.ts';

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
  /** Puts an outline corner elsewhere, with everything that shares it. */
  | { readonly kind: 'move-corner'; readonly building: string; readonly from: Vector3; readonly to: Vector3; readonly sigmaM: number }
  /** Draws a thing in the way; and says how high one is. */
  | { readonly kind: 'add-obstruction'; readonly building: string; readonly id: string; readonly picks: readonly RecordPick[] }
  | { readonly kind: 'set-obstruction-height'; readonly building: string; readonly id: string; readonly heightAboveRoofM: Measured }
  | { readonly kind: 'set-building'; readonly to: Building }
  | { readonly kind: 'set-part'; readonly part: 'tape' | 'usable' | 'layout' | 'keepClear'; readonly to: unknown }
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
    case 'check-tape': {
      const tape = command.readings.length > 0 ? checkTape(record, command.readings, command.toleranceM) : null;
      return { record: { ...record, tape }, inverse: { kind: 'set-part', part: 'tape', to: record.tape } };
    }
    case 'move-corner':
      return setBuilding(record, moveCorner(buildingOf(record, command.building), command.from, command.to, command.sigmaM));
    case 'add-obstruction':
      return setBuilding(record, addObstruction(buildingOf(record, command.building), command.id, command.picks, HEIGHT_NOT_MEASURED));
    case 'set-obstruction-height':
      return setBuilding(record, withHeight(buildingOf(record, command.building), command.id, command.heightAboveRoofM));
    case 'set-building':
      return setBuilding(record, command.to);
    case 'several':
      return applyAll(record, command.commands);
  }
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

function setEdgeKind(record: RoofRecord, id: string, to: EdgeKind): Applied {
  let before: EdgeKind | null = null;
  const buildings = record.buildings.map((building) => {
    const at = building.edges.findIndex((edge) => edge.id === id);
    if (at < 0) return building;
    const edge = building.edges[at]!;
    before = edge.kind;
    return { ...building, edges: building.edges.with(at, { ...edge, kind: to }) };
  });
  if (before === null) throw new RangeError(`No edge ${id}.`);
  return { record: { ...record, buildings }, inverse: { kind: 'set-edge-kind', edge: id, to: before } };
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
