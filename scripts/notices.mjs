/**
 * Writes THIRD-PARTY-NOTICES.md: every package that ships, and the licence it ships under. With `--check`, compares
 * instead, and fails where the file says something else than the installed packages do.
 */
import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import path from 'node:path';
import { readManifest } from './manifest.mjs';
import { ROOT } from './paths.mjs';

/** @typedef {{ name: string, version: string, licence: string, copyright: string, text: string | null }} Notice */

const FILE = `${ROOT}/THIRD-PARTY-NOTICES.md`;

const HEAD = `# Third-party notices

Manyhand is built with the packages below and ships with them. Each belongs to its authors and is used under its own
licence; the texts follow the table. This file is written by \`node scripts/notices.mjs\`.
`;

/**
 * Dependencies, and theirs, as installed.
 *
 * @returns {Notice[]} sorted by name
 */
function shippedPackages() {
  /** @type {Map<string, Notice>} */
  const found = new Map();
  /** @param {string} folder */
  const visit = (folder) => {
    for (const name of Object.keys(readManifest(folder).dependencies ?? {})) {
      const installed = installedAt(folder, name);
      if (found.has(installed)) continue;
      found.set(installed, noticeOf(installed));
      visit(installed);
    }
  };
  visit(ROOT);
  return [...found.values()].sort((a, b) => (a.name < b.name ? -1 : 1));
}

/**
 * Where Node would find a package from another.
 *
 * @param {string} folder of the package that depends on it
 * @param {string} name
 */
function installedAt(folder, name) {
  for (let above = folder; ; above = path.dirname(above)) {
    const candidate = path.join(above, 'node_modules', name);
    if (existsSync(path.join(candidate, 'package.json'))) return candidate;
    if (above === path.dirname(above)) throw new Error(`Got no installed ${name} when ${folder} depends on it.`);
  }
}

/**
 * @param {string} folder
 * @returns {Notice}
 */
function noticeOf(folder) {
  const { name, version, license } = readManifest(folder);
  const file = readdirSync(folder).find((entry) => /^licen[cs]e(\.md|\.txt)?$/i.test(entry));
  const text = file === undefined ? null : readFileSync(path.join(folder, file), 'utf8').trim();
  // Where there is no such file, the line stands in the source or at the end of what the package says of itself.
  const other = ['index.js', 'README.md'].find((entry) => existsSync(path.join(folder, entry))) ?? 'package.json';
  const copyright = copyrightIn(text ?? readFileSync(path.join(folder, other), 'utf8'));
  if (license === undefined) throw new Error(`Got no licence in the package.json of ${name}.`);
  if (copyright === null) throw new Error(`Got no copyright line in ${name}.`);
  return { name, version, licence: license, copyright, text };
}

/** @param {string} text */
function copyrightIn(text) {
  return /^[\s*]*(Copyright\b.*)$/m.exec(text)?.[1]?.trim() ?? null;
}

/**
 * One text a licence and wording; packages without a file of their own are named with those of the same licence.
 *
 * @param {readonly Notice[]} notices
 */
function licenceTexts(notices) {
  const texts = new Map(notices.flatMap(({ text, licence }) => (text === null ? [] : [[text, licence]])));
  return [...texts].map(([text, licence]) => {
    const under = notices.filter(
      (notice) => notice.text === text || (notice.text === null && notice.licence === licence),
    );
    return `## ${licence}: ${under.map(({ name }) => name).join(', ')}\n\n\`\`\`text\n${text}\n\`\`\`\n`;
  });
}

/** @param {readonly Notice[]} notices */
function document(notices) {
  const rows = notices.map(
    (n) => `| ${n.name} | ${n.version} | ${n.licence} | ${n.copyright.replaceAll('|', '\\|')} |`,
  );
  const table = ['| package | version | licence | copyright |', '| --- | --- | --- | --- |', ...rows].join('\n');
  return [HEAD, `${table}\n`, ...licenceTexts(notices)].join('\n');
}

const expected = document(shippedPackages());
if (!process.argv.includes('--check')) {
  writeFileSync(FILE, expected);
} else if (!existsSync(FILE) || readFileSync(FILE, 'utf8').replaceAll('\r\n', '\n') !== expected) {
  console.error('THIRD-PARTY-NOTICES.md does not match the installed packages. Run: node scripts/notices.mjs');
  process.exit(1);
}
