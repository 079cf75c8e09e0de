import { describe, expect, test } from 'vitest';
import { listenAtLines } from '../../../src/core/listen/at-lines.js';
import { findOnsets } from '../../../src/core/listen/onsets.js';
import { correlationAtLines } from '../../../src/core/seam/correlation.js';
import { crossfadeTables } from '../../../src/core/seam/crossfade.js';
import { decideSeam } from '../../../src/core/seam/decide.js';
import { hearSeam } from '../../../src/core/seam/hear.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { playLoop } from '../../support/loop-player.js';
import { pluckedString, seededNoise, signal } from '../../support/tones.js';

/** A bar of 4/4 at 150 is the count-in, one is the body, one comes after it. */
const BEAT_SECONDS = 0.4;
const BEATS = 4;
const ROUNDS = 3;

/** Listens, decides and plays: all that lies between a recording and what is heard. */
function looped(rate: number, sound: (seconds: number) => number, playedOn: boolean | null, pickupMarked = false) {
  const beatFrames = Math.round(BEAT_SECONDS * rate);
  const bodyStart = BEATS * beatFrames;
  const bodyFrames = BEATS * beatFrames;
  // Second 0 is the line at the body's start.
  const samples = signal(3 * BEATS * beatFrames, (i) => sound((i - bodyStart) / rate));
  const body = {
    bodyStart: frames(bodyStart),
    bodyFrames: frames(bodyFrames),
    lead: frames(bodyStart),
    tail: frames(BEATS * beatFrames),
  };
  const heard = listenAtLines(samples, body, frames(beatFrames), sampleRate(rate));
  const correlation = correlationAtLines(samples, body, sampleRate(rate));
  const given = { rate, beatFrames, lead: body.lead, tail: body.tail, correlation, playedOn, pickupMarked };
  const seam = decideSeam({ ...heard, ...given });
  return { samples, bodyStart, bodyFrames, seam, out: playLoop(samples, bodyStart, bodyFrames, seam, ROUNDS), rate };
}

/** Milliseconds from each beat's place to the onset that was heard there; NaN where none or two were. */
function heardAtBeats({ out, rate }: ReturnType<typeof looped>): number[] {
  const onsets = findOnsets(Float32Array.from(out), sampleRate(rate)).map(({ frame }) => frame / rate);
  return Array.from({ length: BEATS * ROUNDS - 1 }, (_, k) => {
    const beat = (k + 1) * BEAT_SECONDS;
    const near = onsets.filter((onset) => Math.abs(onset - beat) < BEAT_SECONDS / 2);
    return near.length === 1 ? ((near[0] ?? NaN) - beat) * 1000 : NaN;
  });
}

function largestStep(samples: Float32Array | Float64Array): number {
  let largest = 0;
  for (let i = 1; i < samples.length; i++) {
    largest = Math.max(largest, Math.abs((samples[i] ?? 0) - (samples[i - 1] ?? 0)));
  }
  return largest;
}

const rms = (samples: Float64Array): number => Math.sqrt(samples.reduce((sum, x) => sum + x * x, 0) / samples.length);

/** From which beat before which beat was played, and whether the player is known to have gone on. */
const played = [
  [-4, 8, true],
  [0, 5, false],
  [0, 8, true],
  [0, 4, false],
  [0, 4, null],
] as const;

const tuned = new Map<number, ((seconds: number) => number)[]>();

function stringsAt(rate: number): ((seconds: number) => number)[] {
  const strings = tuned.get(rate) ?? [110, 220, 330, 440].map((hertz) => pluckedString(rate, hertz));
  tuned.set(rate, strings);
  return strings;
}

/** Quarter notes, all off the beat by so many milliseconds, from beat `first` to before beat `last`; a quiet room. */
function quarters(rate: number, offset: number, first: number, last: number): (seconds: number) => number {
  const noise = seededNoise(21);
  const strings = stringsAt(rate);
  return (seconds) => {
    const beats = (seconds - offset / 1000) / BEAT_SECONDS;
    const beat = Math.floor(beats + 1e-9);
    const struck = beat >= first && beat < last ? strings[beat & 3] : undefined;
    return 0.0003 * noise() + (struck?.((beats - beat) * BEAT_SECONDS) ?? 0);
  };
}

