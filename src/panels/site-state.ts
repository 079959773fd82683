import type { RoofRecord } from '../roof/record.ts';
import { METRIC } from '../units/written-reading.ts';
import { answersOf, type QuestionState } from './questions.ts';

/** Which buildings of a site are shown one after the other. */
export type SiteFilter = 'all' | 'doubtful' | 'unsigned';

/** Where one building stands: its roof, what is in its way, what is small on it, and whether someone signed for it. */
export interface BuildingState {
  readonly id: string;
  readonly roof: QuestionState;
  readonly way: QuestionState;
  readonly small: QuestionState;
  /** Of the three, the one that most needs a person. */
  readonly worst: QuestionState;
  /** Numbers of the questions that are doubtful. */
  readonly doubts: readonly number[];
  /** Initials and time; null when nobody signed, or something was decided since. */
  readonly signed: string | null;
}

/** States of all buildings, each answered as if it stood alone. */
export function buildingStates(record: RoofRecord): BuildingState[] {
  return record.buildings.map((building) => {
    const own = record.smallFeatures.filter(({ onPlane }) => onPlane !== null && building.roofPlanes.some(({ id }) => id === onPlane));
    const alone = answersOf({ ...record, buildings: [building], smallFeatures: own, decisions: record.decisions.filter(({ about }) => !/^q\d$/.test(about)) }, METRIC);
    const [roof, way, small] = [alone[1]!.state, alone[2]!.state, alone[3]!.state];
    const doubts = [roof, way, small].flatMap((state, i) => (state === 'doubtful' ? [i + 2] : []));
    return { id: building.id, roof, way, small, worst: doubts.length > 0 ? 'doubtful' : roof, doubts, signed: signatureOf(record, building.id) };
  });
}

/** A signature for a building holds until something of it is decided again. */
function signatureOf({ decisions }: RoofRecord, building: string): string | null {
  const at = decisions.findLastIndex(({ what, about }) => what === 'sign' && about === building);
  if (at < 0) return null;
  const changed = decisions.slice(at + 1).some(({ what, about }) => what !== 'sign' && what !== 'note' && about.startsWith(`${building}.`));
  return changed ? null : `${decisions[at]!.by} ${decisions[at]!.at.slice(11, 16)}`;
}

/** Whether a building is among those a filter shows. */
export const passesFilter = ({ worst, signed }: BuildingState, filter: SiteFilter): boolean =>
  filter === 'all' || (filter === 'doubtful' ? worst === 'doubtful' && signed === null : signed === null);
