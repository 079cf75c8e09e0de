/** Parts of the build that tests run by themselves, by the names that their files begin with. */
import { readdirSync } from 'node:fs';
import { TEST_BUILD } from '../../../scripts/paths.mjs';

/** @returns where it is served. */
export function builtPath(name: 'processor' | 'input-counter' | 'audio-sound'): string {
  const file = readdirSync(`${TEST_BUILD}/assets`).find((each) => each.startsWith(`${name}-`) && each.endsWith('.js'));
  if (file === undefined) throw new Error(`Got a build without ${name} when expected one.`);
  return `/assets/${file}`;
}
