/** Where things lie, and the addresses they are served at. */
import { fileURLToPath } from 'node:url';

/** The folder of the project, without a slash at the end. */
export const ROOT = fileURLToPath(new URL('..', import.meta.url)).replace(/[\\/]$/, '');

/**
 * The one port of the program. What a player records belongs to the address it was recorded at, host and port
 * included, so another port would show an empty library.
 */
export const APP_PORT = 8614;

/** The build that the browser tests run against: that of `npm test`, or one of their own when they run alone. */
export const TEST_BUILD = process.env['MANYHAND_DIST'] ?? `${ROOT}/.cache/serve`;

/** Where the browser tests are served. */
export const TEST_PORT = Number(process.env['MANYHAND_TEST_PORT'] ?? 8615);

/** What the browser of the capture tests takes for its microphone. */
export const MICROPHONE_FILE = process.env['MANYHAND_MICROPHONE'] ?? `${ROOT}/.cache/microphone.wav`;
