import { createReadStream, existsSync, statSync } from 'node:fs';
import { createServer, type ServerResponse } from 'node:http';
import { extname, join, normalize } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Serves the built page on this machine only. Usage: node dist/node/serve.js, port from the variable PORT. */
const pageFolder = fileURLToPath(new URL('../page', import.meta.url));
const DEFAULT_PORT = 4173;

const MEDIA_TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript',
  '.css': 'text/css',
  '.wasm': 'application/wasm',
  '.woff2': 'font/woff2',
  '.json': 'application/json',
  '.las': 'application/octet-stream',
};

/** Lets the page share memory between threads, and keeps every request on this machine. */
const HEADERS = {
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Cross-Origin-Embedder-Policy': 'require-corp',
  'Content-Security-Policy':
    "default-src 'self' blob: data:; script-src 'self' 'wasm-unsafe-eval'; style-src 'self' 'unsafe-inline'; connect-src 'self' blob: data:",
};

function answer(path: string, response: ServerResponse): void {
  const file = join(pageFolder, normalize(decodeURIComponent(path === '/' ? '/index.html' : path)));
  if (!file.startsWith(pageFolder) || !existsSync(file) || !statSync(file).isFile()) {
    response.writeHead(404, { 'Content-Type': 'text/plain' }).end('Not found\n');
    return;
  }
  response.writeHead(200, { ...HEADERS, 'Content-Type': MEDIA_TYPES[extname(file)] ?? 'application/octet-stream', 'Content-Length': statSync(file).size });
  createReadStream(file).pipe(response);
}

const port = Number(process.env.PORT ?? DEFAULT_PORT);
const server = createServer((request, response) => answer(new URL(request.url ?? '/', 'http://localhost').pathname, response));
server.on('error', (error: NodeJS.ErrnoException) => {
  const advice = error.code === 'EADDRINUSE' ? `port ${port} is taken; choose another: PORT=${port + 1} npm start` : error.message;
  process.stderr.write(`${advice}\n`);
  process.exitCode = 2;
});
server.listen(port, 'localhost', () => process.stdout.write(`Roofdatum: http://localhost:${port}\n`));
