/** A made-up song and a player who doubles it: the same notes at the same beats, by hand and on another instrument. */
import { pluckedString, seededNoise } from '../../support/tones.js';
import { gaussian, through } from './paths.js';

const RATE = 48_000;
const NOTES = [98, 147, 123.5, 196, 110, 165, 130.8, 98];

/** Plucks at every half second, with or without a stick on every beat. */
export function song(seconds: number, { drums = true, seed = 1 } = {}): Float32Array {
  const out = plucks(seconds, NOTES, () => 0, 1);
  const noise = seededNoise(seed);
  if (drums) {
    for (let beat = 0; beat < seconds * 2; beat++) {
      for (let i = 0; i < 2400 && beat * 24_000 + i < out.length; i++) {
        const at = beat * 24_000 + i;
        out[at] = (out[at] ?? 0) + 0.25 * Math.exp(-i / 500) * noise();
      }
    }
  }
  return out;
}

/** A chord that is held all the time: nothing in it begins. */
export const organ = (seconds: number): Float32Array =>
  Float32Array.from({ length: seconds * RATE }, (_, i) =>
    [98, 123.5, 147].reduce((sum, hertz) => {
      for (let k = 1; k <= 10; k++) sum += (0.08 / k) * Math.sin((2 * Math.PI * hertz * k * i) / RATE + k * k);
      return sum;
    }, 0),
  );

/** The same notes by hand: each some milliseconds off (standard deviation), at the pitch given in cents beside. */
export function doubling(seconds: number, scatterMs: number, cents: number, seed: number): Float32Array {
  const normal = gaussian(seed);
  const off = Array.from({ length: 2 * seconds }, () => (scatterMs / 1000) * normal());
  return plucks(seconds, NOTES, (note) => off[note] ?? 0, 2 ** (cents / 1200), 0.25);
}

/** What a headphone or a small loudspeaker lets into the microphone. */
export function bleedOf(sent: Float32Array, path: 'headphone' | 'room'): Float32Array {
  if (path === 'headphone') return through({ delay: 0.4, highPass: 400 }, sent, sent.length);
  const reflections = [
    { after: 31.4, gain: 0.5 },
    { after: 77.9, gain: -0.4 },
    { after: 140.2, gain: 0.3 },
    { after: 205.7, gain: 0.2 },
  ];
  return through({ delay: 3.3, highPass: 300, lowPass: 8000, order: 4, reflections }, sent, sent.length);
}

function plucks(
  seconds: number,
  notes: readonly number[],
  off: (note: number) => number,
  tune: number,
  decay = 0.3,
): Float32Array {
  const strings = new Map(notes.map((hertz) => [hertz, pluckedString(RATE, hertz * tune, decay)]));
  const out = new Float32Array(seconds * RATE);
  for (let note = 0; note < seconds * 2; note++) {
    const string = strings.get(notes[note % notes.length] ?? 0);
    const start = Math.max(0, Math.round((note / 2 + off(note)) * RATE));
    const end = Math.min(out.length, start + 48_000);
    for (let i = start; i < end; i++) out[i] = (out[i] ?? 0) + (string?.((i - start) / RATE) ?? 0);
  }
  return out;
}
