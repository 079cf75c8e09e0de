/** Repeatable random numbers for simulations. */

/** Standard normal, by Box and Muller over a multiplicative congruential generator (Park and Miller 1988: 16807). */
export function seededNormal(seed: number): () => number {
  let state = seed;
  const uniform = () => {
    state = (state * 16_807) % 2_147_483_647;
    return state / 2_147_483_647;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}
