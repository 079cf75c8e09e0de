/**
 * Which Node the project runs on. Imported before anything else by what a player starts, and therefore written so that
 * an old Node can still read it and say what is wrong.
 */

/**
 * @param {string} version as in `process.versions.node`
 * @returns {boolean} whether the build tools run on it: 20.19 and later 20s, 22.12 and up
 */
export function isNodeSupported(version) {
  const [major = 0, minor = 0] = version.split('.').map(Number);
  if (major === 20) return minor >= 19;
  if (major === 22) return minor >= 12;
  return major > 22;
}

/** Ends the process with a clear message when Node is too old. */
export function requireNode() {
  if (isNodeSupported(process.versions.node)) return;
  console.error(
    `Manyhand needs Node 20.19 or newer (of the 22s, 22.12 or newer); this is Node ${process.versions.node}.\n` +
      'Install a newer Node, then start again.',
  );
  process.exit(1);
}
