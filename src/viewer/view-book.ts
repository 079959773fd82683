import { turnedEye, axesOf, fitted, FIRST_EYE, type CameraSetting, type EyePlace } from './cameras.ts';
import type { Bounds, Projection, ViewName } from './projection.ts';
import type { SectionLine } from './section-cut.ts';

/** What the views depend on besides what a person does to them. */
export interface ViewSetting {
  readonly name: ViewName;
  readonly gridToTrueDeg: number;
  readonly section: SectionLine | null;
  readonly compact: boolean;
  readonly bounds: Bounds | null;
}

/** A view as it stands, and what it was made from: a sheet that gets smaller and larger again shows the same as before. */
interface KeptView {
  readonly shown: Projection;
  /** As a person left it; null while nobody moved it. */
  readonly asLeft: Projection | null;
  /** What a view that nobody moved shows all of. */
  readonly whole: { readonly setting: ViewSetting; readonly bounds: Bounds } | null;
}

/** The four views as a person left each of them; one that was not looked at yet shows all there is. */
export class ViewBook {
  private readonly views = new Map<ViewName, KeptView>();
  private eye: EyePlace = FIRST_EYE;
  private elevationBearingDeg = 180;

  constructor(private readonly size: () => { readonly width: number; readonly height: number }) {}

  view(setting: ViewSetting): Projection {
    const known = this.views.get(setting.name);
    if (known) return known.shown;
    const view = this.whole(setting, setting.bounds);
    if (setting.bounds && view.width > 1) this.views.set(setting.name, { shown: view, asLeft: null, whole: { setting, bounds: setting.bounds } });
    return view;
  }

  /** Shows all of some bounds, and goes on doing so when the sheet gets another size. */
  showWhole(setting: ViewSetting, bounds: Bounds): void {
    this.views.set(setting.name, { shown: this.whole(setting, bounds), asLeft: null, whole: { setting, bounds } });
  }

  /** The view of a setting that shows all of some bounds. */
  private whole(setting: ViewSetting, bounds: Bounds | null): Projection {
    const { width, height } = this.size();
    const camera = this.camera(setting);
    const blank: Projection = { ...axesOf(camera), centre: [0, 0, 0], pixelsPerMetre: 30, width: Math.max(1, width), height: Math.max(1, height) };
    return bounds ? fitted(blank, bounds, camera, setting.compact) : blank;
  }

  /** A person moved a view. */
  set(name: ViewName, view: Projection): void {
    this.views.set(name, { shown: view, asLeft: view, whole: null });
  }

  forget(name?: ViewName): void {
    if (name) this.views.delete(name);
    else this.views.clear();
  }

  /** The whole picture stays in sight when the sheet gets smaller or larger. */
  resize(): void {
    const { width, height } = this.size();
    for (const [name, view] of this.views) {
      const { asLeft, whole } = view;
      const shown = asLeft ? { ...asLeft, width, height, pixelsPerMetre: asLeft.pixelsPerMetre * Math.min(width / asLeft.width, height / asLeft.height) } : this.whole(whole!.setting, whole!.bounds);
      this.views.set(name, { ...view, shown });
    }
  }

  /** Turns the free view by a drag. [px] */
  orbit(setting: ViewSetting, dx: number, dy: number): Projection {
    this.eye = turnedEye(this.eye, dx * 0.35, dy * 0.3);
    return { ...this.view(setting), ...axesOf(this.camera(setting)) };
  }

  turnElevation(byDeg: number): void {
    this.elevationBearingDeg = (((this.elevationBearingDeg + byDeg) % 360) + 360) % 360;
    this.forget('elevation');
  }

  get elevationFrom(): number {
    return this.elevationBearingDeg;
  }

  private camera({ name, gridToTrueDeg, section }: ViewSetting): CameraSetting {
    return { name, gridToTrueDeg, free: this.eye, elevationBearingDeg: this.elevationBearingDeg, section };
  }
}
