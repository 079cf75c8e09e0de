/**
 * The browser's own capture path, once: a file is its microphone. The fake device repeats and drops 10 ms now and then, so
 * this asks that what the file holds comes in, is kept, and is drawn, not where it lies to the frame.
 */
import { expect, test } from '@playwright/test';
import type { Page } from '@playwright/test';
import { notice, openPage, reloadOnceKept } from '../support/page/player.js';

/** What the program asked the browser for, and what it got. */
interface InputsWindow extends Window {
  inputs?: { readonly asked: MediaStreamConstraints | undefined; readonly stream: MediaStream }[];
}

const OFF = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };

/** Writes down every input that the program opens, and changes nothing of it. Call before the page is opened. */
async function watchInputs(page: Page): Promise<void> {
  await page.addInitScript(() => {
    const inputs: NonNullable<InputsWindow['inputs']> = [];
    (window as InputsWindow).inputs = inputs;
    const { mediaDevices } = navigator;
    const open = mediaDevices.getUserMedia.bind(mediaDevices);
    mediaDevices.getUserMedia = async (asked) => {
      const stream = await open(asked);
      inputs.push({ asked: structuredClone(asked), stream });
      return stream;
    };
  });
}

test('what a real capture brings is recorded, kept and drawn', async ({ page, context }) => {
  await context.grantPermissions(['microphone']);
  await watchInputs(page);
  await openPage(page);
  await page.getByRole('combobox', { name: 'length' }).selectOption('1');
  await page.getByRole('button', { name: 'Open the sound' }).click();
  await expect(page.getByText('an estimate')).toBeVisible();
  const inputs = await page.evaluate(() =>
    ((window as InputsWindow).inputs ?? []).map(({ asked, stream }) => ({
      asked: asked?.audio,
      tracks: stream.getAudioTracks().map((track) => {
        const { echoCancellation, noiseSuppression, autoGainControl } = track.getSettings();
        return { state: track.readyState, settings: { echoCancellation, noiseSuppression, autoGainControl } };
      }),
    })),
  );
  expect(inputs).toEqual([{ asked: expect.objectContaining(OFF), tracks: [{ state: 'live', settings: OFF }] }]);
  await page.keyboard.press(' ');
  await expect(notice(page)).toContainText('Layer 1 is in, 1 bar.');
  await page.keyboard.press('Escape');
  // The file is a stroke every half second: five in a bar of 2.5 s, one more or less at the edges.
  await expect(page.getByText(/1 bar, [456] attacks/).first()).toBeAttached();
  await reloadOnceKept(page);
  await expect(page.getByText(/1 bar, [456] attacks/).first()).toBeAttached();
});
