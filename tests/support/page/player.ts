/** What a player does on the page, with keys alone. */
import { expect } from '@playwright/test';
import type { Locator, Page } from '@playwright/test';
import { RATE, ROUND_TRIP_FRAMES } from './studio.js';

/** Opens the page and waits until it can be played on. */
export async function openPage(page: Page): Promise<void> {
  await page.goto('/');
  await expect(nowLine(page)).toBeVisible();
}

/** Opens the sound and says what the round trip is. The sound must not be open yet. */
export async function openSound(page: Page, roundTripFrames = ROUND_TRIP_FRAMES): Promise<void> {
  await page.getByRole('button', { name: 'Open the sound' }).focus();
  await page.keyboard.press('Enter');
  await stateRoundTrip(page, roundTripFrames);
}

async function stateRoundTrip(page: Page, frames: number): Promise<void> {
  await page.getByRole('button', { name: /round trip/ }).focus();
  await page.keyboard.press('Enter');
  const figure = page.getByRole('spinbutton', { name: 'round trip' });
  await figure.focus();
  await page.keyboard.press('Enter');
  const field = page.getByRole('textbox', { name: 'round trip' });
  await field.fill(String((frames * 1000) / RATE));
  await page.keyboard.press('Enter');
  await expect(figure).toHaveAttribute('aria-valuetext', /as you stated/);
  await page.keyboard.press('Escape');
  await expect(figure).toBeHidden();
}

/** Writes a tempo. */
export async function setTempo(page: Page, bpm: number): Promise<void> {
  const figure = page.getByRole('spinbutton', { name: 'Tempo' });
  await figure.focus();
  await page.keyboard.press('Enter');
  await page.getByRole('textbox', { name: 'Tempo' }).fill(String(bpm));
  await page.keyboard.press('Enter');
  await expect(figure).toHaveAttribute('aria-valuenow', String(bpm));
}

/** Reloads, once the page would close without a word: until then something is not written down yet. */
export async function reloadOnceKept(page: Page): Promise<void> {
  const asks = (): Promise<boolean> =>
    page.evaluate(() => {
      const leaving = new Event('beforeunload', { cancelable: true });
      dispatchEvent(leaving);
      return leaving.defaultPrevented;
    });
  await expect.poll(asks).toBe(false);
  await page.reload();
}

/** The words at the foot of the page. */
export const nowLine = (page: Page): Locator => page.locator('mh-now-line .say');
export const notice = (page: Page): Locator => page.locator('mh-now-line .notice');
