/** Keys, pointers and the focus as a real browser has them. */
import { expect, test } from '@playwright/test';
import type { Page } from '@playwright/test';
import { notice, nowLine, openPage } from '../support/page/player.js';
import { Studio } from '../support/page/studio.js';

/** What has the focus inside every shadow root: its role or tag, and its words. */
function focused(page: Page): Promise<string> {
  return page.evaluate(() => {
    let element = document.activeElement;
    while (element?.shadowRoot?.activeElement) element = element.shadowRoot.activeElement;
    if (element === null || element === document.body) return 'nothing';
    const words = element.getAttribute('aria-label') ?? element.textContent;
    return `${element.getAttribute('role') ?? element.tagName.toLowerCase()}: ${words.replace(/\s+/g, ' ').trim()}`;
  });
}

interface AskedWindow extends Window {
  asked?: string[];
}

/** What buttons ask from here on. Taps that are shown go by, so they are not counted by what is read. */
async function listen(page: Page): Promise<() => Promise<readonly string[]>> {
  await page.evaluate(() => {
    const asked: string[] = [];
    (window as AskedWindow).asked = asked;
    window.addEventListener('mh-ask', (event) => {
      asked.push((event as Event & { readonly ask: { readonly type: string } }).ask.type);
    });
  });
  return () => page.evaluate(() => (window as AskedWindow).asked ?? []);
}

test('after a length was chosen, K still turns the click, T taps and H plays the beat', async ({ page }) => {
  await Studio.around(page);
  await openPage(page);
  const length = page.getByRole('combobox', { name: 'length' });
  await length.focus();
  await page.keyboard.press('8');
  await expect(length).toHaveValue('8');
  await expect(length).toBeFocused();
  await page.keyboard.press('k');
  await expect(page.getByRole('button', { name: 'Bring the click in' })).toBeVisible();
  await page.keyboard.press('t');
  await expect(page.getByText('1 tap: go on')).toBeVisible();
  await page.keyboard.press('h');
  await expect(nowLine(page)).toContainText('Playing');
  await expect(length).toHaveValue('8');
});

test('Space in a tempo that is being typed takes it and presses', async ({ page }) => {
  await Studio.around(page);
  await openPage(page);
  const tempo = page.getByRole('spinbutton', { name: 'Tempo' });
  await tempo.focus();
  await page.keyboard.type('132');
  await page.keyboard.press(' ');
  await expect(nowLine(page)).toContainText('Counting in');
  await expect(tempo).toHaveAttribute('aria-valuenow', '132');
  // A foot presses also while a title is being written; sooner it would be a bounce of the first press.
  await page.getByRole('button', { name: 'Untitled' }).click();
  await expect(nowLine(page)).toContainText('bar 2 of 2');
  await page.keyboard.press('PageDown');
  await expect(nowLine(page)).toContainText('Ready when you are');
});

test('a pointer let go beside the button it went down on takes nothing from Enter', async ({ page }) => {
  await openPage(page);
  const tap = page.getByRole('button', { name: 'Tap' });
  const asked = await listen(page);
  await tap.hover();
  await page.mouse.down();
  await page.mouse.move(5, 5);
  await page.mouse.up();
  expect(await asked()).toEqual(['tap']);
  await tap.focus();
  await page.keyboard.press('Enter');
  expect(await asked()).toEqual(['tap', 'tap']);
  await tap.click();
  expect(await asked()).toEqual(['tap', 'tap', 'tap']);
});

test('the focus is never lost: opening the sound, a first layer, a notice', async ({ page }) => {
  await Studio.around(page);
  await openPage(page);
  await page.getByRole('button', { name: 'Open the sound' }).focus();
  await page.keyboard.press('Enter');
  await expect(page.getByRole('button', { name: /round trip/ })).toBeFocused();

  const length = page.getByRole('combobox', { name: 'length' });
  await length.focus();
  await page.keyboard.press('1');
  await expect(length).toHaveValue('1');
  await page.keyboard.press(' ');
  await expect(nowLine(page)).toContainText('Counting in');
  await expect(notice(page)).toContainText('Layer 1 is in, 1 bar.');
  await expect(page.getByRole('combobox', { name: 'count-in' })).toBeFocused();

  await page.getByRole('button', { name: 'All right' }).focus();
  await page.keyboard.press('Enter');
  await expect(notice(page)).toBeHidden();
  expect(await focused(page)).toMatch(/^button: Record a new layer/);

  await page.getByRole('button', { name: 'Stop' }).focus();
  await page.keyboard.press('Enter');
  await expect(nowLine(page)).toContainText('Stopped');
  expect(await focused(page)).toMatch(/^button: Stop/);
});

test('the focus is never lost: a sound that is refused', async ({ page }) => {
  await page.addInitScript(() => {
    navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('', 'NotFoundError'));
  });
  await openPage(page);
  await page.getByRole('button', { name: 'Open the sound' }).focus();
  await page.keyboard.press('Enter');
  await expect(page.getByRole('button', { name: 'Try again' })).toBeFocused();
});
