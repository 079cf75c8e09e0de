/**
 * Installs Debian packages on a machine made for tests. As a command: `node scripts/install-debian.mjs NAME…`
 * Nothing else in the project changes the machine, and this only as root and on request.
 */
import { spawnSync } from 'node:child_process';
import { pathToFileURL } from 'node:url';
import { findOnPath } from './find-tool.mjs';

const TRIES = 3;
const PAUSE_MS = 10_000;
/** Seconds to wait while another installation holds the lock. */
const LOCK_TIMEOUT = '-oDPkg::Lock::Timeout=120';

/** Whether this process may install Debian packages. */
export function canInstall() {
  return process.getuid?.() === 0 && findOnPath('apt-get') !== null;
}

/**
 * Installs packages without what they merely recommend; up to three tries, as mirrors and locks fail now and then.
 *
 * @param {readonly string[]} packages
 * @returns {boolean} whether they are installed
 */
export function installDebian(packages) {
  for (let attempt = 1; attempt <= TRIES; attempt++) {
    const done = apt('update') && apt('install', '--yes', '--no-install-recommends', ...packages);
    if (done) return true;
    console.error(`Installing ${packages.join(', ')} failed (try ${String(attempt)} of ${String(TRIES)}).`);
    if (attempt < TRIES) Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, PAUSE_MS);
  }
  return false;
}

/** @param {string[]} args */
function apt(...args) {
  const { status } = spawnSync('apt-get', ['--quiet', LOCK_TIMEOUT, ...args], {
    // Our own standard output may be what a caller reads.
    stdio: ['ignore', process.stderr, process.stderr],
    env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
  });
  return status === 0;
}

if (import.meta.url === pathToFileURL(process.argv[1] ?? '').href) {
  const packages = process.argv.slice(2);
  if (!canInstall()) {
    console.error(`Cannot install ${packages.join(', ')}: this needs root on Debian.`);
    process.exit(1);
  }
  process.exit(installDebian(packages) ? 0 : 1);
}
