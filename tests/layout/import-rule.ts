/** The levels of the rooms; an import may only go to a lower one. */
export const LEVELS: Readonly<Record<string, number>> = {
  units: 0, geometry: 0,
  site: 1, cloud: 1,
  roof: 2,
  io: 3, reading: 3, sun: 3,
  find: 4, layout: 4, flight: 4,
  survey: 5,
  handover: 6,
  viewer: 7,
  panels: 8, cli: 8,
};

const LAST_PORTABLE_LEVEL = 6;
const IMPORT = /(?:^|[^\w.])(?:import|export)\s*(?:type\s+)?(?:[\w*{}\s,$]+?\s+from\s*)?['"]([^'"]+)['"]|(?:^|[^\w.])import\s*\(\s*['"]([^'"]+)['"]\s*\)/gm;

export function importsOf(source: string): string[] {
  const withoutComments = source.replace(/\/\*[\s\S]*?\*\/|(?<=^|\s)\/\/[^\n]*/g, '');
  return [...withoutComments.matchAll(IMPORT)].map((match) => match[1] ?? match[2]!);
}

/** @param path  From the top folder, e.g. `src/find/find-roof.ts`. */
function roomOf(path: string): string | null {
  const match = /^src\/([^/]+)\//.exec(path);
  return match ? match[1]! : null;
}

function resolve(from: string, target: string): string {
  const parts = from.split('/').slice(0, -1);
  for (const step of target.split('/')) {
    if (step === '..') parts.pop();
    else if (step !== '.') parts.push(step);
  }
  return parts.join('/');
}

/** Breaches of the import rule in one file, one sentence each. */
export function breachesIn(path: string, source: string): string[] {
  const room = roomOf(path);
  const breaches: string[] = [];
  if (room !== null && !(room in LEVELS)) return [`${path}: ${room} is not a room.`];
  for (const target of importsOf(source)) {
    const why = target.startsWith('.') ? relativeBreach(path, room, resolve(path, target)) : packageBreach(room, target);
    if (why) breaches.push(`${path}: imports ${target}; ${why}`);
  }
  return breaches;
}

function relativeBreach(path: string, room: string | null, target: string): string | null {
  if (room === null) return outsideBreach(path, target);
  const targetRoom = roomOf(target);
  if (targetRoom === null) return target.startsWith('src/') ? 'a room must not know what stands outside the rooms.' : 'it leaves src.';
  if (targetRoom === room) return null;
  const level = LEVELS[targetRoom];
  if (level === undefined) return `${targetRoom} is not a room.`;
  return level < LEVELS[room]! ? null : `${targetRoom} (level ${level}) is not below ${room} (level ${LEVELS[room]}).`;
}

/** Worker shells may use `survey` and what is below it, and a host's own entry; generators may use nothing that finds. */
function outsideBreach(path: string, target: string): string | null {
  const room = roomOf(target);
  if (path.startsWith('sample-data/') && room !== null && ['find', 'geometry', 'reading'].includes(room)) {
    return 'a generator of truth must not share code with what it tests.';
  }
  if (path.startsWith('workers/') && room !== null && ['viewer', 'panels'].includes(room)) return 'a worker draws nothing.';
  return null;
}

function packageBreach(room: string | null, target: string): string | null {
  if (room === null) return null;
  const name = target.split('/')[0]!;
  if (name === 'three') return room === 'viewer' ? null : 'only viewer may use three.';
  if (target.startsWith('node:')) return room === 'cli' ? null : 'only cli may use Node.';
  if ((name === 'preact' || name === '@preact') && LEVELS[room]! <= LAST_PORTABLE_LEVEL) return 'levels 0 to 6 know no screen.';
  return null;
}
