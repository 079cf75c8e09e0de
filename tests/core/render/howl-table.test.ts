/** What the guard finds and what it leaves alone, in figures: feedback by loop gain and delay, and what players play. */
import { describe, expect, test } from 'vitest';
import { HowlGuard } from '../../../src/core/render/howl-guard.js';
import { frames, sampleRate } from '../../../src/core/units/index.js';
import { feedback } from '../../support/feedback.js';
import type { Played } from '../../support/played.js';
import { noiseCrescendo, string, sung, swellBy, swellLinear, swollenSine, whistle } from '../../support/played.js';

const RATE = 48_000;
const HERTZ = [150, 400, 1000, 2500, 6000];

describe('feedback', () => {
  // Round trip in s, loop gain in dB, quality of the resonance, seconds at full scale until it is silenced, at most.
  test.each([
    [0.03, 4, 5, 0.1],
    [0.03, 6, 5, 0.4],
    [0.03, 12, 5, 0.5],
    [0.03, 4, 2, 0.5],
    [0.03, 12, 2, 0.6],
    [0.1, 2, 5, 0.8],
    [0.1, 4, 5, 0.6],
    [0.1, 12, 5, 0.6],
    [0.1, 4, 2, 2],
    [0.1, 12, 2, 2],
    [0.44, 4, 5, 1.5],
    [0.44, 6, 5, 1],
    [0.44, 12, 5, 1],
    [0.44, 6, 2, 1.5],
    [0.44, 12, 2, 4],
  ])(
    'of %d s, %i dB over what dies out, resonance of Q %i: silent within %d s of full scale',
    (roundTrip, loopGain, q, within) => {
      for (const hertz of HERTZ) {
        const { silencedAt, loudFor } = feedback({ roundTrip, loopGain, q, hertz });
        expect(silencedAt, `${hertz} Hz`).not.toBeNull();
        expect(loudFor, `${hertz} Hz`).toBeLessThanOrEqual(within);
      }
    },
  );

  test.each([0.03, 0.1, 0.44])('of %d s that dies out by 1 dB a round is no howl', (roundTrip) => {
    for (const hertz of HERTZ) {
      expect(feedback({ roundTrip, loopGain: -1, hertz, seconds: 8, room: 0.003 }).toldAt).toBeNull();
    }
  });

  test('is found under singing, though it must drown it first', () => {
    const singer = sung('a', { hertz: 220, level: 0.2 });
    const { silencedAt, loudFor } = feedback({
      roundTrip: 0.05,
      loopGain: 3,
      hertz: 2500,
      player: (second) => singer(Math.round(second * RATE)),
    });
    expect(silencedAt).not.toBeNull();
    expect(loudFor).toBeLessThanOrEqual(0.8);
  });

  test('is found where the round trip was believed to be 45 ms shorter than it is', () => {
    const found = feedback({ roundTrip: 0.105, believedRoundTrip: 0.06, loopGain: 6, hertz: 1000 });
    expect(found.toldAt).not.toBeNull();
  });

  test('is reported when the silence has shown it: a round trip and a quarter of a second later, in whole windows', () => {
    const { silencedAt, toldAt } = feedback({ roundTrip: 0.1, loopGain: 6, hertz: 1000 });
    const checked = (toldAt ?? 0) - (silencedAt ?? 0);
    expect(checked).toBeGreaterThan(0.3);
    expect(checked).toBeLessThan(0.41);
  });

  test.each([44_100, 96_000])('is found at %i frames a second', (rate) => {
    const found = feedback({ rate, roundTrip: 0.06, loopGain: 4, hertz: 1500, seconds: 6 });
    expect(found.loudFor).toBeLessThanOrEqual(0.6);
    expect(found.toldAt).not.toBeNull();
  });
});

describe('what is played is left alone', () => {
  const players: [string, Played][] = [
    ...[600, 1800, 3000].flatMap((hertz): [string, Played][] => [
      [`a whistled ${hertz} Hz`, whistle({ hertz })],
      [`a whistled ${hertz} Hz with a slow attack`, whistle({ hertz, attack: 0.3 })],
      [`a loud whistled ${hertz} Hz`, whistle({ hertz, level: 0.8 })],
      [`a whistled ${hertz} Hz that swells by 20 dB`, whistle({ hertz, swell: swellBy(20) })],
      [
        `a straight whistled ${hertz} Hz that swells`,
        whistle({ hertz, swell: swellLinear, vibrato: 0, jitter: 0.001 }),
      ],
    ]),
    ...[110, 220, 440, 700].flatMap((hertz) =>
      (['a', 'i', 'u'] as const).flatMap((vowel): [string, Played][] => [
        [`a sung ${vowel} of ${hertz} Hz`, sung(vowel, { hertz })],
        [
          `a straight sung ${vowel} of ${hertz} Hz that swells by 20 dB`,
          sung(vowel, { hertz, swell: swellBy(20), vibrato: 0 }),
        ],
      ]),
    ),
    ...[41.2, 55, 82.4, 98].map((hertz): [string, Played] => [
      `a bass note of ${hertz} Hz`,
      string(hertz, { decay: 2, every: 2, level: 0.7 }),
    ]),
    ...[82.4, 196, 330, 660, 1000].flatMap((hertz): [string, Played][] => [
      [`a guitar note of ${hertz} Hz with a long sustain`, string(hertz, { decay: 8, every: 5 })],
      [`a dark guitar note of ${hertz} Hz, turned up`, string(hertz, { decay: 30, every: 3, attack: 1, dark: 2 })],
    ]),
    ...[10, 30, 100].flatMap((rate): [string, Played][] => [
      [`noise that grows by ${rate} dB a second`, noiseCrescendo(rate, null)],
      [
        `a third of an octave of noise that grows by ${rate} dB a second`,
        noiseCrescendo(rate, { hertz: 1000, q: 4.3 }),
      ],
    ]),
    ...[0.05, 0.2, 1].flatMap((attack): [string, Played][] => [
      [`a sine of 1 kHz that rises in ${attack} s`, swollenSine(1000, attack, (part) => part)],
      [`a sine of 440 Hz that rises as a square in ${attack} s`, swollenSine(440, attack, (part) => part ** 2)],
    ]),
  ];

  test.each(players)('%s', (_name, played) => {
    const samples = Float32Array.from({ length: 5 * RATE }, (_, frame) => Math.max(-1, Math.min(1, played(frame))));
    for (const roundTrip of [1440, 21_000]) {
      const guard = new HowlGuard(sampleRate(RATE));
      guard.setRoundTrip(frames(roundTrip));
      const silenced = samples.findIndex((sample) => guard.push(sample) !== 'nothing');
      expect(silenced).toBe(-1);
    }
  });
});
