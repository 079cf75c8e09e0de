import { describe, expect, test } from 'vitest';
import type { EngineReport } from '../../../src/core/render/commands.js';
import { frames, gain } from '../../../src/core/units/index.js';
import { Performance } from '../../support/performance.js';
import { rowProgram } from '../../support/row-programs.js';

const LENGTH = 1023;
const LISTENS = 9000;

/** Noise of ±level, never alike over its length: what a probe is. */
const noise = (seed: number): Float32Array<ArrayBuffer> => {
  let state = seed;
  return Float32Array.from({ length: LENGTH }, () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state >>> 31 === 1 ? 0.03 : -0.03;
  });
};

/** A player who holds the earpiece to the microphone: what is mixed comes in a round trip later. */
function loop(options: ConstructorParameters<typeof Performance>[0] = {}): Performance {
  const p = new Performance(options);
  p.useProgram(rowProgram({ grid: { rate: 48_000, barFrames: 24_000, pulses: 4, beats: 0b1111 }, voices: [] }));
  p.play = (heard) => p.left[heard] ?? 0;
  p.playOn = (channel, heard) => -0.5 * channel * (p.left[heard] ?? 0);
  return p;
}

const sendProbe = (p: Performance, listens = LISTENS): void => {
  p.handle({ type: 'send-probe', samples: noise(7), heard: new Float32Array(listens * p.channels) });
};
const refusals = (p: Performance): string[] =>
  p.all('refused').flatMap(({ command, why }) => (command === 'send-probe' ? [why] : []));

function heardIn(p: Performance): Extract<EngineReport, { type: 'probe-heard' }> {
  const before = p.all('probe-heard').length;
  const limit = p.rendered + 100_000;
  while (p.all('probe-heard').length === before && p.rendered < limit) p.runUntil(p.rendered + 1);
  return p.last('probe-heard');
}

describe('a probe', () => {
  test.each([
    // Nothing comes back sooner than a block and the limiter's look-ahead.
    [230, 128],
    [100, 1],
    [4928, 128],
    [7001, 2048],
    [600, 441],
  ])('comes back to the bit a round trip of %i frames after it was sent, in blocks of %i', (roundTrip, block) => {
    const p = loop({ roundTrip, blockSize: () => block, channels: 2 });
    p.runUntil(5000);
    sendProbe(p);
    const { at, frames: listened, channels, buffer } = heardIn(p);
    expect([listened, channels, buffer.length]).toEqual([LISTENS, 2, 2 * LISTENS]);
    const [first, second] = [buffer.subarray(0, LISTENS), buffer.subarray(LISTENS)];
    expect(p.left.slice(at, at + LENGTH)).toEqual(noise(7));
    expect(first.slice(roundTrip, roundTrip + LENGTH)).toEqual(noise(7));
    expect(second.slice(roundTrip, roundTrip + LENGTH)).toEqual(noise(7).map((sample) => -0.5 * sample));
    expect(first.subarray(0, roundTrip).every((sample) => sample === 0)).toBe(true);
  });

  test('leaves the house alone', () => {
    const p = loop();
    sendProbe(p);
    heardIn(p);
    expect(p.house.every((sample) => sample === 0)).toBe(true);
  });

  test('can be sent again once it has been heard, and not before', () => {
    const p = loop();
    sendProbe(p);
    sendProbe(p);
    expect(refusals(p)).toEqual(['still-measuring']);
    heardIn(p);
    sendProbe(p);
    heardIn(p);
    expect(p.all('probe-heard')).toHaveLength(2);
  });

  test('is not sent while something plays, nor into its fading end', () => {
    const p = loop();
    p.rules(2);
    p.handle({ type: 'play', heard: frames(p.heard) });
    p.runUntil(p.rendered + 20_000);
    sendProbe(p);
    p.handle({ type: 'stop', heard: frames(p.heard) });
    sendProbe(p);
    expect(refusals(p)).toEqual(['still-playing', 'still-playing']);
    p.runUntil(p.rendered + 20_000);
    sendProbe(p);
    heardIn(p);
    expect(refusals(p)).toHaveLength(2);
  });

  test('is not sent while the input is in the player’s ears: it would come back for ever', () => {
    const p = loop();
    p.handle({ type: 'set-monitor', on: true, gain: gain(1) });
    sendProbe(p);
    expect(refusals(p)).toEqual(['monitor-is-on']);
  });

  test('ends when something is to be heard', () => {
    const p = loop();
    p.rules(2);
    sendProbe(p, 48_000);
    p.runUntil(p.rendered + 400);
    p.handle({ type: 'press', heard: frames(p.heard) });
    p.runUntil(p.rendered + 60_000);
    expect(p.all('probe-dropped')).toHaveLength(1);
    expect(p.all('probe-heard')).toHaveLength(0);
  });
});
