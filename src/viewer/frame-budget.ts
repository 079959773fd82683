/** Points a moving view draws, at first, at least and at most; a view at rest draws several times as many. */
const BUDGET = { first: 250_000, least: 60_000, most: 3_000_000, atRest: 4 } as const;
/** A frame longer than this is felt; one shorter has time to spare. [ms] */
const FRAME = { long: 45, short: 22, pause: 1000 } as const;

/** How many points a frame may hold, learnt from how long frames take on this machine. */
export class FrameBudget {
  private moving: number = BUDGET.first;
  private lastFrame = 0;

  /** @param now  Time of the frame. [ms] @param isMoving  False once the view has come to rest. */
  next(now: number, isMoving: boolean): number {
    const took = now - this.lastFrame;
    this.lastFrame = now;
    if (!isMoving) return Math.min(BUDGET.most, this.moving * BUDGET.atRest);
    if (took > FRAME.long && took < FRAME.pause) this.moving = Math.max(BUDGET.least, this.moving * 0.75);
    else if (took < FRAME.short) this.moving = Math.min(BUDGET.most, this.moving * 1.1);
    return this.moving;
  }
}
