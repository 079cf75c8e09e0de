/**
 * What tests need of the machine beyond Node. Where it is missing, a test is skipped by name; under MANYHAND_REQUIRE=1,
 * as in continuous integration, it fails instead, so that nothing is left untested unnoticed.
 */
import { findOnPath } from '../../scripts/find-tool.mjs';

/**
 * @param tool name of an executable, such as `sox`
 * @param skip of the running test; must not return. Vitest: `context.skip`; Playwright: `(why) => test.skip(true, why)`
 * @returns its path
 * @throws where it is missing and MANYHAND_REQUIRE=1
 */
export function need(tool: string, skip: (reason: string) => void, env: NodeJS.ProcessEnv = process.env): string {
  const found = findOnPath(tool, env);
  if (found !== null) return found;
  const reason = `needs ${tool}, which is not on PATH`;
  if (env['MANYHAND_REQUIRE'] !== '1') skip(reason);
  throw new Error(`This test ${reason}.`);
}
