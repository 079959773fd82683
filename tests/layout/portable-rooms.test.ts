import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

const top = join(import.meta.dirname, '../..');
const compiler = join(top, 'node_modules/typescript/bin/tsc');

function check(config: string): string {
  try {
    return execFileSync(process.execPath, [compiler, '-p', config, '--noEmit'], { encoding: 'utf8' });
  } catch (error) {
    return (error as { stdout: string }).stdout;
  }
}

describe('rooms of levels 0 to 6', () => {
  it('compile without the types of a screen or of Node', () => {
    expect(check(join(import.meta.dirname, 'rooms.tsconfig.json'))).toBe('');
  });

  it.each(['document.title;', 'process.exitCode;', 'new HTMLElement();'])('the check sees a seeded %s', (line) => {
    const folder = mkdtempSync(join(import.meta.dirname, 'seeded-'));
    try {
      writeFileSync(join(folder, 'mistake.ts'), `export const a = () => ${line}\n`);
      writeFileSync(join(folder, 'tsconfig.json'), JSON.stringify({ extends: '../rooms.tsconfig.json', include: ['mistake.ts'] }));
      expect(check(join(folder, 'tsconfig.json'))).toContain('mistake.ts');
    } finally {
      rmSync(folder, { recursive: true });
    }
  });
});
