import { describe, expect, test } from 'vitest';
import { takeInUse } from '../../src/core/song/lookups.js';
import type { Take } from '../../src/core/song/song.js';
import { bars, frames, milliseconds } from '../../src/core/units/index.js';
import type { ReferenceOrder } from '../../src/rehearsal/round-trip-view.js';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';
import { at, BAR, BEAT, countIn, roomWith, turns, type Room } from '../support/room.js';
import { strokes } from '../support/signals.js';

const RATE = 48_000;
const TRUE_TRIP = 5400;
const ESTIMATE = 5003;
const ON: ReferenceOrder = { on: true, side: 'right' };

/** Two inputs, music on the first; what leaves by an output of the device comes back on the second. */
async function cabled({
  order = ON,
  output = 1,
  library = openMemoryLibrary(),
  outputs = 2,
  inputs = 2,
} = {}): Promise<Room> {
  const room = await roomWith(library);
  const { sound, rehearsal } = room;
  Object.assign(sound, { channels: inputs, outputs, isRouted: true, roundTrip: ESTIMATE });
  rehearsal.openSound();
  await turns();
  sound.roundTrip = TRUE_TRIP;
  plugInto(room, output);
  rehearsal.useReference(order);
  sound.runUntil(RATE);
  return room;
}

function plugInto({ sound }: Room, output: number | null): void {
  sound.playOn = (channel, heard) =>
    output === null || channel !== sound.channels - 1 ? 0 : -0.5 * (sound.sent[output]?.[heard + sound.lookAhead] ?? 0);
}

/** Runs on, and lets storage keep up. */
async function runUntil({ sound, rehearsal }: Room, frame: number): Promise<void> {
  while (sound.rendered < frame) {
    sound.runUntil(Math.min(frame, sound.rendered + 24_000));
    rehearsal.position(sound.now);
    await turns();
  }
}

/** Four bars, of which a stroke begins each; from a frame after the origin on, the round trip is longer by so much. */
async function fourBars(room: Room, { stepAt = Infinity, step = 0 } = {}): Promise<number> {
  const { rehearsal, sound } = room;
  const origin = await countIn(room);
  sound.play = strokes([0, 1, 2, 3].map((bar) => origin + bar * BAR));
  if (stepAt < 4 * BAR) {
    await runUntil(room, origin + stepAt + TRUE_TRIP);
    sound.roundTrip += step;
  }
  await runUntil(room, origin + 4 * BAR - 3000);
  rehearsal.press(at(origin + 4 * BAR - 5000));
  await runUntil(room, origin + 5 * BAR + 9600);
  return origin;
}

const takeOf = ({ rehearsal }: Room): Take => takeInUse(rehearsal.snapshot.song.sections[0]!.layers[0]!);

/** Where in the recording a loud sample comes first, from a frame on. */
async function onsetIn({ library }: Room, take: Take, from: number): Promise<number> {
  const read = await library.readRecording(take.recording, take.channel, from as never, 20_000 as never);
  if (!read.ok) throw new Error(read.reason);
  return from + read.value.samples.findIndex((sample) => Math.abs(sample) > 0.29);
}

