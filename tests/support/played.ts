/**
 * What players send into a microphone, synthesised: whistles, voices, strings, swells and noises, each as a function of
 * the frame, called in order. Levels, jitter and vibrato are of the order that tuners and level meters show for such
 * sounds (common practice, no source).
 */
import { bandPass } from './feedback.js';
import { seededNoise } from './tones.js';

export type Played = (frame: number) => number;
/** Level at a part 0 … 1 of the note. */
type Swell = (part: number) => number;

const RATE = 48_000;
const TURN = 2 * Math.PI;
/** Noise of the room in every recording, peak. */
const ROOM = 3e-4;

/** From so many decibels down up to 0, in a straight line of decibels. */
export const swellBy =
  (decibels: number): Swell =>
  (part) =>
    10 ** ((-decibels * (1 - part)) / 20);
/** In a straight line of amplitude. */
export const swellLinear: Swell = (part) => 0.05 + 0.95 * part;
const even: Swell = () => 1;

export interface Note {
  readonly hertz: number;
  readonly level?: number;
  readonly attack?: number;
  readonly seconds?: number;
  readonly swell?: Swell;
  /** Part of the frequency. */
  readonly vibrato?: number;
  readonly jitter?: number;
}

/** Nearly one sine, with a breath round it; again and again with half a second between. */
export function whistle({
  hertz,
  level = 0.3,
  attack = 0.1,
  seconds = 2,
  swell = even,
  vibrato = 0.008,
  jitter = 0.01,
}: Note): Played {
  const noise = seededNoise(hertz);
  const breath = bandPass(RATE, hertz, 4);
  let phase = 0;
  let drift = 0;
  return (frame) => {
    const at = (frame / RATE) % (seconds + 0.5);
    const envelope = at < seconds ? Math.min(1, at / attack) * swell(at / seconds) : fall(at - seconds, 0.08);
    drift += (noise() * jitter - drift) * 0.004;
    phase += (TURN * hertz * (1 + 4 * drift + vibrato * Math.sin(TURN * 5.2 * at))) / RATE;
    const tone = Math.sin(phase) + 0.03 * Math.sin(2 * phase);
    return level * (envelope * tone + 0.06 * (0.1 + envelope) * breath(noise())) + ROOM * noise();
  };
}

const VOWELS = {
  a: [
    [700, 5],
    [1200, 8],
    [2600, 12],
  ],
  i: [
    [300, 5],
    [2300, 10],
    [3000, 12],
  ],
  u: [
    [320, 5],
    [800, 8],
    [2300, 12],
  ],
} as const;
export type Vowel = keyof typeof VOWELS;

/** Partials under the resonances of a vowel (frequencies as in any phonetics primer; from memory). */
export function sung(
  vowel: Vowel,
  { hertz, level = 0.3, attack = 0.06, seconds = 2, swell = even, vibrato = 0.01, jitter = 0.003 }: Note,
): Played {
  const noise = seededNoise(hertz + vowel.charCodeAt(0));
  const partials = Array.from({ length: Math.min(20, Math.floor(6000 / hertz)) }, (_, index) => {
    const partial = index + 1;
    let sum = 0.02;
    for (const [formant, q] of VOWELS[vowel]) {
      const off = (hertz * partial) / formant - formant / (hertz * partial);
      sum += 1 / Math.sqrt(1 + (q * off) ** 2);
    }
    return sum / partial;
  });
  const scale = level / (0.6 * partials.reduce((sum, each) => sum + each, 0));
  let phase = 0;
  let drift = 0;
  return (frame) => {
    const at = (frame / RATE) % (seconds + 0.3);
    const envelope = at < seconds ? Math.min(1, at / attack) * swell(at / seconds) : swell(1) * fall(at - seconds, 0.1);
    drift += (noise() * jitter - drift) * 0.002;
    phase += (TURN * hertz * (1 + 3 * drift + vibrato * Math.sin(TURN * 5.5 * at))) / RATE;
    let sum = 0;
    for (let k = 0; k < partials.length; k++) sum += (partials[k] ?? 0) * Math.sin((k + 1) * phase + k * k);
    return scale * envelope * sum + ROOM * noise();
  };
}

/** A struck string, again and again; `dark` makes high partials die sooner, `attack` turns it up as a pedal does. */
export function string(hertz: number, { decay = 4, every = 4, level = 0.5, attack = 0.002, dark = 0.25 } = {}): Played {
  const noise = seededNoise(hertz);
  const count = Math.min(16, Math.floor(12_000 / hertz));
  return (frame) => {
    const at = (frame / RATE) % every;
    let sum = 0;
    for (let k = 1; k <= count; k++) {
      const stretched = hertz * k * Math.sqrt(1 + 0.0001 * k * k);
      sum += (Math.sin(TURN * stretched * at + k) * Math.exp((-at / decay) * (1 + dark * k))) / k;
    }
    return 0.5 * level * sum * Math.min(1, at / attack) + ROOM * noise();
  };
}

/** One sine that rises as `shape` says in `attack` seconds and is held for two. */
export function swollenSine(hertz: number, attack: number, shape: Swell, level = 0.5): Played {
  const noise = seededNoise(hertz);
  return (frame) => {
    const at = (frame / RATE) % (attack + 2.5);
    const envelope = at < attack + 2 ? shape(Math.min(1, at / attack)) : fall(at - attack - 2, 0.05);
    return level * envelope * Math.sin(TURN * hertz * at) + ROOM * noise();
  };
}

/** Noise that grows by so many decibels a second, from −60 to full scale; in a band if one is given. */
export function noiseCrescendo(rate: number, band: { readonly hertz: number; readonly q: number } | null): Played {
  const noise = seededNoise(Math.round(rate) + 77);
  const filter = band === null ? (sample: number) => sample : bandPass(RATE, band.hertz, band.q);
  const loudness = band === null ? 1 : 3;
  return (frame) => {
    const at = (frame / RATE) % (60 / rate);
    return 10 ** ((rate * at - 60) / 20) * loudness * filter(noise());
  };
}

const fall = (since: number, seconds: number): number => Math.max(0, 1 - since / seconds);
