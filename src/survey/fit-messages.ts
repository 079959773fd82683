import type { Vector3 } from '../geometry/vector.ts';
import type { BuildingPatch } from '../layout/building-patch.ts';
import type { LayoutEdit } from '../layout/edit-layout.ts';
import type { BuildingStands } from '../layout/refit-building.ts';
import type { Decision, ModuleLayout, RoofRecord, Usable } from '../roof/record.ts';
import type { CrossedError } from './crossed-error.ts';
import type { ShadePicture } from './shade-picture.ts';

/** Option values by the name the command line gives them, and the text of a file of monthly irradiation. */
export interface FitWishes {
  readonly flags: Readonly<Record<string, string>>;
  /** A rule set of the person's own; null: the shipped one that `flags` names. */
  readonly rules: { readonly name: string; readonly text: string } | null;
  readonly monthly: { readonly name: string; readonly text: string } | null;
}

export type Fitted = Pick<RoofRecord, 'keepClear' | 'usable' | 'layout'>;
/** A building's layout after a change by hand, or why it cannot be. */
export type Edited = { readonly ok: true; readonly patch: BuildingPatch } | { readonly ok: false; readonly why: string };

/** `isWhole`: nothing is left to be worked out. */
export interface Refitted {
  readonly patch: BuildingPatch;
  readonly isWhole: boolean;
}

/** What can be asked of the fitting worker, with its answers. */
export interface FitQuestions {
  fit: { asked: object; answer: Fitted };
  shade: { asked: { readonly buildings: readonly string[] }; answer: ShadePicture };
  /**
   * One building again. `gone`: the one obstruction that was refused since, with the fit before; null for any other change.
   * `isFirst`: a first answer is wanted, the light on the modules may follow.
   */
  refit: { asked: { readonly building: string; readonly gone: string | null; readonly stands: BuildingStands | null; readonly isFirst: boolean }; answer: Refitted };
  /** `usable` of the planes concerned, `layout` of their building alone: a message holds no more than it must. */
  edit: { asked: { readonly building: string; readonly usable: Usable; readonly layout: ModuleLayout; readonly edit: LayoutEdit }; answer: Edited };
}
export type FitQuestion = keyof FitQuestions;

/**
 * The fitting worker keeps the record, the options and the heights of the cloud between questions, so that an edit by hand
 * is answered while the hand still moves. It does the work with task workers, which only the page can start.
 */
export type ToFitting =
  | { readonly kind: 'no-cloud' }
  | { readonly kind: 'cloud'; readonly bounds: { readonly min: Vector3; readonly max: Vector3 }; readonly pointSpacingM: number }
  /** Cells one by one, so that no message stalls the page. */
  | { readonly kind: 'cell'; readonly origin: Vector3; readonly positions: Float32Array }
  /** What was accepted and refused so far. */
  | { readonly kind: 'decided'; readonly decisions: readonly Decision[] }
  | { readonly kind: 'prepare'; readonly record: RoofRecord; readonly wishes: FitWishes; readonly width: number }
  | { [Name in FitQuestion]: { readonly kind: Name; readonly id: number; readonly asked: FitQuestions[Name]['asked'] } }[FitQuestion]
  | { readonly kind: 'died'; readonly seat: number; readonly why: string };

export type FromFitting =
  | { readonly kind: 'start'; readonly seat: number; readonly port: MessagePort }
  | { readonly kind: 'end'; readonly seat: number }
  | { readonly kind: 'progress'; readonly id: number; readonly fraction: number }
  | { readonly kind: 'done'; readonly id: number; readonly answer: FitQuestions[FitQuestion]['answer'] }
  | { readonly kind: 'failed'; readonly id: number; readonly error: CrossedError };
