/** Runs tools of the project's packages and tells how long they took. */
import { spawn } from 'node:child_process';
import path from 'node:path';
import { readManifest } from './manifest.mjs';
import { ROOT } from './paths.mjs';

/**
 * The script behind a package's command, to be run by this very Node; needs no shell on any system.
 *
 * @param {string} packageName
 * @param {string} command
 * @throws {TypeError} where the package has no such command
 */
export function toolOf(packageName, command) {
  const folder = path.join(ROOT, 'node_modules', packageName);
  const { bin } = readManifest(folder);
  const script = typeof bin === 'string' ? bin : bin?.[command];
  if (script === undefined) throw new TypeError(`Got the command ${command}, which ${packageName} does not have.`);
  return path.join(folder, script);
}

/**
 * Runs a Node script in the project's folder, its output on ours.
 *
 * @param {readonly string[]} args script and arguments
 * @param {NodeJS.ProcessEnv} [env] added to our environment
 * @returns {Promise<{ code: number, ms: number }>} a script ended by a signal has code 1
 */
export function runNode(args, env = {}) {
  const begun = performance.now();
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, args, {
      cwd: ROOT,
      env: { ...process.env, ...env },
      stdio: ['ignore', 'inherit', 'inherit'],
    });
    child.on('error', reject);
    child.on('close', (code) => {
      resolve({ code: code ?? 1, ms: performance.now() - begun });
    });
  });
}

/** @param {number} ms */
export function inSeconds(ms) {
  return `${(ms / 1000).toFixed(1)} s`;
}
