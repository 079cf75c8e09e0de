import { expect, test } from 'vitest';
import { isNodeSupported } from '../../scripts/node-version.mjs';

test.each([
  ['18.20.8', false],
  ['20.18.3', false],
  ['20.19.0', true],
  ['21.7.3', false],
  ['22.11.0', false],
  ['22.12.0', true],
  ['24.0.0', true],
])('Node %s is supported: %s', (version, supported) => {
  expect(isNodeSupported(version)).toBe(supported);
});
