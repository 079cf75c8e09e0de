import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { expect, onTestFinished, test } from 'vitest';
import { build } from 'vite';
import { CONTENT_POLICY, contentPolicy } from '../../scripts/content-policy.mjs';

test('the policy allows nothing from elsewhere, and no inline script or style', () => {
  expect(CONTENT_POLICY).toMatch(/^default-src 'none';/);
  expect(CONTENT_POLICY).not.toMatch(/https?:|\*|data:|unsafe/);
});

test('a built page carries the policy before anything it governs', async () => {
  const root = mkdtempSync(path.join(tmpdir(), 'page-'));
  onTestFinished(() => {
    rmSync(root, { recursive: true });
  });
  writeFileSync(path.join(root, 'main.js'), 'document.title = "built";');
  writeFileSync(
    path.join(root, 'index.html'),
    '<!doctype html><html><head><meta charset="utf-8"><script type="module" src="./main.js"></script></head></html>',
  );
  await build({ root, configFile: false, logLevel: 'silent', plugins: [contentPolicy()] });

  const html = readFileSync(path.join(root, 'dist', 'index.html'), 'utf8');
  const meta = /<meta http-equiv="Content-Security-Policy" content="([^"]*)">/.exec(html);
  expect(meta?.[1]?.replaceAll('&#39;', "'")).toBe(CONTENT_POLICY);
  expect(meta?.index).toBeLessThan(html.indexOf('<script'));
  // HTML, "Specifying the document's character encoding": within the first 1024 bytes.
  expect(html.indexOf('charset=')).toBeLessThan(1024);
});
