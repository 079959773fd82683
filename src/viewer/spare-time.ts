/** Longest a piece of work may take where the browser does not say when it has time. [ms] */
const SLICE_MS = 8;
/** Kept free of the time the browser offers, for the piece that is under way when it ends. [ms] */
const RESERVE_MS = 4;

/**
 * Does work in pieces when the page has nothing else to do.
 *
 * @param work  Works while `hasTime()` holds. @returns Whether there is more, then stops or carries on later.
 * @returns Gives the work up.
 */
export function inSpareTime(work: (hasTime: () => boolean) => boolean): () => void {
  let stopped = false;
  const piece = (hasTime: () => boolean): void => {
    if (!stopped && work(hasTime)) ask(piece);
  };
  ask(piece);
  return () => (stopped = true);
}

function ask(piece: (hasTime: () => boolean) => void): void {
  if (typeof requestIdleCallback === 'function') {
    requestIdleCallback((deadline) => piece(() => deadline.timeRemaining() > RESERVE_MS));
  } else {
    setTimeout(() => {
      const end = performance.now() + SLICE_MS;
      piece(() => performance.now() < end);
    }, 16);
  }
}
