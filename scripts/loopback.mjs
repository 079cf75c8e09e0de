/** The addresses of this machine alone, and who answers there. */

/** Says that this server is Manyhand's. */
export const SERVER_HEADER = 'x-manyhand';

/** Both families, as `localhost` may mean either. */
export const LOOPBACK = ['127.0.0.1', '::1'];

/** Errors where the machine has no such address at all. */
export const NO_SUCH_ADDRESS = new Set(['EADDRNOTAVAIL', 'EAFNOSUPPORT']);

/**
 * Who answers on the port: Manyhand, something else, or nobody.
 *
 * @param {number} port
 * @returns {Promise<'manyhand' | 'other' | 'nobody'>}
 */
export async function whoServes(port) {
  /** @type {'manyhand' | 'other' | 'nobody'} */
  let answer = 'nobody';
  for (const host of LOOPBACK) {
    const name = host.includes(':') ? `[${host}]` : host;
    try {
      const response = await fetch(`http://${name}:${port}/`, {
        method: 'HEAD',
        redirect: 'manual',
        signal: AbortSignal.timeout(2000),
      });
      if (response.headers.has(SERVER_HEADER)) return 'manyhand';
      answer = 'other';
    } catch (error) {
      if (!isUnreachable(error)) answer = 'other';
    }
  }
  return answer;
}

/** @param {unknown} error */
export function codeOf(error) {
  return error instanceof Error && 'code' in error ? String(error.code) : '';
}

/**
 * Whether nobody listens at all, as opposed to something that does not speak HTTP or does not answer.
 *
 * @param {unknown} error of `fetch`
 */
function isUnreachable(error) {
  if (!(error instanceof Error)) return false;
  const code = codeOf(error.cause);
  return code === 'ECONNREFUSED' || NO_SUCH_ADDRESS.has(code) || code === 'ENETUNREACH' || code === 'EHOSTUNREACH';
}
