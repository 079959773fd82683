import type { CorrectTool } from '../survey/correct/correct-step.ts';

/** What a tool is called, what it is for, and what comes next. */
export interface CorrectWords {
  readonly name: string;
  readonly key: string;
  /** Two sentences: what it does, and what follows from it. */
  readonly help: string;
  /** What to do after so many picks; `about` is the name of what was chosen before. */
  readonly next: (taken: number, about: string | null) => string;
}

/** Every tool that corrects, in the order of the panel. */
export const CORRECT_TOOLS: Readonly<Record<CorrectTool, CorrectWords>> = {
  'move-corner': {
    name: 'Move a corner', key: 'C',
    help: 'A corner goes where you put it, on its plane or on the line of two planes. Areas and lengths that end there are derived again.',
    next: (taken) => (taken === 0 ? 'Click the corner.' : 'Now click where it belongs; type metres to place it along the line. Esc leaves it.'),
  },
  'add-corner': {
    name: 'Add a corner', key: 'A',
    help: 'A free edge is bent at a new corner, and becomes two edges. An edge along which two planes meet is straight and cannot be bent.',
    next: (taken) => (taken === 0 ? 'Click the edge where the corner shall be.' : 'Now click where the corner belongs. Esc leaves it.'),
  },
  'remove-corner': {
    name: 'Take a corner away', key: 'D',
    help: 'The two edges that meet at the corner become one straight edge. A corner where planes part from each other stays.',
    next: () => 'Click the corner.',
  },
  merge: {
    name: 'Merge planes', key: 'J',
    help: 'Two planes that are one roof surface become one, fitted to the points of both. Edges, areas and what stands on it are measured again.',
    next: (taken, about) => (about !== null || taken > 0 ? `Click the plane ${about ?? 'the first one'} is one with.` : 'Click the first plane.'),
  },
  split: {
    name: 'Split a plane', key: 'X',
    help: 'A line through a plane makes two of it, each fitted to its own points. Where they lean apart the border moves to where they meet.',
    next: (taken, about) => (taken === 0 ? `Click one end of the line${about === null ? ' through the plane' : ` through ${about}`}.` : 'Click the other end; the line goes on to the rim.'),
  },
  lasso: {
    name: 'New plane', key: 'G',
    help: 'Points you ring become a plane when one flat surface holds a fair share of them. It joins the building beside it, or begins one.',
    next: (taken) => (taken < 3 ? 'Click round the points in plan.' : 'Click on; close it at the first corner, or with a double click.'),
  },
  reshape: {
    name: 'Draw its foot again', key: 'R',
    help: 'The thing gets the foot you draw, on the plane under it. Its height and name stay.',
    next: (taken, about) => (taken < 3 ? `Click the corners of the foot${about === null ? '' : ` of ${about}`}.` : 'Click on; close it at the first corner, or with a double click.'),
  },
  parapet: {
    name: 'Mark a parapet', key: 'W',
    help: 'Draw along the inner face, corner to corner; height and thickness are measured from the points above the roof. Edges along it become parapet edges.',
    next: (taken) => (taken < 2 ? 'Click along the inner face of the wall.' : 'Click on; a double click or Close ends it, the first place closes it round.'),
  },
};
