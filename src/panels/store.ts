import { computed, signal } from '@preact/signals';
import type { Cloud } from '../cloud/cloud.ts';
import type { Mesh } from '../cloud/mesh.ts';
import type { Vector3 } from '../geometry/vector.ts';
import type { RecordPick, RecordReading, RoofRecord } from '../roof/record.ts';
import { partNames } from '../roof/part-names.ts';
import { refusedIds } from '../roof/refused-ids.ts';
import type { History } from '../survey/history.ts';
import type { MeasureState } from '../survey/measure/measure-step.ts';
import type { Snap } from '../survey/measure/snap.ts';
import { snapTargets } from '../survey/measure/snap-targets.ts';
import type { CorrectState } from '../survey/correct/correct-step.ts';
import type { OpenSurvey } from '../survey/correct/refit-order.ts';
import type { SurveyOptions } from '../survey/survey-options.ts';
import type { UnitChoice } from '../units/written-reading.ts';
import { METRIC } from '../units/written-reading.ts';
import type { ClipBox } from '../viewer/clip-box.ts';
import type { PointMode } from '../viewer/point-shader.ts';
import type { ViewName } from '../viewer/projection.ts';
import { sceneOf, type PartRef } from '../viewer/scene.ts';
import type { SectionLine } from '../viewer/section-cut.ts';
import { buildingStates, type BuildingState, type SiteFilter } from './site-state.ts';
import { northOf } from '../handover/north.ts';
import { createFitState } from './fit-state.ts';
import { answersOf, type QuestionNumber } from './questions.ts';

/** The points a record was made from, as the drawing needs them. */
export interface SurveyPoints {
  /** The same for all clouds of one survey, so that the picture is fitted once. */
  readonly survey: object;
  readonly cloud: Cloud;
  readonly labels: readonly Uint16Array[] | null;
  /** Triangle meshes the points were laid on. */
  readonly meshes: readonly Mesh[];
  /** Record id of the plane of each label. */
  readonly planeIds: readonly (string | null)[];
  /** What the survey gave, before corrections; null until it is done. */
  readonly surveyed: (OpenSurvey & { readonly planeIds: readonly (string | null)[] }) | null;
}

/** One sentence under the drawing: its first words may be strong. */
export interface Spoken {
  readonly strong?: string;
  readonly text: string;
}

export type PaperName = 'film' | 'vandyke';
export type Tool = 'none' | 'measure' | 'section' | 'pin' | 'correct' | 'region' | 'clip';

export interface Busy {
  readonly stage: string;
  readonly fraction: number;
  readonly cancel: () => void;
}

export interface RefusedFiles {
  readonly files: readonly File[];
  readonly name: string;
  readonly options: SurveyOptions;
}

/** Everything the page shows. Signals only; what changes them stands in `actions.ts`. */
export function createStore() {
  const history = signal<History | null>(null);
  const points = signal<SurveyPoints | null>(null);
  const surveyId = signal<string | null>(null);
  const surveyName = signal('');
  const savedAt = signal<string | null>(null);
  const busy = signal<Busy | null>(null);
  /** Files that could not be surveyed as they stand: a person may state what they do not say. */
  const refusedFiles = signal<RefusedFiles | null>(null);
  const view = signal<ViewName>('plan');
  const question = signal<QuestionNumber>(2);
  const building = signal<string | null>(null);
  const siteFilter = signal<SiteFilter>('all');
  const selection = signal<PartRef | null>(null);
  /** Key of the number whose evidence is open: `b1.p1:pitchDeg`. */
  const evidence = signal<string | null>(null);
  const units = signal<UnitChoice>(METRIC);
  const paper = signal<PaperName>('film');
  const pointMode = signal<PointMode>('ink');
  const layers = signal({ edges: true, letters: true, things: true, readings: true, points: true, surfaces: true, meshes: true, shading: true });
  const clip = signal<ClipBox | null>(null);
  const tool = signal<Tool>('none');
  const measure = signal<MeasureState>({ name: 'idle' });
  const snap = signal<Snap | null>(null);
  /** Corners of the region that is being drawn. */
  const regionCorners = signal<readonly RecordPick[]>([]);
  const correct = signal<CorrectState>({ name: 'idle' });
  /** Why the next correction is made, as a person put it. */
  const why = signal('');
  /** Where the pointer pointed last: a typed length runs that way. */
  const toward = signal<Vector3 | null>(null);
  const sectionLine = signal<SectionLine | null>(null);
  const spoken = signal<Spoken>({ text: 'Works without a network. Nothing you open is sent anywhere.' });
  const pixelsPerMetre = signal(0);
  /** Counts how often the picture was asked to show all of what is chosen. */
  const fitAsked = signal(0);
  const initials = signal('');
  /** The sheet is narrow: one hand, one column. */
  const compact = signal(false);
  const sheetHeight = signal<'row' | 'half' | 'full'>('half');

  const record = computed<RoofRecord | null>(() => history.value?.record ?? null);
  const refused = computed<ReadonlySet<string>>(() => (record.value ? refusedIds(record.value) : new Set()));
  // Drawing and picking depend on these alone: a new reading or signature must not build the scene anew.
  const buildings = computed(() => record.value?.buildings ?? null);
  const fitting = createFitState(buildings);
  const features = computed(() => record.value?.smallFeatures ?? null);
  const refusedKey = computed(() => [...refused.value].join(' '));
  const fromParts = <T>(make: (record: RoofRecord, refused: ReadonlySet<string>) => T): T | null => {
    void [buildings.value, features.value, refusedKey.value];
    const shown = record.peek();
    return shown ? make(shown, refused.peek()) : null;
  };
  const scene = computed(() => fromParts(sceneOf));
  const targets = computed(() => fromParts(snapTargets));
  /** What bearings are counted from. */
  const north = computed(() => (record.value ? northOf(record.value) : 'true'));
  const names = computed<ReadonlyMap<string, string>>(() => (record.value ? partNames(record.value) : new Map()));
  const readings = computed<readonly RecordReading[]>(() => record.value?.readings.filter(({ id }) => !refused.value.has(id)) ?? []);
  const answers = computed(() => answersOf(record.value, units.value));
  const sites = computed<readonly BuildingState[]>(() => (record.value && record.value.buildings.length > 1 ? buildingStates(record.value) : []));
  const currentBuilding = computed(() => record.value?.buildings.find(({ id }) => id === building.value) ?? record.value?.buildings[0] ?? null);

  return {
    history, points, surveyId, surveyName, savedAt, busy, refusedFiles, view, question, building, siteFilter, selection, evidence, units, paper, pointMode, layers, clip,
    tool, measure, snap, correct, why, toward, regionCorners, sectionLine, spoken, pixelsPerMetre, fitAsked, initials, compact, sheetHeight,
    record, refused, scene, targets, names, north, readings, answers, sites, currentBuilding, fitting, buildings,
  };
}

export type Store = ReturnType<typeof createStore>;
