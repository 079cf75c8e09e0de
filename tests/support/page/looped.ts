/** Tests in a browser whose output is its microphone. */
import { test as base } from '@playwright/test';
import { findOnPath } from '../../../scripts/find-tool.mjs';
import { need } from '../needs.js';
import { SOUND_SERVER_TOOLS, SoundServer } from './sound-server.js';

/** The browser of these tests plays into a sound server of its own, and hears from it. */
export const test = base.extend<object, { soundServer: SoundServer | null }>({
  soundServer: [
    // eslint-disable-next-line no-empty-pattern -- Playwright reads what a fixture needs off its first parameter
    async ({}, use) => {
      // Made before a test can be skipped.
      const isThere = SOUND_SERVER_TOOLS.every((tool) => findOnPath(tool) !== null);
      const server = isThere ? await SoundServer.start() : null;
      await use(server);
      await server?.stop();
    },
    { scope: 'worker' },
  ],
  launchOptions: [
    async ({ launchOptions, soundServer }, use) => {
      const address = soundServer === null ? {} : { PULSE_SERVER: soundServer.address };
      await use({ ...launchOptions, env: { ...process.env, ...address } });
    },
    { scope: 'worker' },
  ],
});

/** Call at the top of a file: its tests are skipped, or fail, where there is no sound server to be had. */
export function needSoundServer(): void {
  test.beforeAll(() => {
    for (const tool of SOUND_SERVER_TOOLS) {
      need(tool, (why) => {
        test.skip(true, why);
      });
    }
  });
}
