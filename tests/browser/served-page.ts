import { createServer, type Server } from 'node:http';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { extname, join, normalize } from 'node:path';
import { chromium, type Browser, type BrowserContextOptions, type Page } from 'playwright-core';
import { build } from 'vite';
import { findBrowser } from './find-browser.mjs';

const TOP = join(import.meta.dirname, '..', '..');

const MEDIA: Readonly<Record<string, string>> = {
  '.html': 'text/html', '.js': 'text/javascript', '.css': 'text/css', '.wasm': 'application/wasm', '.woff2': 'font/woff2',
};

/** A page that was built for this run, served by a bare static server, and a browser to open it in. */
export interface ServedPage {
  readonly address: string;
  /** Opens a fresh visit; everything wrong that happens in it is collected. */
  visit(options?: BrowserContextOptions): Promise<Visit>;
  /** The browser's processes: kind and number. */
  processes(): Promise<readonly { readonly type: string; readonly id: number }[]>;
  close(): Promise<void>;
}

export interface Visit {
  readonly page: Page;
  /** Errors on the console, uncaught errors, and requests to anywhere but the server. */
  readonly faults: string[];
}

/**
 * Builds a page from the sources as they are, and serves it without the headers that allow shared memory.
 *
 * @param root  Folder with the page's `index.html`. Default: the program itself.
 */
export async function servePage(root = join(TOP, 'src')): Promise<ServedPage> {
  const executablePath = findBrowser();
  if (!executablePath) throw new Error('No Chromium, Chrome or Edge was found. Type: apt-get install -y chromium (or set CHROME_PATH).');
  const folder = await mkdtemp(join(tmpdir(), 'roofdatum-page-'));
  await build({ root, configFile: join(TOP, 'vite.config.ts'), logLevel: 'error', build: { outDir: folder, emptyOutDir: true } });
  const server = await serveFolder(folder);
  const address = `http://localhost:${(server.address() as AddressInfo).port}/`;
  const browser = await chromium.launch({
    executablePath,
    args: [
      '--no-sandbox', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync',
      '--use-angle=swiftshader', '--enable-unsafe-swiftshader', '--force-color-profile=srgb', '--hide-scrollbars',
    ],
  });
  return {
    address,
    visit: (options = {}) => visitPage(browser, address, options),
    processes: async () => (await (await browser.newBrowserCDPSession()).send('SystemInfo.getProcessInfo')).processInfo,
    async close() {
      await browser.close();
      server.close();
      await rm(folder, { recursive: true, force: true });
    },
  };
}

async function visitPage(browser: Browser, address: string, options: BrowserContextOptions): Promise<Visit> {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, colorScheme: 'light', ...options });
  const page = await context.newPage();
  const faults: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error') faults.push(`console: ${message.text()}`);
  });
  page.on('pageerror', (error) => faults.push(`uncaught: ${error.message}`));
  context.on('request', (request) => {
    if (!request.url().startsWith(address) && !/^(blob|data):/.test(request.url())) faults.push(`request: ${request.url()}`);
  });
  await page.goto(address);
  return { page, faults };
}

function serveFolder(folder: string): Promise<Server> {
  const server = createServer(async (request, response) => {
    const path = normalize(new URL(request.url ?? '/', 'http://localhost').pathname);
    if (path === '/favicon.ico') {
      // Asked for at any time where a browser shows a file that is no page; the page itself names its icon.
      response.writeHead(204).end();
      return;
    }
    try {
      const bytes = await readFile(join(folder, path === '/' ? 'index.html' : path));
      response.writeHead(200, { 'content-type': MEDIA[extname(path === '/' ? '.html' : path)] ?? (path === '/' ? 'text/html' : 'application/octet-stream') });
      response.end(bytes);
    } catch {
      response.writeHead(404).end();
    }
  });
  return new Promise((resolve) => server.listen(0, 'localhost', () => resolve(server)));
}
