/** Answers requests for the files of a built page, and for nothing else. */
import { readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import { SERVER_HEADER } from './loopback.mjs';

/** @type {Readonly<Record<string, string>>} */
const CONTENT_TYPES = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.json': 'application/json; charset=utf-8',
  '.webmanifest': 'application/manifest+json; charset=utf-8',
  '.md': 'text/markdown; charset=utf-8',
  '.txt': 'text/plain; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.png': 'image/png',
  '.ico': 'image/x-icon',
  '.woff2': 'font/woff2',
  '.wasm': 'application/wasm',
  '.wav': 'audio/wav',
};

/** @type {Readonly<Record<number, string>>} */
const REFUSALS = {
  400: 'This address cannot be read.',
  404: 'There is nothing at this address.',
  405: 'This server only gives out files.',
  421: 'This server answers to localhost alone.',
  500: 'The server failed to read this file.',
};

/**
 * The file that a request names.
 *
 * @param {string} folder
 * @param {string} url path and query of the request
 * @returns {string | null} null for what lies outside the folder or cannot be a path
 */
export function fileFor(folder, url) {
  const encoded = url.replace(/[?#].*$/s, '');
  let decoded;
  try {
    decoded = decodeURIComponent(encoded);
  } catch {
    return null;
  }
  if (!decoded.startsWith('/') || /[\0\\]/.test(decoded)) return null;
  const root = path.resolve(folder);
  const file = path.resolve(root, `.${decoded.endsWith('/') ? `${decoded}index.html` : decoded}`);
  return file.startsWith(root + path.sep) ? file : null;
}

/**
 * Answers one request.
 *
 * @param {string} folder
 * @param {number} port
 * @param {import('node:http').IncomingMessage} request
 * @param {import('node:http').ServerResponse} response
 */
export async function respond(folder, port, request, response) {
  response.setHeader(SERVER_HEADER, '1');
  response.setHeader('X-Content-Type-Options', 'nosniff');
  // The one part of the content policy that a page cannot say of itself.
  response.setHeader('Content-Security-Policy', "frame-ancestors 'none'");

  if (request.method !== 'GET' && request.method !== 'HEAD') {
    response.setHeader('Allow', 'GET, HEAD');
    refuse(response, 405);
    return;
  }
  const url = request.url ?? '/';
  const host = request.headers.host ?? '';
  if (host !== `localhost:${port}`) {
    // Also keeps out pages elsewhere whose host name was made to point here.
    if (host === `127.0.0.1:${port}` || host === `[::1]:${port}`) {
      response.writeHead(307, { Location: `http://localhost:${port}${url}`, 'Cache-Control': 'no-store' }).end();
    } else {
      refuse(response, 421);
    }
    return;
  }

  const file = fileFor(folder, url);
  if (file === null) {
    refuse(response, 400);
    return;
  }
  const found = await stat(file).catch(() => null);
  if (!found?.isFile()) {
    refuse(response, 404);
    return;
  }
  const body = await readFile(file);
  response.writeHead(200, {
    'Content-Type': CONTENT_TYPES[path.extname(file).toLowerCase()] ?? 'application/octet-stream',
    'Content-Length': body.length,
    'Cache-Control': cacheControl(path.relative(folder, file)),
  });
  response.end(request.method === 'HEAD' ? undefined : body);
}

/**
 * Answers that there is no file, and why.
 *
 * @param {import('node:http').ServerResponse} response
 * @param {number} status
 */
export function refuse(response, status) {
  if (response.headersSent) {
    response.destroy();
    return;
  }
  response.writeHead(status, { 'Content-Type': 'text/plain; charset=utf-8', 'Cache-Control': 'no-store' });
  response.end(`${REFUSALS[status] ?? 'Refused.'}\n`);
}

/**
 * The build puts a hash of the content into the names of its assets; everything else may change under its name.
 *
 * @param {string} name relative to the folder
 */
function cacheControl(name) {
  if (name.endsWith('.html')) return 'no-store';
  return name.startsWith(`assets${path.sep}`) ? 'public, max-age=31536000, immutable' : 'no-cache';
}
