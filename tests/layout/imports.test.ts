import { readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { breachesIn, importsOf } from './import-rule.ts';

const top = join(import.meta.dirname, '../..');

function filesBelow(folder: string): string[] {
  return readdirSync(join(top, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.tsx?$/.test(name))
    .map((name) => `${folder}/${name}`);
}

describe('import direction', () => {
  it('every file imports only from below', () => {
    const files = ['src', 'workers', 'sample-data'].flatMap(filesBelow);
    expect(files.length).toBeGreaterThan(20);
    expect(files.flatMap((path) => breachesIn(path, readFileSync(join(top, path), 'utf8')))).toEqual([]);
  });

  // The guard's own test: each seeded mistake must be seen.
  it.each([
    ['upward', 'src/units/length.ts', "import { a } from '../roof/record.ts';"],
    ['upward, type only', 'src/find/planes.ts', "import type { A } from '../survey/tasks.ts';"],
    ['sideways', 'src/cloud/cells.ts', "import { a } from '../site/north.ts';"],
    ['sideways, several lines', 'src/io/x.ts', "import {\n  a,\n  b,\n} from '../reading/residual.ts';"],
    ['dynamic', 'src/layout/x.ts', "const a = await import('../flight/x.ts');"],
    ['re-export', 'src/roof/x.ts', "export * from '../io/x.ts';"],
    ['side effect', 'src/roof/x.ts', "import '../io/x.ts';"],
    ['three outside viewer', 'src/panels/x.tsx', "import { Vector3 } from 'three';"],
    ['three, addon', 'src/survey/x.ts', "import { A } from 'three/addons/a.js';"],
    ['Node outside cli', 'src/survey/x.ts', "import { readFile } from 'node:fs/promises';"],
    ['screen below level 7', 'src/handover/x.ts', "import { h } from 'preact';"],
    ['unknown room', 'src/utils/x.ts', 'export const a = 1;'],
    ['out of src', 'src/cli/x.ts', "import { a } from '../../tests/x.ts';"],
    ['out of the rooms', 'src/panels/x.ts', "import { a } from '../main.ts';"],
    ['truth and finder', 'sample-data/generator/x.ts', "import { a } from '../../src/geometry/plane.ts';"],
    ['drawing worker', 'workers/x.ts', "import { a } from '../src/viewer/x.ts';"],
  ])('sees a seeded mistake: %s', (_name, path, source) => {
    expect(breachesIn(path, source)).toHaveLength(1);
  });

  it.each([
    ['downward', 'src/find/x.ts', "import { a } from '../geometry/plane.ts';"],
    ['same room', 'src/find/x.ts', "import { a } from './y.ts';"],
    ['below a folder', 'src/io/las/x.ts', "import { a } from '../../site/x.ts';"],
    ['in a comment', 'src/units/x.ts', "// import { a } from '../roof/record.ts';\n/* import '../io/x.ts' */"],
  ])('lets pass: %s', (_name, path, source) => {
    expect(breachesIn(path, source)).toEqual([]);
  });

  it('reads every form of import', () => {
    expect(importsOf("import a, { type B } from 'x';\nexport { c } from \"y\";\nimport('z');\nimport 'w';").sort()).toEqual(['w', 'x', 'y', 'z']);
  });
});
