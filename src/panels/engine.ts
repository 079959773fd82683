import type { RoofRecord } from '../roof/record.ts';
import type { FitHooks } from '../survey/fit-in.ts';
import type { SurveyOptions } from '../survey/survey-options.ts';
import type { SurveyHooks, SurveyResult } from '../survey/survey-result.ts';
import type { SourceHandle } from '../survey/source-handle.ts';

/** What the panels need done elsewhere: in workers, from the bundle. Handed in by whoever puts the page together. */
export interface Engine {
  survey(files: readonly SourceHandle[], options: SurveyOptions, hooks: SurveyHooks): Promise<SurveyResult>;
  /** Keep-clear zones, usable area and module places; option values by the name the command line gives them. */
  fit(record: RoofRecord, flags: Readonly<Record<string, string>>, hooks: FitHooks): Promise<Pick<RoofRecord, 'keepClear' | 'usable' | 'layout'>>;
  /** The survey that comes with the page. */
  sample(): Promise<File>;
}
