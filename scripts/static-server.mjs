/**
 * A small static server for the built page, on loopback only. What is recorded belongs to the address it was recorded
 * at, so there is exactly one: requests by another name of this machine are sent on to `localhost`.
 */
import { createServer } from 'node:http';
import { codeOf, LOOPBACK, NO_SUCH_ADDRESS } from './loopback.mjs';
import { refuse, respond } from './static-files.mjs';

/**
 * Serves `folder` at `http://localhost:<port>`, on 127.0.0.1 and, where the machine has it, on ::1.
 *
 * @param {{ folder: string, port: number }} options
 * @returns {Promise<{ url: string, close: () => Promise<void> }>}
 * @throws with `code` EADDRINUSE when one of the two addresses is taken; nothing is left open then
 */
export async function serve({ folder, port }) {
  /** @type {import('node:http').Server[]} */
  const servers = [];
  const close = async () => {
    await Promise.all(servers.map(closed));
  };
  for (const host of LOOPBACK) {
    const server = createServer((request, response) => {
      respond(folder, port, request, response).catch((/** @type {unknown} */ error) => {
        console.error(error);
        refuse(response, 500);
      });
    });
    try {
      await listening(server, host, port);
      servers.push(server);
    } catch (error) {
      if (host !== LOOPBACK[0] && NO_SUCH_ADDRESS.has(codeOf(error))) continue;
      await close();
      throw error;
    }
  }
  return { url: `http://localhost:${port}`, close };
}

/**
 * @param {import('node:http').Server} server
 * @param {string} host
 * @param {number} port
 */
function listening(server, host, port) {
  return /** @type {Promise<void>} */ (
    new Promise((resolve, reject) => {
      server.once('error', reject);
      server.listen({ host, port, exclusive: true }, () => {
        server.off('error', reject);
        resolve();
      });
    })
  );
}

/** @param {import('node:http').Server} server */
function closed(server) {
  return /** @type {Promise<void>} */ (
    new Promise((resolve) => {
      server.close(() => {
        resolve();
      });
      server.closeAllConnections();
    })
  );
}
