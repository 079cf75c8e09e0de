import { spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { ROOT } from '../../scripts/paths.mjs';
import { toolOf } from '../../scripts/run.mjs';

/** Files and their imports, of types only where it says so. */
const files: Readonly<Record<string, readonly string[]>> = {
  'core/units/index.ts': [],
  'core/meter/a.ts': ['../units/index.js', 'lit'],
  'core/meter/b.ts': ['../song/a.js', 'node:fs'],
  'core/song/a.ts': ['../meter/a.js'],
  'core/history/a.ts': ['../transport/a.js', '../song/a.js'],
  'core/transport/a.ts': ['../units/index.js'],
  'core/nowhere/a.ts': ['../units/index.js'],
  'core/seam/a.ts': ['./b.js'],
  'core/seam/b.ts': ['./a.js'],
  'ports/a.ts': ['../core/song/a.js'],
  'protocol/a.ts': ['../core/song/a.js', '../ports/a.js'],
  'worklet/processor.ts': ['../protocol/a.js', '../sound/a.js'],
  'sound/a.ts': ['../protocol/a.js', '../ports/a.js', '../core/song/a.js'],
  'storage/a.ts': ['../ports/a.js', 'idb', 'valibot', 'lit', '../rehearsal/a.js'],
  'rehearsal/a.ts': ['../ports/a.js', '../core/song/a.js', '../protocol/a.js'],
  'ui/elements/a.ts': ['lit', '../../core/song/a.js', '../../rehearsal/a.js', '../pages/a.js'],
  'ui/elements/b.ts': ['type ../../rehearsal/a.js'],
  'ui/controllers/a.ts': ['../../rehearsal/a.js', '../../ports/a.js'],
  'ui/pages/a.ts': ['../controllers/a.js', 'idb', 'vitest'],
  'stray.ts': ['./core/song/a.js'],
  'lonely.ts': [],
  'ui/pages/lonely.ts': [],
  'main.ts': [
    './ui/elements/a.js',
    './storage/a.js',
    './sound/a.js',
    './worklet/processor.ts?worker&url',
    '../tests/a.js',
  ],
};

/** Every edge that breaks a rule, and the rule. */
const broken = [
  'core-order-history: core/history/a.ts → core/transport/a.ts',
  'core-order-meter: core/meter/b.ts → core/song/a.ts',
  'elements-know-only-their-properties: ui/elements/a.ts → ui/pages/a.ts',
  'elements-see-the-rehearsal-as-types: ui/elements/a.ts → rehearsal/a.ts',
  'known-core-folder: core/nowhere/a.ts → core/units/index.ts',
  'known-place: stray.ts → core/song/a.ts',
  'main-imports-the-program: main.ts → tests/a.ts',
  'no-cycles: core/seam/a.ts → core/seam/b.ts',
  'no-orphans: lonely.ts → lonely.ts',
  'no-orphans: ui/pages/lonely.ts → ui/pages/lonely.ts',
  'room-core: core/meter/a.ts → lit',
  'room-core: core/meter/b.ts → fs',
  'room-protocol: protocol/a.ts → ports/a.ts',
  'room-rehearsal: rehearsal/a.ts → protocol/a.ts',
  'room-storage: storage/a.ts → lit',
  'room-storage: storage/a.ts → rehearsal/a.ts',
  'room-ui: ui/controllers/a.ts → ports/a.ts',
  'room-ui: ui/pages/a.ts → idb',
  'room-ui: ui/pages/a.ts → vitest',
  'room-worklet: worklet/processor.ts → sound/a.ts',
  'ships-only-dependencies: ui/pages/a.ts → vitest',
];

let folder: string;

beforeAll(() => {
  folder = mkdtempSync(path.join(tmpdir(), 'rooms-'));
  // A junction on Windows, where other links need rights.
  symlinkSync(path.join(ROOT, 'node_modules'), path.join(folder, 'node_modules'), 'junction');
  for (const name of ['package.json', 'tsconfig.json', 'tsconfig']) {
    cpSync(path.join(ROOT, name), path.join(folder, name), { recursive: true });
  }
  for (const [file, imports] of Object.entries({ ...files, '../tests/a.ts': [] })) {
    const at = path.join(folder, 'src', file);
    mkdirSync(path.dirname(at), { recursive: true });
    writeFileSync(at, ['export const a = 1;', ...imports.map(statement)].join('\n'));
  }
});

afterAll(() => {
  rmSync(folder, { recursive: true });
});

function statement(from: string, index: number): string {
  const type = /^type (.*)/.exec(from)?.[1];
  return type === undefined ? `import '${from}';` : `import type { A } from '${type}'; export type B${index} = A;`;
}

/** Names as they are listed above, whatever folder the packages really lie in. */
const short = (name: string) => name.replace(/^.*node_modules\/([^/]+)\/.*$/, '$1').replace(/^src\//, '');

test('every import that the table does not list is an error, and no other', () => {
  const { stdout, stderr } = spawnSync(
    process.execPath,
    [
      toolOf('dependency-cruiser', 'depcruise'),
      'src',
      '--config',
      path.join(ROOT, '.dependency-cruiser.cjs'),
      '--output-type',
      'json',
    ],
    { cwd: folder, encoding: 'utf8' },
  );
  expect(stderr).toBe('');
  const { summary } = JSON.parse(stdout) as {
    summary: { violations: { from: string; to: string; rule: { name: string } }[] };
  };
  const found = summary.violations.map(({ rule, from, to }) => `${rule.name}: ${short(from)} → ${short(to)}`);
  expect(found.sort()).toEqual(broken);
});
