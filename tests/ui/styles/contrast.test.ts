import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';

const tokens = readFileSync('src/ui/styles/tokens.css', 'utf8');

/** A token's colour on Paper (0) or Slate (1). */
function colour(token: string, look: 0 | 1): string {
  const found = new RegExp(`--${token}: light-dark\\((#[0-9a-f]{6}), (#[0-9a-f]{6})\\)`).exec(tokens);
  if (found === null) throw new Error(`Got no token ${token} in tokens.css.`);
  return found[1 + look]!;
}

/** Relative luminance and contrast as WCAG 2.2 defines them. */
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5]
    .map((at) => parseInt(hex.slice(at, at + 2), 16) / 255)
    .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
}

function contrast(a: string, b: string): number {
  const [dark, light] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (light! + 0.05) / (dark! + 0.05);
}

// Published vectors: computed from the definition in WCAG 2.2, on white.
describe('contrast as measured here', () => {
  test.each([
    ['#767676', 4.542],
    ['#777777', 4.478],
    ['#949494', 3.033],
    ['#959595', 2.995],
    ['#ff0000', 3.998],
    ['#0000ff', 8.592],
    ['#000000', 21],
  ])('of %s on white is %d', (hex, expected) => {
    expect(contrast(hex, '#ffffff')).toBeCloseTo(expected, 3);
  });
});

describe.each([
  ['Paper', 0],
  ['Slate', 1],
] as const)('on %s', (_, look) => {
  // WCAG 2.2, 1.4.3 (AA).
  test.each(['ink', 'soft', 'pencil', 'wash'])('%s can be read: 4.5:1', (token) => {
    expect(contrast(colour(token, look), colour('paper', look))).toBeGreaterThanOrEqual(4.5);
  });

  // WCAG 2.2, 1.4.11 (AA).
  test.each(['edge', 'pencil-wash'])('%s can be seen: 3:1', (token) => {
    expect(contrast(colour(token, look), colour('paper', look))).toBeGreaterThanOrEqual(3);
  });
});

test('both looks are named, and the system decides until one is chosen', () => {
  expect(tokens).toMatch(/:root \{\s*color-scheme: light dark;/);
  expect(tokens).toMatch(/\[data-theme='paper'\] \{\s*color-scheme: light;/);
  expect(tokens).toMatch(/\[data-theme='slate'\] \{\s*color-scheme: dark;/);
});
