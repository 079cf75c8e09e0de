/** Reads package.json files. */
import { readFileSync } from 'node:fs';
import path from 'node:path';

/**
 * Of a package.json, only what is read.
 *
 * @typedef {object} Manifest
 * @property {string} name
 * @property {string} version
 * @property {string} [license]
 * @property {string | Readonly<Record<string, string>>} [bin]
 * @property {Readonly<Record<string, string>>} [dependencies]
 */

/**
 * @param {string} folder of the package
 * @returns {Manifest}
 */
export function readManifest(folder) {
  /** @type {unknown} */
  const manifest = JSON.parse(readFileSync(path.join(folder, 'package.json'), 'utf8'));
  return /** @type {Manifest} */ (manifest);
}
