/** Lets the page draw and answer before work goes on: what is done after it is a task of its own. */
export const nextTurn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve));
