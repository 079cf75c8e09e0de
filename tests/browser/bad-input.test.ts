/** What can go wrong before the first note: clear words on the page, nothing lost, and a way on. */
import { expect, test } from '@playwright/test';
import { nowLine, openPage } from '../support/page/player.js';

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
  await page.addInitScript(() => {
    IDBFactory.prototype.open = () => {
      throw new DOMException('The user denied permission to access the database.', 'SecurityError');
    };
  });
  await openPage(page);
  await expect(page.getByText(/not kept: this browser will not keep anything here/i).first()).toBeVisible();
  await page.keyboard.press('t');
  await expect(page.getByText('1 tap: go on')).toBeVisible();
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
