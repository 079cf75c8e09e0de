import { describe, expect, test } from 'vitest';
import { findBrowser } from '../../scripts/find-browser.mjs';
import { programs } from './programs.js';

const CHROMIUM = 'echo Chromium 150.0.1.2 built somewhere';

// Elsewhere a browser in its usual place would be found too, and shell scripts would not run.
describe.runIf(process.platform === 'linux')('findBrowser', () => {
  test('prefers what CHROME_PATH names', () => {
    const named = programs({ mine: 'echo Google Chrome 151.0.3.4' });
    const onPath = programs({ chromium: CHROMIUM });
    const found = findBrowser({ ...onPath.env, CHROME_PATH: `${named.folder}/mine` });
    expect(found).toEqual({ path: `${named.folder}/mine`, version: '151.0.3.4' });
  });

  test('refuses a CHROME_PATH that is no browser, rather than taking another', () => {
    const { folder, env } = programs({ chromium: CHROMIUM, mine: 'echo hello' });
    expect(() => findBrowser({ ...env, CHROME_PATH: `${folder}/mine` })).toThrow(`CHROME_PATH is ${folder}/mine`);
    expect(() => findBrowser({ ...env, CHROME_PATH: `${folder}/missing` })).toThrow('CHROME_PATH');
  });

  test('passes over a stub that does not tell its version', () => {
    const { folder, env } = programs({ chromium: 'echo install it first; exit 1', 'google-chrome': CHROMIUM });
    expect(findBrowser(env)).toEqual({ path: `${folder}/google-chrome`, version: '150.0.1.2' });
  });

  test('says what to do where there is none', () => {
    expect(() => findBrowser(programs({}).env)).toThrow(/Install one .* CHROME_PATH .* MANYHAND_INSTALL=1/);
  });
});
