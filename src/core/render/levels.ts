/** +12 dB, own choice: enough for the quietest input; the limiters take what is too much. */
const MOST = 4;

/** What is used of a gain that a command names: 0 … 4. What is no number is silence. */
export const usableGain = (gain: number): number => (gain > 0 ? Math.min(MOST, gain) : 0);
