/** Closes a refusal that `ReadOptions.salvage` would lift. */
export const SALVAGE_ADVICE = 'Say --salvage to read what is there.';
