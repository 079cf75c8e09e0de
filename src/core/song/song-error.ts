/** A programmer's mistake with a song: states what came and what was expected. */
export class SongError extends Error {
  override readonly name = 'SongError';
}
