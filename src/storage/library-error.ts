/** A programmer's mistake in the use of a library: states what came and what was expected. Nothing was written. */
export class LibraryError extends Error {
  override readonly name = 'LibraryError';
}

/** @throws {LibraryError} unless the condition holds. */
export function expectThat(condition: boolean, message: string): asserts condition {
  if (!condition) throw new LibraryError(message);
}
