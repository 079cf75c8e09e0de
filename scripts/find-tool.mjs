/** Finds programs on this machine. */
import { accessSync, constants, statSync } from 'node:fs';
import path from 'node:path';

/**
 * @param {string} name without extension
 * @param {NodeJS.ProcessEnv} [env]
 * @returns {string | null} the first executable of that name on PATH, or null
 */
export function findOnPath(name, env = process.env) {
  const extensions = process.platform === 'win32' ? (env['PATHEXT'] ?? '.EXE').split(';') : [''];
  for (const folder of (env['PATH'] ?? '').split(path.delimiter)) {
    if (folder === '') continue;
    for (const extension of extensions) {
      const file = path.join(folder, name + extension);
      if (isExecutable(file)) return file;
    }
  }
  return null;
}

/** @param {string} file */
export function isExecutable(file) {
  try {
    accessSync(file, constants.X_OK);
    return statSync(file).isFile();
  } catch {
    return false;
  }
}