describe.each([44_100, 48_000, 96_000])('quarter notes at %i frames a second', (rate) => {
  test.each(rate === 48_000 ? [-40, -30, -20, -10, -5, -2, 0, 2, 5, 10, 20, 40] : [-40, -10, 0, 20])(
    'played %i ms off the beat are each heard once, where they were played, at every round',
    (offset) => {
      for (const [first, last, playedOn] of rate === 48_000 ? played : played.slice(0, 2)) {
        const heard = heardAtBeats(looped(rate, quarters(rate, offset, first, last), playedOn));
        for (const error of heard) expect(Math.abs(error - offset)).toBeLessThan(1.5);
      }
    },
  );

  test.each([-30, -5, 0, 20])('%i ms off the beat, the attack at the line is whole: sample for sample', (offset) => {
    const { samples, bodyStart, bodyFrames, out } = looped(rate, quarters(rate, offset, -4, 8), true);
    const from = Math.round((offset * rate) / 1000);
    for (let i = from; i < from + Math.round(rate / 50); i++) {
      expect(out[bodyFrames + i]).toBe(samples[bodyStart + i]);
    }
  });

  test('nothing steps farther than the material itself does', () => {
    for (const offset of [-30, 0, 15]) {
      const { samples, out } = looped(rate, quarters(rate, offset, -4, 8), true);
      expect(largestStep(out)).toBeLessThanOrEqual(largestStep(samples));
    }
  });
});

describe('held sounds', () => {
  const rate = 48_000;

  test('a tone whose period divides the loop comes out as if it had never been cut, to 1e-6', () => {
    // 1.6 s hold 352 and 1,600 periods.
    const tone = (t: number) => 0.5 * Math.sin(2 * Math.PI * 220 * t) + 0.2 * Math.sin(2 * Math.PI * 1000 * t);
    const { out, seam } = looped(rate, tone, true);
    expect(seam.kind).toBe('crossfade');
    expect(seam.fadeInShape).toBeCloseTo(1, 6);
    // The last end has nothing to fade into.
    const error = out.subarray(0, -seam.fadeOutFrames).map((sample, i) => Math.abs(sample - tone(i / rate)));
    expect(error.reduce((largest, each) => Math.max(largest, each))).toBeLessThan(1e-6);
  });

  test('a tone whose period does not is faded without a click: steps grow by no more than the slope of the fade', () => {
    for (const hertz of [110.1, 196.13, 329.7, 440.2]) {
      const { out, samples, seam } = looped(rate, (seconds) => 0.5 * Math.sin(2 * Math.PI * hertz * seconds), true);
      expect(seam.kind).toBe('crossfade');
      // No matched curve is steeper than 1.62 / X (unrelated signals, x = 0.36), and two of them move.
      expect(largestStep(out)).toBeLessThanOrEqual(largestStep(samples) + (2 * 0.5 * 1.62) / seam.fadeInFrames);
    }
  });

  test('a vibrato tone and a noise bed have no attacks: they are crossfaded, played on or not known', () => {
    const noise = seededNoise(5);
    const vibrato = (seconds: number) =>
      0.3 * Math.sin(2 * Math.PI * 440 * seconds + 2.4 * Math.sin(2 * Math.PI * 5.5 * seconds));
    for (const playedOn of [true, null]) {
      expect(looped(rate, vibrato, playedOn).seam).toMatchObject({ kind: 'crossfade', tailFrames: 0 });
      expect(looped(rate, () => 0.1 * noise(), playedOn).seam).toMatchObject({ kind: 'crossfade', tailFrames: 0 });
    }
  });

  test('a noise bed keeps its level through the seam within ±1 dB', () => {
    const sums = new Float64Array(10);
    const beds = 30;
    for (let bed = 0; bed < beds; bed++) {
      const noise = seededNoise(bed);
      const { out, bodyFrames } = looped(rate, () => Math.sqrt(3) * 0.1 * noise(), true);
      sums.forEach((_, k) => {
        for (const round of [1, 2]) {
          const from = round * bodyFrames - 480 + 48 * k;
          sums[k] = (sums[k] ?? 0) + rms(out.subarray(from, from + 48)) ** 2 / (2 * beds);
        }
      });
    }
    for (const power of sums) expect(Math.abs(10 * Math.log10(power / 0.01))).toBeLessThan(1);
  });
});

