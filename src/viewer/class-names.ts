/** Classes of points: ASPRS, LAS Specification 1.4-R15, table 17. */
const NAMES: Readonly<Record<number, string>> = {
  0: 'never classified', 1: 'unclassified', 2: 'ground', 3: 'low vegetation', 4: 'medium vegetation', 5: 'high vegetation', 6: 'building',
  7: 'low noise', 9: 'water', 10: 'rail', 11: 'road', 13: 'wire guard', 14: 'conductor', 15: 'tower', 16: 'wire connector', 17: 'bridge deck',
  18: 'high noise', 19: 'overhead structure', 20: 'ignored ground', 21: 'snow', 22: 'temporal exclusion',
};

/** A class in words. From 64 on the numbers are free for whoever made the file. */
export const className = (number: number): string => NAMES[number] ?? (number < 64 ? 'reserved' : "maker's own");
