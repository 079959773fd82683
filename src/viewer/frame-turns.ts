/** What is drawn, in the pieces it may be drawn in. */
export interface FrameWork {
  /** Only what follows the pointer. */
  overlay(): void;
  /** Whether ink and the rest are each work enough for a turn of their own. */
  isInTurns(now: number): boolean;
  /** Draws the ink. @returns Paints the rest of the same picture. */
  ink(now: number): (now: number) => void;
}

/** Draws only when something changed, at most once a frame, and a large picture in two turns. */
export class FrameTurns {
  private frameAsked = 0;
  private inkAsked = 0;
  /** Something changed since the last frame was begun. */
  private isAsked = false;
  private onlyOverlay = true;

  constructor(private readonly work: FrameWork) {}

  /** @param overlayOnly  Only what follows the pointer changed. */
  ask(overlayOnly = false): void {
    this.onlyOverlay &&= overlayOnly;
    this.isAsked = true;
    if (this.frameAsked || this.inkAsked) return;
    this.frameAsked = requestAnimationFrame((now) => {
      this.frameAsked = 0;
      this.isAsked = false;
      const whole = !this.onlyOverlay;
      this.onlyOverlay = true;
      if (!whole) this.work.overlay();
      else if (this.work.isInTurns(now)) this.inkAsked = window.setTimeout(() => this.drawInTurns());
      else this.work.ink(now)(now);
    });
  }

  stop(): void {
    cancelAnimationFrame(this.frameAsked);
    clearTimeout(this.inkAsked);
  }

  /**
   * Ink in a turn of its own, then what lies under it in the next frame: of a large site both at once would hold up the
   * page. What is drawn between two frames is shown with the second, so both are seen together.
   */
  private drawInTurns(): void {
    [this.isAsked, this.onlyOverlay] = [false, true];
    const paint = this.work.ink(performance.now());
    this.inkAsked = 0;
    this.frameAsked = requestAnimationFrame((now) => {
      this.frameAsked = 0;
      paint(now);
      if (this.isAsked) this.ask(this.onlyOverlay);
    });
  }
}
