/**
 * What a first visit loads, compressed, against the budget: the page, its scripts and styles, the fonts that plain text
 * needs, and the icon. The audio processor is loaded when sound is opened, and shown beside it.
 */
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import path from 'node:path';
import { gzipSync } from 'node:zlib';
import { buildPage } from './build.mjs';
import { linksOf, plainTextFonts } from './first-load.mjs';
import { ROOT } from './paths.mjs';

// The target is 90 kB: see DEVELOPERS.md for what is above it and why.
const FIRST_LOAD_LIMIT = 100_000;

mkdirSync(`${ROOT}/.cache`, { recursive: true });
const dist = mkdtempSync(`${ROOT}/.cache/size-`);
process.on('exit', () => {
  rmSync(dist, { recursive: true, force: true });
});
const { output } = await buildPage(dist);

/** @param {string} name */
const text = (name) => readFileSync(path.join(dist, name), 'utf8');
/** @param {string} name */
const compressed = (name) => gzipSync(readFileSync(path.join(dist, name)), { level: 9 }).length;
/** @param {number} bytes */
const kilobytes = (bytes) => `${(bytes / 1000).toFixed(1).padStart(6)} kB`;

const chunks = new Map(output.flatMap((file) => (file.type === 'chunk' ? [[file.fileName, file]] : [])));
const firstLoad = new Set(['index.html', ...linksOf(text('index.html'))]);
for (const name of firstLoad) {
  // A set may grow while it is read; what is added is read too.
  for (const imported of chunks.get(name)?.imports ?? []) firstLoad.add(imported);
  if (name.endsWith('.css')) {
    for (const font of plainTextFonts(text(name))) firstLoad.add(path.posix.join(path.posix.dirname(name), font));
  }
}

let total = 0;
for (const name of firstLoad) {
  const size = compressed(name);
  total += size;
  console.log(`${kilobytes(size)}  ${name}`);
}
console.log(`${kilobytes(total)}  first load, gzip; the limit is ${FIRST_LOAD_LIMIT / 1000} kB`);
if (total > FIRST_LOAD_LIMIT) {
  console.error('The first load is over its limit.');
  process.exitCode = 1;
}

const processor = output.find((file) => /^assets\/processor-[^/]*\.js$/.test(file.fileName));
if (processor) console.log(`${kilobytes(compressed(processor.fileName))}  ${processor.fileName}, when sound is opened`);
else {
  console.error('The build has no audio processor.');
  process.exitCode = 1;
}
