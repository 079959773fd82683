/** Path of an installed Chromium, Chrome or Edge; null when there is none. */
export function findBrowser(): string | null;