describe('a chord struck on the last beat', () => {
  const rate = 48_000;
  const noise = seededNoise(8);
  const strings = [110, 164.8, 220].map((hertz) => pluckedString(rate, hertz, 1.2, 3));
  const chord = (seconds: number) => strings.reduce((sum, string) => sum + string(seconds - 1.2), 0.0003 * noise());

  test.each([false, null])('by a player who then stopped (told: %s) rings on over the next round', (playedOn) => {
    const { out, seam, bodyFrames, samples, bodyStart } = looped(rate, chord, playedOn);
    expect(seam.kind).toBe('let-ring');
    expect(seam.tailFrames).toBeGreaterThan(3 * BEAT_SECONDS * rate);
    const beat = BEAT_SECONDS * rate;
    // Nothing else sounds on the first beats: on the first of the next round it is the tail, sample for sample.
    const heard = out.subarray(bodyFrames, bodyFrames + beat);
    const tail = samples.subarray(bodyStart + bodyFrames, bodyStart + bodyFrames + beat);
    expect(Math.max(...heard.map((x, i) => Math.abs(x - (tail[i] ?? 0))))).toBeLessThan(0.001);
    expect(largestStep(out)).toBeLessThanOrEqual(1.01 * largestStep(samples));
    // The first time round, nothing rings before it was played.
    expect(rms(out.subarray(0, rate))).toBeLessThan(0.001);
  });

  test.each([
    ['after 4 s, since no more was recorded', 4, Infinity],
    ['after 2.5 s, where a chair creaks', 6, 2.5],
  ])('that rings for long is not heard to be cut: %s', (_why, tailSeconds, creaksAt) => {
    // It falls by 4.6 dB in a second, and is 18 dB or 11 dB down where it ends.
    const creak = pluckedString(rate, 900, 0.02);
    const tone = (seconds: number) => (seconds < 0 ? 0 : 0.3 * Math.exp(-0.53 * seconds) * Math.sin(1382 * seconds));
    const beat = rate * BEAT_SECONDS;
    const bodyFrames = frames(4 * beat);
    const samples = signal(bodyFrames + tailSeconds * rate, (i) => {
      const seconds = i / rate;
      return tone(seconds - 1.2) + 0.2 * creak(seconds - 1.6 - creaksAt);
    });
    const body = { bodyStart: frames(0), bodyFrames, lead: frames(0), tail: frames(tailSeconds * rate) };
    const wish = { chosen: null, pickup: false };
    const seam = hearSeam(samples, body, frames(beat), sampleRate(rate), wish, null);
    expect(seam.kind).toBe('let-ring');
    const { fadeOut } = crossfadeTables(seam.fadeOutFrames, seam.fadeOutShape);
    const fades = bodyFrames + seam.tailFrames - seam.fadeOutFrames;
    const out = Float64Array.from(samples, (sample, i) => sample * (i < fades ? 1 : (fadeOut[i - fades] ?? 0)));
    const level = (from: number) => 20 * Math.log10(rms(out.subarray(from, from + 960)));
    const atLine = level(bodyFrames - 960);
    const levels = Array.from({ length: Math.floor(seam.tailFrames / 960) }, (_, k) => level(bodyFrames + 960 * k));
    const heard = levels.filter((each) => each > atLine - 40);
    // Nothing is heard to end: it falls by 4 dB in 20 ms at most, until it is 40 dB down.
    for (const [k, each] of heard.entries()) expect((heard[k - 1] ?? atLine) - each).toBeLessThan(4);
    expect(heard.at(-1)).toBeLessThan(atLine - 25);
  });

  test('by a player who went on is crossfaded', () => {
    expect(looped(rate, chord, true).seam).toMatchObject({ kind: 'crossfade', tailFrames: 0 });
  });
});

describe('rests and noises', () => {
  const rate = 48_000;

  test('a rest on both sides is crossfaded from room to room', () => {
    const { seam } = looped(rate, quarters(rate, 0, 1, 3), null);
    expect(seam).toMatchObject({ kind: 'crossfade', leadFrames: 480, tailFrames: 0 });
  });

  test('a chair that creaks in the count-in is not led in: at most 2 ms of it, under the fade', () => {
    const creak = pluckedString(rate, 900, 0.02);
    const playing = quarters(rate, 3, 0, 8);
    const { seam } = looped(rate, (seconds) => playing(seconds) + 0.02 * creak(seconds + 0.03), true);
    expect(seam).toMatchObject({ kind: 'crossfade', leadFrames: 96, fadeInFrames: 96 });
  });

  test('a marked pickup is heard over the end, once at every round', () => {
    const pickup = pluckedString(rate, 550, 0.1);
    const playing = quarters(rate, 0, 0, 3);
    const loop = looped(rate, (seconds) => playing(seconds) + pickup(seconds + 0.2), false, true);
    expect(loop.seam.kind).toBe('pickup');
    expect(loop.seam.mayOverlap).toBe(true);
    const onsets = findOnsets(Float32Array.from(loop.out), sampleRate(rate)).map(({ frame }) => frame / rate);
    for (const line of [1.6, 3.2])
      expect(onsets.filter((onset) => Math.abs(onset - line + 0.2) < 0.002)).toHaveLength(1);
  });
});
