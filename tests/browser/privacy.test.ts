/** Nothing leaves the machine: no request to any other origin, by policy and in fact. */
import { expect, test } from '@playwright/test';
import { notice, nowLine, openPage, openSound, reloadOnceKept } from '../support/page/player.js';
import { Studio } from '../support/page/studio.js';

test('the built page carries a policy that allows its own origin alone', async ({ page }) => {
  await page.goto('/');
  const policy = await page.locator('meta[http-equiv="Content-Security-Policy"]').getAttribute('content');
  expect(policy).toContain("default-src 'none'");
  expect(policy).toContain("connect-src 'self'");
  expect(policy).not.toMatch(/https?:|\*|unsafe-inline|unsafe-eval(?<!wasm-unsafe-eval)/);
});

test('the policy is in force: a request to another origin is refused by the browser', async ({ page }) => {
  await page.goto('/');
  const outcome = await page.evaluate(async () => {
    const violated = new Promise<string>((resolve) => {
      document.addEventListener('securitypolicyviolation', (event) => resolve(event.effectiveDirective));
    });
    const answer = await fetch('http://127.0.0.1:9/').then(
      () => 'answered',
      () => 'refused',
    );
    return [answer, await violated];
  });
  expect(outcome).toEqual(['refused', 'connect-src']);
});

test('recording, layering and reloading make no request to any other origin', async ({ page, baseURL }) => {
  const strangers: string[] = [];
  page.on('request', (request) => {
    if (new URL(request.url()).origin !== new URL(baseURL ?? '').origin) strangers.push(request.url());
  });
  const violations: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error') violations.push(message.text());
  });
  const studio = await Studio.around(page);
  await openPage(page);
  await page.getByRole('combobox', { name: 'length' }).selectOption('1');
  await openSound(page);
  const firstClick = await studio.listen();
  await page.keyboard.press(' ');
  await firstClick();
  await expect(notice(page)).toContainText('Layer 1 is in, 1 bar.');
  await page.keyboard.press('Escape');
  await expect(nowLine(page)).toContainText('Stopped');
  await reloadOnceKept(page);
  await expect(page.getByText('Layer 1', { exact: true })).toBeVisible();
  expect(strangers).toEqual([]);
  expect(violations).toEqual([]);
});
