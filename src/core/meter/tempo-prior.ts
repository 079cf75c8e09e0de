/** How likely a tempo is to be felt as the beat, before anything is known of the music. */
import type { Bpm } from '../units/index.js';

const PREFERRED_BPM = 120;
const WIDTH_OCTAVES = 1;

/**
 * 1 at 120 felt beats a minute, falling on both sides as a normal curve of the tempo's logarithm with a standard deviation
 * of one octave; above 0 for every tempo. Only ratios mean something, and only where taps leave a choice: much music is
 * felt far from 120.
 *
 * Sources: a preferred pulse of 500–550 ms (van Noorden and Moelants, J. New Music Res. 28, 1999); log-normal with a width
 * of 0.9 to 1.4 octaves (Ellis 2007, from memory).
 */
export const tempoPrior = (value: Bpm): number =>
  Math.exp(-((Math.log2(value / PREFERRED_BPM) / WIDTH_OCTAVES) ** 2) / 2);
