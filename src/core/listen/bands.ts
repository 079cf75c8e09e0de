/** From a power spectrum to bands about as wide as hearing's: single bins at the bottom, third octaves above. */

const LOWEST_HZ = 40;
const HIGHEST_HZ = 16_000;
const THIRD_OCTAVE = 2 ** (1 / 3);

/** Bin numbers: band b is [edges[b], edges[b + 1]). Every band has at least one bin. */
export function bandEdges(size: number, rate: number): Uint32Array {
  const bin = rate / size;
  const last = Math.min(size / 2, Math.floor(HIGHEST_HZ / bin));
  const edges = [Math.max(1, Math.round(LOWEST_HZ / bin))];
  for (let edge = edges[0] ?? 1; edge < last; edges.push(edge)) {
    edge = Math.min(last, Math.max(edge + 1, Math.round(edge * THIRD_OCTAVE)));
  }
  return Uint32Array.from(edges);
}
