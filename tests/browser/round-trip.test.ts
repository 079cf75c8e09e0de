/** The round trip measured in the real page, over a loop whose delay is known to the frame. */
import { expect, test } from '@playwright/test';
import { openPage, openSound } from '../support/page/player.js';
import { RATE, ROUND_TRIP_FRAMES, Studio } from '../support/page/studio.js';

/** Three probes of 0.7 s, each with a second to be heard in, after fifteen in which the sound settles. */
const LONG_ENOUGH = 60_000;

test('what is measured is the delay of the loop, to the frame, and a check finds it unmoved', async ({ page }) => {
  const studio = await Studio.around(page);
  await openPage(page);
  await openSound(page, ROUND_TRIP_FRAMES + 480);
  await studio.plugCable(-0.5);
  await page.getByRole('button', { name: /round trip/ }).focus();
  await page.keyboard.press('Enter');
  const slip = page.locator('mh-round-trip');
  await slip.getByRole('button', { name: 'Measure' }).press('Enter');
  await expect(slip).toContainText(/Letting it settle/);
  await expect(slip).toContainText(/Listening: 1 of 3/, { timeout: LONG_ENOUGH });
  await expect(slip).toContainText(`${String(ROUND_TRIP_FRAMES)} frames`, { timeout: LONG_ENOUGH });
  const ms = ((ROUND_TRIP_FRAMES * 1000) / RATE).toFixed(2);
  const figure = slip.getByRole('spinbutton', { name: 'round trip' });
  await expect(figure).toHaveAttribute('aria-valuetext', `${ms} ms, measured by cable`);
  await slip.getByRole('button', { name: /^Check/ }).press('Enter');
  await expect(slip).toContainText('Just as it was', { timeout: LONG_ENOUGH });
});
