/** How every browser of the tests is started. */
import { findBrowser } from './find-browser.mjs';

const ALWAYS = [
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

/**
 * For `use.launchOptions` of Playwright's configuration and for `chromium.launch`.
 *
 * @param {readonly string[]} [args] of this kind of test
 * @throws {import('./find-browser.mjs').NoBrowserError}
 */
export function launchOptions(args = []) {
  // Root cannot set up the sandbox.
  const sandbox = process.getuid?.() === 0 ? ['--no-sandbox'] : [];
  return {
    executablePath: findBrowser().path,
    args: [...sandbox, ...ALWAYS, ...args],
    // A muted browser sends silence to a sound server.
    ignoreDefaultArgs: ['--mute-audio'],
  };
}
