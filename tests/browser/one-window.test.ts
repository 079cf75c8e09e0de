/** One window writes: the browser's own locks (Web Locks API), two windows of one player. */
import { expect, test } from '@playwright/test';
import type { Page } from '@playwright/test';
import { notice, nowLine, openPage, openSound } from '../support/page/player.js';
import { Studio } from '../support/page/studio.js';

const BLOCKED = /not kept: another window holds the songs open\. Close it there\./i;

const layer = (page: Page, name: string) => page.getByText(name, { exact: true });

/** Until nothing is left to be written: the page then lets itself be closed without asking. */
async function kept(page: Page): Promise<void> {
  await page.waitForFunction(() => window.dispatchEvent(new Event('beforeunload', { cancelable: true })));
}

test('a second window says so and touches nothing; the first goes on; then the second has everything', async ({
  page: first,
  context,
}) => {
  await Studio.around(first);
  await openPage(first);
  await first.getByRole('combobox', { name: 'length' }).selectOption('1');
  await openSound(first);
  await first.keyboard.press(' ');
  await expect(notice(first)).toContainText('Layer 1 is in, 1 bar.');
  await expect(first.getByText('kept on this computer')).toBeVisible();

  const second = await context.newPage();
  await openPage(second);
  await expect(second.getByText(BLOCKED).first()).toBeVisible();
  await expect(layer(second, 'Layer 1')).toBeHidden();
  // What is done in it is done for nothing, and never in the songs of the first.
  await second.getByRole('combobox', { name: 'length' }).selectOption('8');
  await second.getByRole('button', { name: 'Faster' }).click();

  await first.bringToFront();
  await first.keyboard.press(' ');
  await expect(notice(first)).toContainText('Layer 2 is in, 1 bar.');
  await first.keyboard.press('Escape');
  await expect(nowLine(first)).toContainText('Stopped');
  await expect(first.getByText('kept on this computer')).toBeVisible();
  await kept(first);

  await second.reload();
  await expect(second.getByText(BLOCKED).first()).toBeVisible();
  await first.close();
  await second.reload();
  await expect(layer(second, 'Layer 1')).toBeVisible();
  await expect(layer(second, 'Layer 2')).toBeVisible();
  await expect(second.getByText(BLOCKED)).toBeHidden();
  await expect(second.getByText('kept on this computer')).toBeVisible();
  await expect(second.getByText('96 quarter notes a minute')).toBeAttached();
});

test('a window that reloads, or is opened while the last one closes, has its songs at once', async ({
  page: first,
  context,
}) => {
  await openPage(first);
  await first.getByRole('combobox', { name: 'length' }).selectOption('8');
  await kept(first);
  for (let i = 0; i < 3; i++) {
    await first.reload();
    await expect(first.getByRole('combobox', { name: 'length' })).toHaveValue('8');
  }
  let held = first;
  for (let i = 0; i < 3; i++) {
    const next = await context.newPage();
    const closed = held.close();
    await openPage(next);
    await closed;
    await expect(next.getByRole('combobox', { name: 'length' })).toHaveValue('8');
    held = next;
  }
});
