/** The window's own scheme: serves the built renderer and nothing else, under a strict policy. */
import { readFile } from 'node:fs/promises';
import { extname, resolve, sep } from 'node:path';

export const SCHEME = 'app';
const ORIGIN = `${SCHEME}://bundle`;
export const START_URL = `${ORIGIN}/index.html`;

export const CONTENT_SECURITY_POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "worker-src 'self'",
  "style-src 'self'",
  "img-src 'self' data: blob:",
  "font-src 'self'",
  "connect-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
  "object-src 'none'",
].join('; ');

/** A wrong type stops module scripts and workers, so a file of a kind not listed is not served. */
const CONTENT_TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.mjs': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff': 'font/woff',
  '.woff2': 'font/woff2',
  '.ttf': 'font/ttf',
  '.wasm': 'application/wasm',
};

/** True for an address of our own scheme and host. */
export function isOwnUrl(url: string): boolean {
  return url === ORIGIN || url.startsWith(`${ORIGIN}/`);
}

/** Only what comes from this machine's own program may load; everything that would leave it is refused. */
export function mayLoad(url: string): boolean {
  return isOwnUrl(url) || /^(data|blob|devtools):/.test(url);
}

/** The file in `folder` that an address names; null for any address that is not ours or leads out of the folder. */
export function fileForUrl(folder: string, url: string): string | null {
  if (!isOwnUrl(url)) return null;
  let path: string;
  try {
    path = decodeURIComponent(new URL(url).pathname);
  } catch {
    return null;
  }
  // After decoding, so that no way of writing them gets through.
  if (/[\\\0:]/.test(path) || path.split('/').includes('..')) return null;
  const root = resolve(folder);
  const file = resolve(root, `.${path}`);
  return file.startsWith(root + sep) ? file : null;
}

/** Answers requests of the window's scheme with the files in `folder`. */
export function serveFolder(folder: string): (request: Request) => Promise<Response> {
  return async ({ method, url }) => {
    if (method !== 'GET') return refuse(405);
    const file = fileForUrl(folder, url);
    const type = file === null ? undefined : CONTENT_TYPES[extname(file)];
    if (file === null || type === undefined) return refuse(404);
    try {
      return new Response(await readFile(file), { headers: headers(type) });
    } catch {
      return refuse(404);
    }
  };
}

function refuse(status: number): Response {
  return new Response(null, { status, headers: headers('text/plain') });
}

function headers(type: string): Record<string, string> {
  return {
    'content-type': type,
    'content-security-policy': CONTENT_SECURITY_POLICY,
    'x-content-type-options': 'nosniff',
    'cache-control': 'no-cache',
  };
}
