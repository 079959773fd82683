/** What a flag of the command is called on this page, longest first. */
const NAMES: readonly (readonly [RegExp, string])[] = [
  [/[Ss]ay --salvage to read what is there/g, 'State that what is there may be read'],
  [/[Ss]ay --unit or --up/g, 'State the unit or the axis that points up'],
  [/--unit us-ft/g, 'US survey feet'],
  [/--unit ft/g, 'international feet'],
  [/--unit m\b/g, 'metres'],
  [/--unit/g, 'the unit'],
  [/--crs EPSG:n/g, 'the projection'],
  [/--crs EPSG/g, 'projection EPSG'],
  [/--crs/g, 'the projection'],
  [/--up/g, 'the axis that points up'],
  [/--within/g, 'a region'],
];

/** A sentence about files that the command also prints, with what it names of the command said as on this page. */
export function onPage(sentence: string): string {
  const stated = sentence.replace(/\bSay (?=--(?!salvage))/g, 'State ').replace(/\bsay (?=--(?!salvage))/g, 'state ');
  return NAMES.reduce((text, [flag, name]) => text.replace(flag, name), stated);
}
