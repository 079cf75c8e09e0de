import { describe, expect, test } from 'vitest';
import type { EngineCommand, EngineReport } from '../../src/core/render/commands.js';
import { hearSeam } from '../../src/core/seam/hear.js';
import type { Seam } from '../../src/core/seam/seam.js';
import { frames, sampleRate } from '../../src/core/units/index.js';
import { Openings } from '../../src/rehearsal/openings.js';
import { noiseAt, strokes } from '../support/signals.js';

const RATE = sampleRate(48_000);
const BEAT = 24_000;
const BAR = 4 * BEAT;
const MS = 48;
/** The recording begins two beats and a quarter of a second before a line at capture frame 100,000. */
const LINE = 100_000;
const ROUND_TRIP = 5000;
const STARTS = LINE - 2 * BEAT - 12_000;
const PIECE = 4096;

type Begun = Extract<EngineReport, { type: 'pass-begun' }>;

const begun = (more: Partial<Begun> = {}): Begun => ({
  type: 'pass-begun',
  at: frames(LINE - ROUND_TRIP),
  pass: 3,
  audio: 1,
  channels: [0],
  replaces: null,
  roundTrip: { frames: frames(ROUND_TRIP), how: 'measured', sure: true },
  ...more,
});

/** Openings that hear a recording; `play` is channel by channel what came in at a frame from the line. */
function listener(...play: ((frame: number) => number)[]) {
  const sent: Extract<EngineCommand, { type: 'set-opening' }>[] = [];
  const openings = new Openings(RATE, (command) => {
    if (command.type === 'set-opening') sent.push(command);
  });
  openings.started({ type: 'recording-started', audio: 1, at: frames(STARTS), channels: play.length });
  let next = STARTS;
  /** Brings what came in before a frame from the line, in whole pieces. */
  const bring = (until: number): void => {
    for (; next + PIECE <= LINE + until; next += PIECE) {
      const buffer = new Float32Array(play.length * PIECE);
      play.forEach((channel, c) => {
        for (let i = 0; i < PIECE; i++) buffer[c * PIECE + i] = channel(next + i - LINE);
      });
      const start = frames(next - STARTS);
      openings.captured({ type: 'captured', audio: 1, start, frames: frames(PIECE), channels: play.length, buffer });
    }
  };
  return { openings, sent, bring };
}

const room = (frame: number): number => 0.0003 * noiseAt(frame, 9);
const struckAt = (...onsets: number[]) => {
  const struck = strokes(onsets, { level: 0.4, decay: 3000 });
  return (frame: number): number => Math.fround(struck(frame) + room(frame));
};
const early = struckAt(-30 * MS, BEAT, 2 * BEAT, 3 * BEAT);
const late = struckAt(5 * MS, BEAT, 2 * BEAT, 3 * BEAT);

describe('how a pass opens', () => {
  test('is told once 60 ms of it have come in, and only anew where it is heard otherwise', () => {
    const { openings, sent, bring } = listener(early);
    openings.begun(begun(), frames(BEAT));
    bring(60 * MS);
    expect(sent).toEqual([]);
    bring(60 * MS + PIECE);
    expect(sent).toMatchObject([{ voice: 3, opening: { kind: 'early-attack', leadFrames: 35 * MS } }]);
    bring(BAR);
    expect(sent).toHaveLength(1);
    expect(openings.take(3)).toEqual([sent[0]?.opening]);
    expect(openings.take(3)).toEqual([]);
  });

  test.each<[string, (frame: number) => number]>([
    ['an attack early at the line', early],
    ['an attack behind it', late],
    ['a pickup, which is not led in unless it is marked', struckAt(-BEAT, 3 * MS, BEAT)],
    ['a note that sounds over the line', (frame) => 0.2 * Math.sin(0.05 * frame)],
    ['nothing at all', () => 0],
  ])('is what the whole seam says of it in the end: %s', (_what, play) => {
    const { openings, sent, bring } = listener(play);
    openings.begun(begun(), frames(BEAT));
    bring(BAR);
    const opening = sent.at(-1)?.opening;
    const samples = Float32Array.from({ length: LINE - STARTS + BAR }, (_, i) => play(i + STARTS - LINE));
    const body = {
      bodyStart: frames(LINE - STARTS),
      bodyFrames: frames(BAR),
      lead: frames(LINE - STARTS),
      tail: frames(0),
    };
    const seam: Seam = hearSeam(samples, body, frames(BEAT), RATE, { chosen: null, pickup: false }, true);
    // How alike both sides are is not known before the end is.
    expect(opening).toEqual({ ...seam, fadeInShape: opening?.fadeInShape, fadeOutShape: opening?.fadeOutShape });
  });

  test('where a breath comes first, is a breath as soon as the body is loud enough to say so', () => {
    const breath = strokes([-20 * MS], { level: 0.004, decay: 800 });
    const note = struckAt(20 * MS + PIECE * 2, BEAT, 2 * BEAT);
    const { openings, sent, bring } = listener((frame) => Math.fround(breath(frame) + note(frame)));
    openings.begun(begun(), frames(BEAT));
    bring(BAR);
    expect(sent.map(({ opening }) => opening.kind)).toEqual(['early-attack', 'crossfade']);
    expect(sent.at(-1)?.opening.leadFrames).toBeLessThanOrEqual(480);
  });

  test('is heard on each channel by itself', () => {
    const { openings, sent, bring } = listener(late, room, early);
    openings.begun(begun({ channels: [2, 0] }), frames(BEAT));
    bring(BAR);
    const last = (voice: number) => sent.findLast((command) => command.voice === voice)?.opening.kind;
    expect([last(3), last(4)]).toEqual(['early-attack', 'crossfade']);
    expect(openings.take(3).map((opening) => opening?.kind)).toEqual(['early-attack', 'crossfade']);
  });

  test('is heard at once where the pass was begun after it had been played', () => {
    const { openings, sent, bring } = listener(struckAt(-30 * MS, BAR - 20 * MS, BAR + BEAT));
    openings.begun(begun(), frames(BEAT));
    bring(BAR + BEAT / 2);
    openings.begun(begun({ pass: 4, at: frames(LINE + BAR - ROUND_TRIP) }), frames(BEAT));
    expect(sent.at(-1)).toMatchObject({ voice: 4, opening: { kind: 'early-attack', leadFrames: 25 * MS } });
  });

  test('is not told where what came before it is held no longer', () => {
    const { openings, sent, bring } = listener(early);
    openings.begun(begun(), frames(BEAT));
    bring(5 * BAR);
    const before = sent.length;
    openings.begun(begun({ pass: 4 }), frames(BEAT));
    expect(sent).toHaveLength(before);
    expect(openings.take(4)).toEqual([null]);
  });

  test('of a pass that was dropped is told no more, nor that of a recording that has ended', () => {
    const { openings, sent, bring } = listener(early);
    openings.begun(begun(), frames(BEAT));
    openings.begun(begun({ pass: 4 }), frames(BEAT));
    openings.take(3);
    bring(60 * MS + PIECE);
    expect(sent.map(({ voice }) => voice)).toEqual([4]);
    openings.ended({ type: 'recording-ended', audio: 1, frames: frames(BAR) });
    expect(openings.take(4)).toEqual([]);
  });
});
