import { computed, signal, type ReadonlySignal } from '@preact/signals';
import { SHIPPED_RULES } from '../layout/shipped-rules.ts';
import { USUAL_MODULE } from '../layout/module-spec.ts';
import type { Building } from '../roof/record.ts';
import type { FitWishes } from '../survey/fit-messages.ts';
import type { ShadePicture } from '../survey/shade-picture.ts';
import { shadeImages } from './shade-view.ts';

/** What the picture on the roof shows. */
export type ShadeShown = 'none' | 'year' | 'month' | 'day' | 'solstice' | 'moment';
export type HandTool = 'choose' | 'place';

/** Values of the form as typed; option names of the command line. An empty one is not stated. */
export type FitForm = Readonly<Record<string, string>>;

const START: FitForm = {
  rules: Object.keys(SHIPPED_RULES)[0]!, module: `${USUAL_MODULE.widthM} x ${USUAL_MODULE.heightM}`, style: 'rows', 'power-w': String(USUAL_MODULE.ratedPowerW),
  turn: 'either', 'module-gap-m': '', tilt: '', rack: 'one-way', facing: '', 'row-gap-m': '', linke: '', 'performance-ratio': '', albedo: '', 'elevation-m': '',
  'building-height-m': '', 'least-access': '', 'least-plane-yield': '', 'least-group': '', 'need-kwh': '', households: '', 'use-kwh': '', latitude: '', longitude: '',
};

/** Draws of the measurement error behind how sure a count is. */
const DRAWS = '60';
/** On sites of more buildings than this, how sure counts are and what things cost is left out unless asked for: it takes three times as long. */
const MOST_BUILDINGS = 20;

/** What is stated in the form: rows of racks are only spoken of where racks are asked for, and rules of one's own go before shipped ones. */
function stated(form: FitForm, hasOwnRules: boolean): Record<string, string> {
  const said = Object.entries(form).filter(([name, value]) => value.trim() !== '' && !(name === 'rules' && hasOwnRules) && !(form['tilt']!.trim() === '' && RACK_FIELDS.has(name)));
  return Object.fromEntries(said);
}

const RACK_FIELDS: ReadonlySet<string> = new Set(['rack', 'facing', 'row-gap-m']);

/** Everything question 6 shows besides the record. */
export function createFitState(buildings: ReadonlySignal<readonly Building[] | null>) {
  const form = signal<FitForm>(START);
  /** Rule set of the person's own; null: the shipped one the form names. */
  const ownRules = signal<FitWishes['rules']>(null);
  const monthly = signal<FitWishes['monthly']>(null);
  /** Buildings changed since modules were placed, where that could not be followed. */
  const stale = signal(0);
  /** Whether counts get draws, and things their costs; null: as the size of the site suggests. */
  const careChosen = signal<boolean | null>(null);
  const care = computed(() => careChosen.value ?? (buildings.value?.length ?? 0) <= MOST_BUILDINGS);
  const wishes = computed<FitWishes>(() => ({
    flags: { ...stated(form.value, ownRules.value !== null), ...(care.value ? { draws: DRAWS, costs: 'yes' } : {}) },
    rules: ownRules.value, monthly: monthly.value,
  }));
  /** The last picture, with the roof and the wishes it was made for. */
  const made = signal<{ readonly picture: ShadePicture; readonly buildings: readonly Building[]; readonly refused: string; readonly wishes: FitWishes } | null>(null);
  const picture = computed(() => (made.value && made.value.buildings === buildings.value ? made.value.picture : null));
  const shown = signal<ShadeShown>('none');
  /** 0 to 11. */
  const month = signal(11);
  /** ISO date. */
  const day = signal('2026-12-21');
  /** Which of the day's moments. */
  const moment = signal(0);
  const playing = signal(false);
  const module = signal<string | null>(null);
  const hand = signal<HandTool>('choose');
  const shade = computed(() => (picture.value && shown.value !== 'none' ? shadeImages(picture.value, buildings.value ?? [], { shown: shown.value, month: month.value, day: day.value, moment: moment.value }) : null));
  return { form, ownRules, monthly, stale, care, careChosen, wishes, made, picture, shown, month, day, moment, playing, module, hand, shade };
}

export type FitState = ReturnType<typeof createFitState>;
