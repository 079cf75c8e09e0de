import { readFileSync } from 'node:fs';
import { defineConfig, type Plugin } from 'vite';
import { contentPolicy } from './scripts/content-policy.mjs';
import { ROOT } from './scripts/paths.mjs';

/** The licences of what is built in travel with the build. */
function notices(): Plugin {
  const fileName = 'THIRD-PARTY-NOTICES.md';
  return {
    name: 'manyhand:notices',
    apply: 'build',
    generateBundle() {
      this.emitFile({ type: 'asset', fileName, source: readFileSync(`${ROOT}/${fileName}`) });
    },
  };
}

export default defineConfig({
  root: ROOT,
  // Relative addresses: the build works below any folder of any static host.
  base: './',
  plugins: [contentPolicy(), notices()],
  worker: { format: 'es' },
  build: {
    target: 'es2023',
    modulePreload: { polyfill: false },
    // Inlined files would be data: addresses, which the content policy refuses.
    assetsInlineLimit: 0,
  },
  // Ports of their own: a library recorded while developing is not the player's.
  server: { host: 'localhost', port: 8612, strictPort: true },
  preview: { host: 'localhost', port: 8613, strictPort: true },
});