describe('a pass with the reference', () => {
  test('lies to the frame before and after a step inside a bar, and that bar is marked', async () => {
    const room = await cabled();
    await fourBars(room, { stepAt: 1.5 * BAR, step: 312 });
    const take = takeOf(room);
    expect(take.alignment).toEqual([
      { fromBar: 0, roundTrip: TRUE_TRIP, how: 'cable', sure: true },
      { fromBar: 1, roundTrip: TRUE_TRIP, how: 'cable', sure: false },
      { fromBar: 2, roundTrip: TRUE_TRIP + 312, how: 'cable', sure: true },
    ]);
    expect(take.marks).toEqual([
      { bar: 1, lastBar: 1, duringPass: true, kind: 'cable-moved', shift: 312, how: 'exact', within: 0 },
    ]);
    for (const [bar, later] of [0, 0, 312, 312].entries()) {
      const line = take.bodyStart + bar * BAR + later;
      expect(await onsetIn(room, take, line - 5000)).toBe(line);
    }
  });

  test('needs no measurement, and says by how much it moved', async () => {
    const room = await cabled();
    await fourBars(room);
    expect(takeOf(room).alignment).toEqual([{ fromBar: 0, roundTrip: TRUE_TRIP, how: 'cable', sure: true }]);
    expect(takeOf(room).marks ?? []).toEqual([]);
    expect(room.rehearsal.snapshot.notice).toMatchObject({ type: 'take-moved', name: 'Layer 1' });
  });

  test('records nothing from the spare input, also where that was in use', async () => {
    const room = await cabled();
    expect(room.rehearsal.snapshot.passes.channels).toEqual([0]);
    room.rehearsal.useChannels([0, 1]);
    expect(room.rehearsal.snapshot.passes.channels).toEqual([0]);
    room.rehearsal.useChannel(1);
    expect(room.rehearsal.snapshot.passes.channels).toEqual([0]);
    await fourBars(room);
    expect(room.rehearsal.snapshot.song.sections[0]!.layers).toHaveLength(1);
  });

  test('is left alone by the watch, whatever is measured later', async () => {
    const room = await cabled();
    await fourBars(room, { stepAt: 1.5 * BAR, step: 312 });
    const { alignment } = takeOf(room);
    room.rehearsal.stateRoundTrip(milliseconds(20));
    await runUntil(room, room.sound.rendered + 2 * RATE);
    expect(takeOf(room).alignment).toEqual(alignment);
  });

  test('that the player moved by hand stays there', async () => {
    const room = await cabled();
    const origin = await countIn(room);
    await runUntil(room, origin + 2 * BAR - 3000);
    room.rehearsal.press(at(origin + 2 * BAR - 5000));
    room.sound.runUntil(origin + 2 * BAR + TRUE_TRIP + 128);
    const { sectionInHand, song } = room.rehearsal.snapshot;
    room.rehearsal.realignFrom(sectionInHand, song.sections[0]!.layers[0]!.id, bars(0), milliseconds(10));
    await runUntil(room, origin + 4 * BAR);
    expect(takeOf(room).alignment).toMatchObject([{ roundTrip: ESTIMATE + 480, how: 'stated' }]);
  });

  test('over a beat that has gone on for bars finds the same turns', async () => {
    const room = await cabled();
    const { rehearsal, sound } = room;
    rehearsal.hearBeat(sound.now);
    await turns();
    const { origin } = sound;
    await runUntil(room, origin + 5 * BAR + BEAT * 3);
    rehearsal.press(sound.now);
    await runUntil(room, origin + 8 * BAR - 3000);
    rehearsal.press(at(origin + 8 * BAR - 5000));
    await runUntil(room, origin + 9 * BAR + 9600);
    expect(takeOf(room)).toMatchObject({
      bars: 2,
      alignment: [{ fromBar: 0, roundTrip: TRUE_TRIP, how: 'cable', sure: true }],
    });
  });

  test('of three bars over a loop of three takes its turn with the bars that went before', async () => {
    const room = await cabled();
    const { rehearsal, sound } = room;
    const origin = await countIn(room);
    await runUntil(room, origin + 3 * BAR - 3000);
    rehearsal.press(at(origin + 3 * BAR - 5000));
    await runUntil(room, origin + 5 * BAR + BEAT);
    rehearsal.press(sound.now);
    await runUntil(room, origin + 10 * BAR);
    const layers = rehearsal.snapshot.song.sections[0]!.layers.map(takeInUse);
    expect(layers).toHaveLength(2);
    for (const take of layers) {
      expect(take.alignment).toEqual([{ fromBar: 0, roundTrip: TRUE_TRIP, how: 'cable', sure: true }]);
    }
  });

  test('that was kept after it had been played is read by the turns it was sent with', async () => {
    const room = await cabled();
    const { rehearsal, sound } = room;
    rehearsal.hearBeat(sound.now);
    await turns();
    const { origin } = sound;
    sound.play = strokes([1, 2, 3, 4].map((bar) => origin + bar * BAR));
    await runUntil(room, origin + 5 * BAR + BEAT);
    rehearsal.keepThat(sound.now);
    await runUntil(room, origin + 7 * BAR);
    expect(takeOf(room).alignment[0]).toEqual({ fromBar: 0, roundTrip: TRUE_TRIP, how: 'cable', sure: true });
    expect(takeOf(room).alignment).toHaveLength(1);
  });

  /** Stops a little before the last line, whose reference is then not sent. @returns the take. */
  async function stoppedEarly(room: Room, observe: (origin: number) => void = () => undefined): Promise<Take> {
    const { rehearsal } = room;
    await runUntil(room, 16 * RATE);
    const origin = await countIn(room);
    await runUntil(room, origin + 4 * BAR - 2976);
    observe(origin);
    rehearsal.stop(at(origin + 4 * BAR - 4000));
    await runUntil(room, origin + 6 * BAR);
    return takeOf(room);
  }

  test('that stopped just before its last line is as sure of its last bar as the watch is', async () => {
    const take = await stoppedEarly(await cabled());
    expect(take.alignment).toEqual([{ fromBar: 0, roundTrip: TRUE_TRIP, how: 'cable', sure: true }]);
    expect(take.marks ?? []).toEqual([]);
  });

  test('that stopped there is unsure of its last bar where the watch saw something happen in it', async () => {
    const room = await cabled();
    const take = await stoppedEarly(room, (origin) => {
      room.sound.observe({ type: 'break', kind: 'resumed', at: frames(origin + 3.5 * BAR) });
    });
    expect(take.alignment.at(-1)).toMatchObject({ fromBar: 3, sure: false });
    expect(take.marks).toMatchObject([{ bar: 3, kind: 'cable-lost', shift: null }]);
  });

  test('that is cut off with its sound is read all the same', async () => {
    const room = await cabled();
    const { rehearsal, sound } = room;
    const origin = await countIn(room);
    await runUntil(room, origin + 2 * BAR - 3000);
    rehearsal.press(at(origin + 2 * BAR - 5000));
    sound.runUntil(origin + 2 * BAR + TRUE_TRIP + 4096);
    sound.interrupt('input-ended');
    await turns();
    await rehearsal.settled();
    await turns();
    expect(takeOf(room).alignment[0]).toMatchObject({ roundTrip: TRUE_TRIP, how: 'cable', sure: true });
  });
});

