/** A PATH of made-up programs. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { onTestFinished } from 'vitest';

/** @param scripts shell script of each program, by name; gone after the test */
export function programs(scripts: Readonly<Record<string, string>>): { folder: string; env: NodeJS.ProcessEnv } {
  const folder = mkdtempSync(path.join(tmpdir(), 'programs-'));
  onTestFinished(() => {
    rmSync(folder, { recursive: true });
  });
  for (const [name, script] of Object.entries(scripts)) {
    writeFileSync(path.join(folder, name), `#!/bin/sh\n${script}\n`, { mode: 0o755 });
  }
  return { folder, env: { PATH: folder } };
}
