/** `npm start`: builds the page and serves it at the one address it has, until stopped. */
import { requireNode } from './node-version.mjs';

requireNode();
// Only now may anything be loaded that an old Node could not read.
const { existsSync } = await import('node:fs');
const { APP_PORT, ROOT } = await import('./paths.mjs');
const { codeOf, whoServes } = await import('./loopback.mjs');
const { serve } = await import('./static-server.mjs');

const url = `http://localhost:${APP_PORT}`;

/**
 * @param {string} message
 * @returns {never}
 */
function stop(message) {
  console.error(message);
  process.exit(1);
}

/** Ends the process if the port is taken: with success where it is Manyhand that runs there already. */
async function requireFreePort() {
  const who = await whoServes(APP_PORT);
  if (who === 'manyhand') {
    console.log(`Manyhand is already running: ${url}`);
    process.exit(0);
  }
  if (who === 'other') stopPortTaken();
}

/** @returns {never} */
function stopPortTaken() {
  return stop(
    `Another program uses port ${APP_PORT}, so Manyhand cannot start.\n` +
      'Your songs belong to this address: at another one the library would be empty, so none is taken instead.\n' +
      'End that program, then start again.',
  );
}

if (!existsSync(`${ROOT}/node_modules/vite`))
  stop('The packages are not installed yet. Run `npm ci`, then start again.');
// First, so that the files of a Manyhand that runs are not replaced under it.
await requireFreePort();

const { buildPage } = await import('./build.mjs');
const folder = `${ROOT}/dist`;
await buildPage(folder).catch((/** @type {unknown} */ error) => {
  console.error(error);
  return stop('The page did not build; see above.');
});

try {
  await serve({ folder, port: APP_PORT });
} catch (error) {
  if (codeOf(error) !== 'EADDRINUSE') throw error;
  await requireFreePort();
  stopPortTaken();
}
console.log(`Manyhand is at ${url}`);
console.log('To stop it, press Ctrl+C here. Your songs stay in the browser.');
