/**
 * The content policy: what the built page may load, and that nothing leaves the machine. It stands in the page itself,
 * so that it holds on any static host. The dev server needs inline scripts and goes without.
 */

/** Directives of the policy, in the order they are written. */
const DIRECTIVES = [
  "default-src 'none'",
  "script-src 'self'",
  "worker-src 'self'",
  "connect-src 'self'",
  "style-src 'self'",
  "img-src 'self' blob:",
  "media-src 'self' blob:",
  "font-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
];

export const CONTENT_POLICY = DIRECTIVES.join('; ');

/**
 * Writes the policy at the head of the built page, before anything it governs.
 *
 * @returns {import('vite').Plugin}
 */
export function contentPolicy() {
  return {
    name: 'manyhand:content-policy',
    apply: 'build',
    transformIndexHtml: {
      order: 'post',
      handler: () => [
        {
          tag: 'meta',
          attrs: { 'http-equiv': 'Content-Security-Policy', content: CONTENT_POLICY },
          injectTo: 'head-prepend',
        },
      ],
    },
  };
}