describe('a cable that is out', () => {
  test('is told once, after three bars, and nothing is moved', async () => {
    const room = await cabled({ output: 0 });
    plugInto(room, null);
    const told = new Set<unknown>();
    room.rehearsal.subscribe(({ notice }) => {
      if (notice?.type === 'cable-lost') told.add(notice);
    });
    const origin = await fourBars(room);
    expect(told.size).toBe(1);
    room.rehearsal.press(at(origin + 5 * BAR + 5000));
    await runUntil(room, origin + 13 * BAR);
    expect(room.rehearsal.snapshot.song.sections[0]!.layers).toHaveLength(2);
    expect(told.size).toBe(1);
    expect(room.rehearsal.snapshot.trip?.reference.isLost).toBe(true);
    expect(takeOf(room).alignment).toMatchObject([{ roundTrip: ESTIMATE, how: 'estimated', sure: false }]);
  });
});

describe('the outputs', () => {
  const loudest = (samples: readonly number[]): number => samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0);

  test.each([
    ['right', 1],
    ['left', 0],
  ] as const)('the reference leaves by the %s side at −30 dBFS, and nothing else does', async (side, output) => {
    const room = await cabled({ order: { on: true, side }, output });
    const origin = await countIn(room);
    room.sound.runUntil(origin + BAR);
    const sent = (room.sound.sent[output] ?? []).slice(RATE);
    expect(loudest(sent)).toBeCloseTo(10 ** (-30 / 20), 6);
    const levels = new Set(sent.map((sample) => Math.abs(sample).toFixed(6)));
    expect(levels).toEqual(new Set(['0.000000', (10 ** (-30 / 20)).toFixed(6)]));
    expect(loudest((room.sound.sent[1 - output] ?? []).slice(RATE))).toBeGreaterThan(0.1);
  });

  test('of two pairs, the music keeps the first and the reference has the second', async () => {
    const room = await cabled({ outputs: 4, output: 3 });
    expect(room.rehearsal.snapshot.trip?.reference.layout).toBe('pairs');
    await fourBars(room);
    expect(takeOf(room).alignment).toMatchObject([{ roundTrip: TRUE_TRIP, how: 'cable', sure: true }]);
    expect(loudest((room.sound.sent[1] ?? []).slice(RATE))).toBeGreaterThan(0.1);
  });

  test('are a plain pair again when it is turned off, and every input can be recorded', async () => {
    const room = await cabled();
    room.rehearsal.useReference({ on: false, side: 'right' });
    room.rehearsal.useChannels([0, 1]);
    expect(room.rehearsal.snapshot.passes.channels).toEqual([0, 1]);
    const origin = await countIn(room);
    room.sound.runUntil(origin + BAR);
    expect(loudest((room.sound.sent[1] ?? []).slice(RATE))).toBeGreaterThan(0.1);
    expect(room.rehearsal.snapshot.trip?.reference.side).toBeNull();
  });
});

describe('what was chosen', () => {
  test('is kept for this machine, and holds when the sound is opened again', async () => {
    const library = openMemoryLibrary();
    const room = await cabled({ library });
    await room.rehearsal.settled();
    const again = await roomWith(library);
    Object.assign(again.sound, { channels: 2, isRouted: true });
    again.rehearsal.openSound();
    await turns();
    expect(again.rehearsal.snapshot.trip?.reference).toMatchObject({ side: 'right', channel: 1 });
    expect(again.rehearsal.snapshot.passes.channels).toEqual([0]);
  });

  test('rests where the input has no second channel', async () => {
    const room = await cabled({ inputs: 1 });
    expect(room.rehearsal.snapshot.trip?.reference).toMatchObject({ side: null, can: 'too-few-inputs' });
    expect(room.rehearsal.snapshot.passes.channels).toEqual([0]);
  });

  test('is not changed while something is recorded', async () => {
    const room = await cabled();
    await countIn(room);
    room.rehearsal.useReference({ on: false, side: 'right' });
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'stop-for-devices' });
    expect(room.rehearsal.snapshot.trip?.reference.side).toBe('right');
  });
});
