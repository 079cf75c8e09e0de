/** Reads built pages and styles for what a browser loads at once. */

/**
 * Files that a built page names: scripts, styles, icons.
 *
 * @param {string} html
 * @returns {string[]} relative to the page
 */
export function linksOf(html) {
  return [...html.matchAll(/\b(?:src|href)="\.\/([^"#?]+)/g)].map((match) => match[1] ?? '');
}

/**
 * Fonts that plain text makes a browser load: those whose characters include the Latin letters. Of several formats, the
 * first, which every browser with audio worklets reads.
 *
 * @param {string} css
 * @returns {string[]} addresses as written in the styles
 */
export function plainTextFonts(css) {
  return [...css.matchAll(/@font-face\s*\{([^}]*)\}/g)].flatMap(([, face = '']) => {
    const range = /unicode-range:([^;}]*)/i.exec(face)?.[1];
    const source = /url\(\s*["']?([^"')]+)/.exec(face)?.[1];
    return source !== undefined && (range === undefined || includesLatinA(range)) ? [source] : [];
  });
}

/**
 * @param {string} range as in CSS: `U+0-FF, U+2??, U+131`
 * @returns {boolean} whether the letter A is among them
 */
function includesLatinA(range) {
  const letter = 'A'.charCodeAt(0);
  return [...range.matchAll(/U\+([0-9A-F?]+)(?:-([0-9A-F]+))?/gi)].some(([, from = '', to]) => {
    const low = Number.parseInt(from.replaceAll('?', '0'), 16);
    const high = Number.parseInt(to ?? from.replaceAll('?', 'F'), 16);
    return low <= letter && letter <= high;
  });
}
