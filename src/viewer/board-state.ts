import type { Vector2 } from '../geometry/vector.ts';
import type { Assumptions } from '../reading/assumptions.ts';
import type { RecordPick, RecordReading } from '../roof/record.ts';
import type { CorrectTool } from '../survey/correct/correct-step.ts';
import type { MeasureTool } from '../survey/measure/measure-step.ts';
import type { PickRay } from '../survey/measure/pick-ray.ts';
import type { Snap } from '../survey/measure/snap.ts';
import type { SnapTargets } from '../survey/measure/snap-targets.ts';
import type { UnitChoice } from '../units/written-reading.ts';
import type { ClipBox } from './clip-box.ts';
import type { FittingLines, FittingModule } from './ink/fitting-lines.ts';
import type { InkLayers } from './ink/frame.ts';
import type { PointedPart } from './pick-part.ts';
import type { PointMode } from './point-shader.ts';
import type { ViewName } from './projection.ts';
import type { PartRef, RoofScene } from './scene.ts';
import type { SectionLine } from './section-cut.ts';

/** What is drawn and what a click means; all of it is given from outside. */
export interface BoardState {
  readonly name: ViewName;
  readonly scene: RoofScene | null;
  readonly targets: SnapTargets | null;
  readonly names: ReadonlyMap<string, string>;
  readonly building: string | null;
  readonly selection: PartRef | null;
  readonly units: UnitChoice;
  readonly gridToTrueDeg: number;
  readonly spacingM: number;
  readonly noiseM: number;
  /** What the ± of a number being measured takes for granted. */
  readonly assumptions: Assumptions;
  /** Elevation of the local frame's zero. [m] */
  readonly zeroElevationM: number;
  readonly sectionLine: SectionLine | null;
  readonly readings: readonly RecordReading[];
  readonly measuring: { readonly tool: MeasureTool | CorrectTool | 'section' | 'pin' | 'region' | 'clip'; readonly picks: readonly RecordPick[] } | null;
  readonly layers: InkLayers & { readonly points: boolean; readonly surfaces: boolean; readonly meshes: boolean; readonly shading: boolean };
  /** Points outside are neither drawn nor picked. */
  readonly clip: ClipBox | null;
  readonly fitting: FittingLines | null;
  readonly pointMode: PointMode;
  readonly compact: boolean;
}

export interface BoardEvents {
  /** What a click would take, or what stands under the pointer; null when nothing does. */
  onPointed(pointed: { readonly snap: Snap | null; readonly part: PointedPart | null; readonly offMm: number }): void;
  onTake(snap: Snap): void;
  onPart(part: PointedPart | null): void;
  /** A place was taken while modules are shown: the module there, if any, and the line of sight. @returns True when it meant something. */
  onFitting(module: FittingModule | null, ray: PickRay): boolean;
  onSection(line: SectionLine): void;
  /** Two opposite corners of a box in plan were given. */
  onBox(from: Vector2, to: Vector2): void;
  onScale(pixelsPerMetre: number): void;
}
