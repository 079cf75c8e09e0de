/**
 * `npm run check`: everything about the sources that a machine can judge without running them. Every stage runs, also
 * after one has failed. `npm run check -- lint form` runs only the stages named.
 */
import { requireNode } from './node-version.mjs';

requireNode();
const { ROOT } = await import('./paths.mjs');
const { inSeconds, runNode, toolOf } = await import('./run.mjs');

/** @type {Readonly<Record<string, () => string[]>>} */
const STAGES = {
  types: () => [toolOf('typescript', 'tsc'), '--build'],
  lint: () => [toolOf('eslint', 'eslint'), '.', '--max-warnings=0'],
  imports: () => [toolOf('dependency-cruiser', 'depcruise'), 'src', '--config', '.dependency-cruiser.cjs'],
  unused: () => [toolOf('knip', 'knip')],
  form: () => [toolOf('prettier', 'prettier'), '--check', '.'],
  notices: () => [`${ROOT}/scripts/notices.mjs`, '--check'],
  size: () => [`${ROOT}/scripts/size.mjs`],
};

const named = process.argv.slice(2);
const unknown = named.filter((name) => !(name in STAGES));
if (unknown.length > 0) {
  console.error(`Got the stage ${unknown.join(', ')} when expected one of: ${Object.keys(STAGES).join(', ')}.`);
  process.exit(1);
}

/** @type {{ name: string, passed: boolean, ms: number }[]} */
const results = [];
for (const [name, command] of Object.entries(STAGES)) {
  if (named.length > 0 && !named.includes(name)) continue;
  console.log(`\n== ${name}`);
  const { code, ms } = await runNode(command());
  results.push({ name, passed: code === 0, ms });
}

console.log(`\n${'stage'.padEnd(10)}${'result'.padEnd(10)}${'time'.padStart(8)}`);
for (const { name, passed, ms } of results) {
  console.log(`${name.padEnd(10)}${(passed ? 'passed' : 'FAILED').padEnd(10)}${inSeconds(ms).padStart(8)}`);
}
process.exitCode = results.every((result) => result.passed) ? 0 : 1;
