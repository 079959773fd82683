import type { SurveyOptions } from '../survey/survey-options.ts';
import type { SurveyHooks, SurveyResult } from '../survey/survey-result.ts';
import type { SourceHandle } from '../survey/source-handle.ts';

/** What the panels need done elsewhere: in workers, from the bundle. Handed in by whoever puts the page together. */
export interface Engine {
  survey(files: readonly SourceHandle[], options: SurveyOptions, hooks: SurveyHooks): Promise<SurveyResult>;
  /** The survey that comes with the page. */
  sample(): Promise<File>;
}
