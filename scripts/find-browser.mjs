/**
 * Finds the Chromium that the browser tests drive. Any recent Chromium, Chrome or Edge will do: nothing is downloaded,
 * except that Debian's package is installed where MANYHAND_INSTALL=1 asks for it. As a command it prints the path.
 */
import { spawnSync } from 'node:child_process';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import { findOnPath, isExecutable } from './find-tool.mjs';
import { canInstall, installDebian } from './install-debian.mjs';

/** @typedef {{ readonly path: string, readonly version: string }} Browser */

const NAMES = [
  'chromium',
  'chromium-browser',
  'google-chrome-stable',
  'google-chrome',
  'chrome',
  'microsoft-edge-stable',
  'microsoft-edge',
  'msedge',
];

const MAC_PLACES = [
  'Chromium.app/Contents/MacOS/Chromium',
  'Google Chrome.app/Contents/MacOS/Google Chrome',
  'Microsoft Edge.app/Contents/MacOS/Microsoft Edge',
];

const WINDOWS_PLACES = [
  'Chromium/Application/chrome.exe',
  'Google/Chrome/Application/chrome.exe',
  'Microsoft/Edge/Application/msedge.exe',
];

const VERSION_TIMEOUT_MS = 30_000;

export class NoBrowserError extends Error {
  /** @override */
  name = 'NoBrowserError';
}

/**
 * Looks at CHROME_PATH, then on PATH, then in the usual places of macOS and Windows; on Debian, as root and with
 * MANYHAND_INSTALL=1, installs the package `chromium` if there is none.
 *
 * @param {NodeJS.ProcessEnv} [env]
 * @returns {Browser}
 * @throws {NoBrowserError} saying what to do
 */
export function findBrowser(env = process.env) {
  const named = env['CHROME_PATH'];
  if (named !== undefined && named !== '') {
    const browser = prove(named);
    if (browser) return browser;
    throw new NoBrowserError(`CHROME_PATH is ${named}, but that does not answer --version as a Chromium does.`);
  }
  const present = look(env);
  if (present) return present;

  const mayInstall = env['MANYHAND_INSTALL'] === '1' && canInstall();
  const installed = mayInstall && installDebian(['chromium']) ? look(env) : null;
  if (installed) return installed;
  throw new NoBrowserError(
    'No Chromium, Chrome or Edge was found. Install one (on Debian: apt install chromium), ' +
      'or set CHROME_PATH to the program. As root on Debian, MANYHAND_INSTALL=1 installs it.' +
      (mayInstall ? ' Installing it was tried and failed; see above.' : ''),
  );
}

/**
 * @param {NodeJS.ProcessEnv} env
 * @returns {Browser | null}
 */
function look(env) {
  for (const file of candidates(env)) {
    const browser = prove(file);
    if (browser) return browser;
  }
  return null;
}

/** @param {NodeJS.ProcessEnv} env */
function candidates(env) {
  const onPath = NAMES.map((name) => findOnPath(name, env)).filter((file) => file !== null);
  return [...onPath, ...usualPlaces(env).filter(isExecutable)];
}

/**
 * @param {NodeJS.ProcessEnv} env
 * @returns {string[]}
 */
function usualPlaces(env) {
  if (process.platform === 'darwin') {
    const folders = ['/Applications', path.join(env['HOME'] ?? '', 'Applications')];
    return folders.flatMap((folder) => MAC_PLACES.map((place) => path.join(folder, place)));
  }
  if (process.platform === 'win32') {
    const folders = [env['PROGRAMFILES'], env['PROGRAMFILES(X86)'], env['LOCALAPPDATA']];
    return folders.flatMap((folder) => (folder ? WINDOWS_PLACES.map((place) => path.join(folder, place)) : []));
  }
  return [];
}

/**
 * Runs the program for its version: a name on PATH may be a stub that merely tells how to install the browser.
 *
 * @param {string} file
 * @returns {Browser | null}
 */
function prove(file) {
  const [command, ...args] = versionCommand(file);
  const { status, stdout } = spawnSync(command, args, { encoding: 'utf8', timeout: VERSION_TIMEOUT_MS });
  const version = status === 0 ? /\d+(?:\.\d+){3}/.exec(stdout)?.[0] : undefined;
  return version === undefined ? null : { path: file, version };
}

/**
 * On Windows these programs answer --version by opening a window, so the version is read off the file.
 *
 * @param {string} file
 * @returns {[string, ...string[]]}
 */
function versionCommand(file) {
  if (process.platform !== 'win32') return [file, '--version'];
  const quoted = file.replaceAll("'", "''");
  return ['powershell', '-NoProfile', '-Command', `(Get-Item -LiteralPath '${quoted}').VersionInfo.ProductVersion`];
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  try {
    console.log(findBrowser().path);
  } catch (error) {
    if (!(error instanceof NoBrowserError)) throw error;
    console.error(error.message);
    process.exitCode = 1;
  }
}
