/** Builds the page. */
import { build } from 'vite';
import { ROOT } from './paths.mjs';

/**
 * Builds for production, saying nothing but warnings and errors.
 *
 * @param {string} outDir emptied first; absolute
 * @returns {Promise<import('vite').Rolldown.RolldownOutput>} what was written
 * @throws where the sources do not build
 */
export async function buildPage(outDir) {
  const built = await build({
    root: ROOT,
    configFile: `${ROOT}/vite.config.ts`,
    logLevel: 'warn',
    build: { outDir, emptyOutDir: true },
  });
  if (Array.isArray(built) || !('output' in built)) throw new TypeError('Got several builds when expected one.');
  return built;
}
