import { chmodSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { defineConfig } from 'vitest/config';

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

/** Without these two the page still works; with them it may share memory between threads. */
const isolation = {
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Embedder-Policy': 'require-corp',
};

/** The page: `dist/page`. Worker addresses are written inline where workers are started, in `src/main.ts`. */
const page = {
  outDir: here('dist/page'),
  emptyOutDir: true,
  target: 'es2023',
} as const;

/** The same engine for Node: `dist/node`. */
const engine = {
  outDir: here('dist/node'),
  emptyOutDir: true,
  ssr: true,
  target: 'node20',
  rolldownOptions: {
    input: {
      roofdatum: here('src/cli/main.ts'),
      serve: here('src/cli/serve.ts'),
      'survey-worker': here('workers/survey.node.ts'),
      'make-sample': here('sample-data/make-sample.ts'),
      bench: here('tests/bench/bench.ts'),
      accuracy: here('tests/accuracy/accuracy.ts'),
      'accuracy-of-fit': here('tests/accuracy/fit.ts'),
    },
    // All in one folder: a worker thread is found beside whatever file starts it.
    output: { entryFileNames: '[name].js', chunkFileNames: 'part-[name]-[hash].js' },
  },
} as const;

/** `npx roofdatum` runs the built file itself, so it must be allowed to run. */
const executable = {
  name: 'executable-command',
  closeBundle: () => chmodSync(here('dist/node/roofdatum.js'), 0o755),
};

export default defineConfig(({ mode }) => ({
  root: here('src'),
  base: './',
  publicDir: false,
  worker: { format: 'es' },
  // One build of the PDF writer for page and command line: its Node build packs streams another way, and a report must be the same bytes.
  resolve: { alias: [{ find: /^pdfkit$/, replacement: here('node_modules/pdfkit/js/pdfkit.browser.mjs') }] },
  oxc: { jsx: { runtime: 'automatic', importSource: 'preact' } },
  plugins: mode === 'engine' ? [executable] : [],
  build: mode === 'engine' ? engine : page,
  server: { headers: isolation },
  preview: { headers: isolation },
  optimizeDeps: { include: ['@loaders.gl/core'] },
  test: {
    root: here('.'),
    include: ['tests/**/*.test.ts', 'tests/**/*.test.tsx'],
    testTimeout: 30_000,
    hookTimeout: 120_000,
    maxWorkers: 2,
  },
}));
