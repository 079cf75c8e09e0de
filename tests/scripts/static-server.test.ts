import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, request, type IncomingMessage } from 'node:http';
import { createServer as createRawServer, type AddressInfo, type Server } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, describe, expect, onTestFinished, test } from 'vitest';
import { whoServes } from '../../scripts/loopback.mjs';
import { fileFor } from '../../scripts/static-files.mjs';
import { serve } from '../../scripts/static-server.mjs';

let above: string;
let folder: string;
let server: Awaited<ReturnType<typeof serve>>;
let port: number;

beforeAll(async () => {
  above = mkdtempSync(path.join(tmpdir(), 'served-'));
  folder = path.join(above, 'dist');
  mkdirSync(path.join(folder, 'assets'), { recursive: true });
  writeFileSync(path.join(above, 'secret.txt'), 'secret');
  writeFileSync(path.join(folder, 'index.html'), '<!doctype html>');
  writeFileSync(path.join(folder, 'icon.svg'), '<svg/>');
  writeFileSync(path.join(folder, 'assets', 'main-abc.js'), 'export {};');
  port = await freePort();
  server = await serve({ folder, port });
});

afterAll(async () => {
  await server.close();
  rmSync(above, { recursive: true });
});

test.each([
  ['/', 'text/html; charset=utf-8', 'no-store'],
  ['/?a=1#b', 'text/html; charset=utf-8', 'no-store'],
  ['/icon.svg', 'image/svg+xml', 'no-cache'],
  ['/assets/main-abc.js', 'text/javascript; charset=utf-8', 'public, max-age=31536000, immutable'],
])('%s comes as %s, cached as %s', async (address, type, cache) => {
  const response = await get(address);
  expect(response.statusCode).toBe(200);
  expect(response.headers).toMatchObject({ 'content-type': type, 'cache-control': cache });
});

test.each([
  ['/../secret.txt', 400],
  ['/%2e%2e/secret.txt', 400],
  ['/..%2fsecret.txt', 400],
  ['/assets/..%5c..%5c..%5csecret.txt', 400],
  ['/assets/../../secret.txt', 400],
  ['/%00', 400],
  ['/%zz', 400],
  ['/assets', 404],
  ['/assets/', 404],
  ['/missing.js', 404],
])('%s is refused with %i', async (address, status) => {
  expect((await get(address)).statusCode).toBe(status);
});

test('fileFor stays inside a folder whose name begins like another', () => {
  expect(fileFor('/a/dist', '/../dist-other/x')).toBeNull();
});

test('only reading is served', async () => {
  const response = await get('/', { method: 'POST' });
  expect(response.statusCode).toBe(405);
  expect(response.headers.allow).toBe('GET, HEAD');
});

test('other names of this machine are sent on to the one that recordings belong to', async () => {
  const response = await get('/icon.svg?a=1', { host: `127.0.0.1:${port}` });
  expect(response.statusCode).toBe(307);
  expect(response.headers.location).toBe(`http://localhost:${port}/icon.svg?a=1`);
});

test('a foreign name that was made to point here is refused', async () => {
  expect((await get('/', { host: 'example.org' })).statusCode).toBe(421);
});

describe('a taken port', () => {
  test('is refused by serve', async () => {
    await expect(serve({ folder, port })).rejects.toMatchObject({ code: 'EADDRINUSE' });
  });

  test('is known to be held by Manyhand', async () => {
    await expect(whoServes(port)).resolves.toBe('manyhand');
  });

  test.each([
    ['another web server', () => createServer((_, response) => response.end('hello'))],
    ['something that hangs up', () => createRawServer((socket) => socket.destroy())],
  ])('is known to be held by %s', async (_, make) => {
    await expect(whoServes(await listen(make()))).resolves.toBe('other');
  });

  test('is known to be free', async () => {
    await expect(whoServes(await freePort())).resolves.toBe('nobody');
  });
});

/** A request whose path goes out as it is written. */
function get(address: string, { method = 'GET', host = `localhost:${port}` } = {}): Promise<IncomingMessage> {
  return new Promise((resolve, reject) => {
    const sent = request({ host: '127.0.0.1', port, path: address, method, headers: { host } }, (response) => {
      response.resume();
      resolve(response);
    });
    sent.on('error', reject);
    sent.end();
  });
}

/** Listens until the test is finished. */
async function listen(taken: Server): Promise<number> {
  await new Promise<void>((resolve) => taken.listen(0, '127.0.0.1', resolve));
  onTestFinished(() => {
    taken.close();
  });
  return (taken.address() as AddressInfo).port;
}

async function freePort(): Promise<number> {
  const probe = createRawServer();
  await new Promise<void>((resolve) => probe.listen(0, '127.0.0.1', resolve));
  const { port: free } = probe.address() as AddressInfo;
  await new Promise((resolve) => probe.close(resolve));
  return free;
}
