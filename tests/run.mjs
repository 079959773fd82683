/**
 * What `npm test` does: builds, makes sure a browser is there, runs every test, and ends with one line of counts.
 * Words after the command go to the test runner.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { findBrowser } from './browser/find-browser.mjs';

const top = join(import.meta.dirname, '..');
const run = (command, args, options = {}) => spawnSync(command, args, { cwd: top, stdio: 'inherit', ...options });

function installBrowser() {
  const debian = existsSync('/etc/debian_version');
  if (!debian || process.getuid?.() !== 0) {
    const command = debian ? 'sudo apt-get install -y chromium' : 'install Chromium, Chrome or Edge, or set CHROME_PATH';
    process.stderr.write(`No browser was found, and the browser tests need one. Type: ${command}\n`);
    process.exit(1);
  }
  process.stderr.write('No browser was found; installing Chromium.\n');
  const quiet = { env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' }, stdio: ['ignore', 'ignore', 'inherit'] };
  run('apt-get', ['update', '-q'], quiet);
  run('apt-get', ['install', '-y', '-q', '--no-install-recommends', 'chromium'], quiet);
  if (!findBrowser()) {
    process.stderr.write('Chromium could not be installed. Type: apt-get install chromium\n');
    process.exit(1);
  }
}

if (!findBrowser()) installBrowser();
if (run('npm', ['run', '--silent', 'build']).status !== 0) process.exit(1);

const results = join(top, 'dist', 'test-results.json');
mkdirSync(join(top, 'dist'), { recursive: true });
rmSync(results, { force: true });
const vitest = join(top, 'node_modules/vitest/vitest.mjs');
const status = run(process.execPath, [vitest, 'run', '--reporter=default', '--reporter=json', `--outputFile.json=${results}`, ...process.argv.slice(2)]).status;

const counts = existsSync(results) ? JSON.parse(readFileSync(results, 'utf8')) : { numPassedTests: 0, numFailedTests: 0, numPendingTests: 0 };
const skipped = counts.numPendingTests + (counts.numTodoTests ?? 0);
process.stdout.write(`${counts.numPassedTests} passed, ${counts.numFailedTests} failed, ${skipped} skipped\n`);
process.exit(status === 0 && counts.numPassedTests > 0 ? 0 : 1);
