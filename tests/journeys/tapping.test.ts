/** A newcomer's first half minute: tap, look, change it a little, hear the beat. */
import { expect, test } from '@playwright/test';
import { nowLine, openPage } from '../support/page/player.js';
import { Studio } from '../support/page/studio.js';

/** 120 a minute: not what a new song has, so that a tempo that was not taken over shows. */
const INTERVAL_MS = 500;
const NEAR_120 = /^(119|120|121)(\.\d)?$/;

test('tapping finds the tempo, which can then be changed and heard', async ({ page }) => {
  const studio = await Studio.around(page);
  await openPage(page);
  const tempo = page.getByRole('spinbutton', { name: 'Tempo' });
  await expect(tempo).not.toHaveAttribute('aria-valuenow', NEAR_120);
  // A drummer's foot: the pace is the test's own, each tap waits for its moment and for nothing else.
  await page.evaluate(
    (interval) =>
      new Promise<void>((resolve) => {
        let taps = 0;
        const start = performance.now();
        const tap = (): void => {
          if (performance.now() < start + taps * interval) {
            requestAnimationFrame(tap);
            return;
          }
          window.dispatchEvent(new KeyboardEvent('keydown', { key: 't', bubbles: true }));
          taps++;
          if (taps < 9) requestAnimationFrame(tap);
          else resolve();
        };
        tap();
      }),
    INTERVAL_MS,
  );
  await expect(page.getByText(/9 taps: (119|120|121)/)).toBeVisible();
  // The sound is asleep and nothing more is done: the tempo is taken over when the tapping has rested.
  await expect(tempo).toHaveAttribute('aria-valuenow', NEAR_120);
  await expect(page.getByText(/9 taps/)).toBeHidden();
  const found = Number(await tempo.getAttribute('aria-valuenow'));
  await page.getByRole('button', { name: 'Faster' }).click();
  await expect(tempo).toHaveAttribute('aria-valuenow', String(found + 1));

  await page.getByRole('button', { name: 'Open the sound' }).click();
  await expect(page.getByRole('button', { name: /round trip/ })).toBeVisible();
  const firstClick = await studio.listen();
  await page.getByRole('button', { name: 'Hear it' }).click();
  await expect(nowLine(page)).toContainText('Playing');
  const top = await firstClick();
  const beat = Math.round((60 * 48_000) / (found + 1));
  await studio.reach(top + 5 * beat);
  const { heard } = await studio.tape(top, top + 4.5 * beat);
  const onsets = heard.reduce<number[]>((found_, sample, i) => {
    const last = found_.at(-1);
    if (sample !== 0 && (last === undefined || i - last > beat / 2)) found_.push(i);
    return found_;
  }, []);
  expect(onsets).toHaveLength(5);
  onsets.forEach((onset, i) => {
    expect(Math.abs(onset - i * beat)).toBeLessThanOrEqual(2);
  });
});
