import { expect, test } from 'vitest';
import { linksOf, plainTextFonts } from '../../scripts/first-load.mjs';

test('linksOf names scripts, styles and icons of the page itself', () => {
  const html =
    '<script type="module" crossorigin src="./assets/a.js"></script><link rel="stylesheet" href="./assets/b.css">' +
    '<link rel="icon" href="./icon.svg?v=1"><a href="#part">part</a><a href="https://example.org/">elsewhere</a>';
  expect(linksOf(html)).toEqual(['assets/a.js', 'assets/b.css', 'icon.svg']);
});

test.each([
  ['no range at all', '', ['a.woff2']],
  ['a range around it', 'unicode-range:U+0000-00FF,U+131;', ['a.woff2']],
  ['a range with wildcards', 'unicode-range: U+1??, U+0??', ['a.woff2']],
  ['the letter alone', 'unicode-range:u+41', ['a.woff2']],
  ['ranges that leave it out', 'unicode-range:U+0100-02BA,U+1E00-1E9F', []],
])('plainTextFonts takes a face for the Latin letters by %s', (_, range, expected) => {
  const face = `@font-face{font-family:A;src:url(a.woff2)format("woff2"),url(a.woff)format("woff");${range}}`;
  expect(plainTextFonts(face)).toEqual(expected);
});

test('plainTextFonts reads quoted addresses and ignores addresses outside of font faces', () => {
  const css = '.a{background:url(a.png)}@font-face { src: url("./b.woff2") format("woff2"); }';
  expect(plainTextFonts(css)).toEqual(['./b.woff2']);
});
