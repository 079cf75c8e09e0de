/** What can go wrong before the first note: clear words on the page, nothing lost, and a way on. */
import { expect, test } from '@playwright/test';
import { notice, nowLine, openPage, openSound } from '../support/page/player.js';
import { Studio } from '../support/page/studio.js';

const BAR = 120_000;
/** 10 ms before the line the seam begins. */
const SEAM = 480;

test('permission refused: says so, and tries again when asked', async ({ page, context }) => {
  await context.clearPermissions();
  await page.addInitScript(() => {
    navigator.mediaDevices.getUserMedia = () =>
      Promise.reject(new DOMException('Permission denied', 'NotAllowedError'));
  });
  await openPage(page);
  await page.keyboard.press(' ');
  await expect(page.getByText('This page was not allowed to hear you.')).toBeVisible();
  await expect(page.getByRole('button', { name: 'Try again' })).toBeVisible();
  await expect(nowLine(page)).toContainText('Ready when you are');
});

test('permission refused, then allowed: trying again opens the sound, and a press records', async ({ page }) => {
  await Studio.around(page);
  await page.addInitScript(() => {
    const { mediaDevices } = navigator;
    const allowed = mediaDevices.getUserMedia.bind(mediaDevices);
    mediaDevices.getUserMedia = () => {
      mediaDevices.getUserMedia = allowed;
      return Promise.reject(new DOMException('Permission denied', 'NotAllowedError'));
    };
  });
  await openPage(page);
  await page.keyboard.press(' ');
  await expect(page.getByText('This page was not allowed to hear you.')).toBeVisible();
  await page.getByRole('button', { name: 'Try again' }).click();
  await expect(page.getByRole('button', { name: /round trip/ })).toBeVisible();
  await expect(page.getByText('This page was not allowed to hear you.')).toBeHidden();
  await page.keyboard.press(' ');
  await expect(nowLine(page)).toContainText('Counting in');
});

test('no input device: the browser itself finds none, and the page says so', async ({ page, context }) => {
  await context.grantPermissions(['microphone']);
  await openPage(page);
  const devices = await page.evaluate(async () =>
    (await navigator.mediaDevices.enumerateDevices()).map(({ kind }) => kind),
  );
  test.skip(devices.includes('audioinput'), 'this machine has a microphone');
  await page.keyboard.press(' ');
  await expect(page.getByText('No microphone or interface was found.')).toBeVisible();
});

test('a browser without worklets: says that a current one can', async ({ page }) => {
  await page.addInitScript(() => {
    Reflect.deleteProperty(window, 'AudioWorkletNode');
  });
  await openPage(page);
  await page.keyboard.press(' ');
  await expect(page.getByText('This browser cannot record to the frame.')).toBeVisible();
});

test('storage refused: works on, and says that nothing will be kept', async ({ page }) => {
  const studio = await Studio.around(page);
  await page.addInitScript(() => {
    IDBFactory.prototype.open = () => {
      throw new DOMException('The user denied permission to access the database.', 'SecurityError');
    };
  });
  await openPage(page);
  await expect(page.getByText(/not kept: this browser will not keep anything here/i).first()).toBeVisible();
  // Works on: a bar is recorded, closes, and plays as it was played.
  await page.getByRole('combobox', { name: 'length' }).selectOption('1');
  await page.keyboard.press('k');
  await openSound(page);
  const firstClick = await studio.listen();
  await page.keyboard.press(' ');
  const line = (await firstClick()) + BAR;
  await studio.play([line, line + 30_000, line + 61_000, line + 90_500]);
  await expect(notice(page)).toContainText('Layer 1 is in, 1 bar.');
  await expect(nowLine(page)).toContainText('Playing');
  await studio.reach(line + 3.2 * BAR);
  const { heard, played } = await studio.tape(line, line + 3 * BAR);
  const bar = played.slice(0, BAR - SEAM);
  expect(Math.max(...bar.map(Math.abs))).toBeGreaterThan(0.1);
  for (const round of [1, 2]) {
    const again = heard.subarray(round * BAR, round * BAR + bar.length);
    expect(
      bar.findIndex((sample, i) => sample !== again[i]),
      `round ${round}`,
    ).toBe(-1);
  }
  await expect(page.getByText(/not kept: this browser will not keep anything here/i).first()).toBeVisible();
});

test.describe('figures out of range', () => {
  for (const [name, typed, words] of [
    ['Tempo', '19', 'from 20 to 400'],
    ['Tempo', '401', 'from 20 to 400'],
    ['Tempo', 'fast', 'from 20 to 400'],
  ] as const) {
    test(`${name} ${typed}: says what is possible, and the song stays as it is`, async ({ page }) => {
      await openPage(page);
      const figure = page.getByRole('spinbutton', { name });
      const before = await figure.getAttribute('aria-valuenow');
      await figure.focus();
      await page.keyboard.press('Enter');
      await page.getByRole('textbox', { name }).fill(typed);
      await page.keyboard.press('Enter');
      await expect(page.getByText(words)).toBeVisible();
      await page.keyboard.press('Escape');
      await expect(figure).toHaveAttribute('aria-valuenow', before ?? '');
    });
  }
});

// The page offers no such length; what asks for one all the same is told.
for (const wish of ['0', '65', '-1']) {
  test(`a section of ${wish} bars: says what is possible, and the length stays as it is`, async ({ page }) => {
    await openPage(page);
    const length = page.getByRole('combobox', { name: 'length' });
    await expect(length.locator('option')).toHaveCount(65);
    await length.selectOption('4');
    await length.evaluate((select, bars) => {
      select.append(new Option(bars, bars));
    }, wish);
    await length.selectOption(wish);
    await expect(notice(page)).toContainText('A section has 1 to 64 bars.');
    await expect(length).toHaveValue('4');
  });
}

test('pulses out of range: says what is possible, and the metre stays as it is', async ({ page }) => {
  await openPage(page);
  await page.getByRole('button', { name: 'Metre 4 / 4' }).click();
  await page.getByRole('textbox', { name: 'Pulses in a bar' }).fill('33');
  await page.getByRole('button', { name: 'Set the metre' }).click();
  await expect(page.getByText('Pulses in a bar: from 1 to 32')).toBeVisible();
  await page.getByRole('button', { name: 'Leave it' }).click();
  await expect(page.getByRole('button', { name: 'Metre 4 / 4' })).toBeFocused();
});
