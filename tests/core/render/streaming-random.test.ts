/** Random programs from random pages, against a model so slow that it can be read: which chunk is there, frame by frame. */
import { expect, test } from 'vitest';
import fc from 'fast-check';
import { LATE_FADE_FRAMES } from '../../../src/core/render/late-gate.js';
import { CHUNK_FRAMES, SLAB_BYTES } from '../../../src/core/render/pool.js';
import { referenceFrame, referenceVoices } from '../../support/reference-mixer.js';
import type { RowVoice } from '../../support/row-programs.js';
import { falling, rising, rowProgram } from '../../support/row-programs.js';
import { StreamingPage, drawing, keyOf, sourceAt } from '../../support/streaming-page.js';

/** The lowest rate that the limiter takes: more music for the time it takes. */
const RATE = 22_050;
const GRID = { rate: RATE, barFrames: 44_100, pulses: 4, beats: 0b1111 };
const SECONDS = 9;
/** Voices that are joined under way rise for 8 ms. */
const RAMP = 200;
const PEAK = 0.01;
const source = sourceAt(PEAK);

const drawnVoice = fc.record({
  audio: fc.integer({ min: 1, max: 9 }),
  bodyStart: fc.integer({ min: 4000, max: 60_000 }),
  bodyFrames: fc.oneof(fc.integer({ min: 900, max: 9000 }), fc.integer({ min: 9000, max: 400_000 })),
  /** Between one body and the next. */
  rests: fc.oneof(fc.constant(0), fc.integer({ min: 1, max: 150_000 })),
  /** In bodies. */
  tail: fc.double({ min: -0.4, max: 2, noNaN: true }),
  lead: fc.integer({ min: 0, max: 4000 }),
  start: fc.oneof(fc.constant(0), fc.integer({ min: -400_000, max: 150_000 })),
  end: fc.option(fc.integer({ min: 1, max: 200_000 })),
  isLeftOut: fc.boolean(),
});
type Drawn = typeof drawnVoice extends fc.Arbitrary<infer T> ? T : never;

function rowOf(drawn: Drawn, id: number): RowVoice {
  const { audio, bodyStart, bodyFrames, lead, start, end } = drawn;
  const period = bodyFrames + drawn.rests;
  const tail = Math.round(drawn.tail * Math.min(bodyFrames, 30_000));
  const fade = Math.min(300, lead, bodyFrames + tail);
  return {
    id,
    audio,
    bodyStart,
    bodyFrames,
    period,
    lead,
    tail,
    start: Math.max(start, 1 - period),
    end: end ?? Infinity,
    fadeIn: rising(fade, 0),
    fadeOut: falling(fade, 0),
    left: drawn.isLeftOut && id % 3 === 0 ? 0 : 1,
  };
}

/** How many iterations of the voices that sound at a position have their chunk missing. */
function missingAt(page: StreamingPage, voices: readonly RowVoice[], position: number): number {
  let missing = 0;
  for (const voice of voices) {
    const { audio, bodyStart, bodyFrames, lead = 0, tail = 0, start = 0, end = Infinity } = voice;
    const { period = bodyFrames } = voice;
    if (voice.left === 0) continue;
    const last = Math.floor((position + lead - start) / period);
    for (let round = Math.max(0, last - 4 - Math.ceil((Math.abs(tail) + lead) / period)); round <= last; round++) {
      const into = position - start - round * period;
      if (start + round * period >= end || into < -lead || into >= bodyFrames + tail) continue;
      const frame = bodyStart + into;
      const chunk = Math.floor(frame / CHUNK_FRAMES);
      if (frame >= 0 && !page.present.has(keyOf({ audio, channel: 0, chunk }))) missing++;
    }
  }
  return missing;
}

/** Plays a program through a page that stalls once, and keeps the model's books beside it. */
function perform(
  voices: readonly RowVoice[],
  latest: number,
  sizes: readonly number[],
  stall: readonly [number, number],
) {
  const draw = drawing(latest);
  let next = 0;
  let late = 0;
  let origin = Infinity;
  let startsAt = Infinity;
  const out = new Float32Array((SECONDS + 40) * RATE);
  /** Engine frames at which something was missing, or near to it. */
  const doubtful = new Uint8Array(out.length);
  const page = new StreamingPage({
    rate: RATE,
    source,
    poolBytes: SLAB_BYTES,
    latency: () => draw(0, latest),
    blockSize: () => sizes[next++ % sizes.length]!,
    heard: (left, at) => {
      out.set(left.subarray(Math.max(0, -at)), Math.max(0, at));
    },
    before: (self, at, count) => {
      for (let frame = Math.max(startsAt, at); frame < at + count + LATE_FADE_FRAMES; frame++) {
        const missing = missingAt(self, voices, frame - origin);
        if (missing > 0) doubtful.fill(1, frame - LATE_FADE_FRAMES, frame + LATE_FADE_FRAMES + 1);
        if (frame < at + count) late += missing;
      }
    },
  });
  const program = rowProgram({ grid: GRID, voices });
  page.handle({ type: 'use-program', program });
  page.runUntilReady(1);
  page.play();
  origin = page.origin;
  startsAt = page.origin - program.leadFrames;
  page.runUntil(origin + stall[0] * RATE);
  page.stalledUntil = page.rendered + stall[1] * RATE;
  page.runUntil(origin + SECONDS * RATE);
  page.stop();
  const end = page.rendered;
  startsAt = Infinity;
  page.hearOut();
  return { page, program, late, out, doubtful, origin, end };
}

/** Frames that are not what the reference says where nothing was missing, or louder than it can be where something was. */
function wrongFrames({ program, out, doubtful, origin, end }: ReturnType<typeof perform>): number {
  const voices = referenceVoices(program, (audio) => (frame) => (frame < 0 ? 0 : source(audio, frame)));
  const parts = [{ origin, voices: voices.map((voice) => ({ ...voice, from: voice.start })) }];
  let wrong = 0;
  for (let frame = origin + RAMP; frame < end - 1000; frame++) {
    const { left, scale } = referenceFrame(parts, frame, PEAK);
    const sample = out[frame]!;
    const isRight =
      doubtful[frame] === 1 ? Math.abs(sample) <= scale * 1.0001 : Math.abs(sample - left) <= 1e-7 * scale;
    if (!isRight) wrong++;
  }
  return wrong;
}

test('what should sound sounds, what is late is counted to the frame, for any program, page and blocks', () => {
  fc.assert(
    fc.property(
      fc.array(drawnVoice, { minLength: 1, maxLength: 14 }),
      fc.integer({ min: 0, max: 0.4 * RATE }),
      fc.array(fc.integer({ min: 16, max: 400 }), { minLength: 1, maxLength: 5 }),
      fc.tuple(fc.integer({ min: 0, max: 2 }), fc.constantFrom(0, 0, 1, 6)),
      (drawn, latest, sizes, stall) => {
        const voices = drawn.map((each, index) => rowOf(each, index + 1));
        const played = perform(voices, latest, sizes, stall);
        expect(played.page.late).toBe(played.late);
        if (stall[1] === 0) expect(played.late).toBe(0);
        expect(wrongFrames(played)).toBe(0);
        expect(played.page.bytes).toBeLessThanOrEqual(SLAB_BYTES);
      },
    ),
    { numRuns: 15 },
  );
}, 240_000);
