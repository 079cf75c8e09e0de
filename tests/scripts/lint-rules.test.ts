import { ESLint } from 'eslint';
import { beforeAll, expect, test } from 'vitest';
import { ROOT } from '../../scripts/paths.mjs';

let eslint: ESLint;

beforeAll(() => {
  eslint = new ESLint({
    cwd: ROOT,
    // The planted sources are no files, so rules that ask for types cannot run on them.
    ruleFilter: ({ ruleId }) => ruleId.startsWith('no-restricted-'),
    overrideConfig: { languageOptions: { parserOptions: { projectService: false } } },
  });
});

async function complaints(file: string, code: string): Promise<string[]> {
  const [result] = await eslint.lintText(code, { filePath: `${ROOT}/${file}` });
  return result?.messages.map(({ message }) => message) ?? [];
}

const inProcess = (statement: string) => `export class A { process(x: number[]): void { ${statement} } }`;

test.each([
  'new Float32Array(128);',
  'x = [1];',
  'x.at({}.a);',
  'x.forEach(() => 1);',
  'x.forEach(function () {});',
  'x.push(...x);',
  'x.join(`${x}`);',
  '/a/.test("a");',
  'if (x) { while (x) { new Map(); } }',
])('`%s` in process is refused', async (statement) => {
  const found = await complaints('src/core/render/planted.ts', inProcess(statement));
  expect(found.join()).toMatch(/allocates .* on the audio thread/);
  await expect(complaints('src/worklet/planted.ts', inProcess(statement))).resolves.toEqual(found);
});

test('throwing in process is refused', async () => {
  const [found] = await complaints('src/worklet/planted.ts', inProcess('throw x;'));
  expect(found).toMatch(/does not throw/);
});

test.each([
  ['arithmetic in process', 'src/core/render/planted.ts', inProcess('for (let i = 0; i < x.length; i++) x[i] = i;')],
  ['an allocation beside process', 'src/core/render/planted.ts', 'export class A { setup() { return new Map(); } }'],
  ['process outside of the audio thread', 'src/core/seam/planted.ts', inProcess('new Map();')],
])('%s is allowed', async (_, file, code) => {
  await expect(complaints(file, code)).resolves.toEqual([]);
});

test.each([
  ['src/core/seam/planted.ts', 'export const now = Date.now();', /port/],
  ['src/rehearsal/planted.ts', 'export const now = new Date();', /port/],
  ['src/core/seam/planted.ts', 'export const chance = Math.random();', /repeatable/],
  ['src/ui/pages/planted.ts', "import { a } from './a';", /end in \.js/],
  ['src/ui/pages/planted.ts', 'export default 1;', /Named exports/],
  ['src/ui/pages/planted.ts', "export * from './a.js';", /No barrels/],
  ['src/ui/pages/planted.ts', 'export const a = 1 as Frames;', /constructors/],
])('in %s, `%s` is refused', async (file, code, message) => {
  const found = await complaints(file, code);
  expect(found).toHaveLength(1);
  expect(found[0]).toMatch(message);
});
