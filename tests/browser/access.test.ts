/** No violation that axe knows of (WCAG 2.2 A and AA), in every state a player sees, in both looks. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { expect, test } from '@playwright/test';
import type { Page } from '@playwright/test';
import type axe from 'axe-core';
import { notice, nowLine, openPage, openSound } from '../support/page/player.js';
import { Studio } from '../support/page/studio.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

async function violations(page: Page): Promise<string[]> {
  await page.evaluate(AXE);
  return page.evaluate(async () => {
    const { axe: checker } = window as unknown as { axe: typeof axe };
    const result = await checker.run(document, {
      runOnly: { type: 'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] },
    });
    return result.violations.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.target.join(' ')}`));
  });
}

for (const look of ['Paper', 'Slate'] as const) {
  test(`${look}: empty, counting in, recording, playing, stopped, refused`, async ({ page }) => {
    const studio = await Studio.around(page);
    await openPage(page);
    await page
      .getByRole('button', { name: look })
      .or(page.getByRole('radio', { name: look }))
      .first()
      .click();
    expect(await violations(page), 'empty').toEqual([]);
    await page.getByRole('combobox', { name: 'length' }).selectOption('1');
    await openSound(page);
    const firstClick = await studio.listen();
    await page.keyboard.press(' ');
    const line = (await firstClick()) + 120_000;
    await expect(nowLine(page)).toContainText('Counting in');
    expect(await violations(page), 'counting in').toEqual([]);
    await studio.play([line, line + 30_000, line + 60_000]);
    await expect(notice(page)).toContainText('Layer 1 is in, 1 bar.');
    expect(await violations(page), 'playing').toEqual([]);
    await page.keyboard.press(' ');
    await expect(nowLine(page)).toContainText('Layering Layer 2');
    expect(await violations(page), 'layering').toEqual([]);
    await page.keyboard.press('Escape');
    await expect(nowLine(page)).toContainText('Stopped');
    expect(await violations(page), 'stopped').toEqual([]);

    await page.addInitScript(() => {
      navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('', 'NotAllowedError'));
    });
    await page.reload();
    await expect(nowLine(page)).toContainText('Stopped');
    await page.keyboard.press(' ');
    await expect(page.getByRole('button', { name: 'Try again' })).toBeVisible();
    expect(await violations(page), 'refused').toEqual([]);
  });
}
