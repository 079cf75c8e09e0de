/**
 * The browser's own capture path, once: a file is its microphone. The fake device repeats and drops 10 ms now and then, so
 * this asks that what the file holds comes in, is kept, and is drawn, not where it lies to the frame.
 */
import { expect, test } from '@playwright/test';
import { notice, openPage } from '../support/page/player.js';

test('what a real capture brings is recorded, kept and drawn', async ({ page, context }) => {
  await context.grantPermissions(['microphone']);
  await openPage(page);
  await page.getByRole('combobox', { name: 'length' }).selectOption('1');
  await page.getByRole('button', { name: 'Open the sound' }).click();
  await expect(page.getByText('an estimate')).toBeVisible();
  const settings = await page.evaluate(async () => {
    const stream = await navigator.mediaDevices.getUserMedia({
      audio: { echoCancellation: false, noiseSuppression: false, autoGainControl: false },
    });
    const { echoCancellation, noiseSuppression, autoGainControl } = stream.getAudioTracks()[0]?.getSettings() ?? {};
    return { echoCancellation, noiseSuppression, autoGainControl };
  });
  expect(settings).toEqual({ echoCancellation: false, noiseSuppression: false, autoGainControl: false });
  await page.keyboard.press(' ');
  await expect(notice(page)).toContainText('Layer 1 is in, 1 bar.');
  await page.keyboard.press('Escape');
  // The file is a stroke every half second: five in a bar of 2.5 s, one more or less at the edges.
  await expect(page.getByText(/1 bar, [456] attacks/).first()).toBeAttached();
  await page.reload();
  await expect(page.getByText(/1 bar, [456] attacks/).first()).toBeAttached();
});
