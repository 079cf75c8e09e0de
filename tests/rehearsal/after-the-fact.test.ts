import { describe, expect, test } from 'vitest';
import { bars, bpm, frames, milliseconds } from '../../src/core/units/index.js';
import { barFrames } from '../../src/core/meter/grid.js';
import { BAR, BEAT, type Room, at, firstLoop, roomWith, turns } from '../support/room.js';
import { strokes } from '../support/signals.js';

/** Where a player without a click begins, in heard frames, and what they call a beat: 100 a minute. */
const FIRST = 100_000;
const OWN_BEAT = 28_800;
const LOOP = 16 * OWN_BEAT;

/** A figure of sixteen beats that comes round and round until `end`: no two neighbouring beats are alike. */
function figure(end: number, from = FIRST, beat = OWN_BEAT): (frame: number) => number {
  const parts = [0, 1, 2].map((kind) =>
    strokes(
      Array.from({ length: 400 }, (_, i) => i)
        .filter((i) => i % 16 !== 5 && (i % 16) % 3 === kind && from + i * beat < end)
        .map((i) => from + i * beat),
      { seed: 20 + kind, decay: 1500 + 700 * kind },
    ),
  );
  return (frame) => Math.fround(parts.reduce((sum, part) => sum + part(frame), 0));
}

/** Opens the sound, asks for no tempo, and presses `pressOff` frames beside the first beat of a figure. */
async function playing(room: Room, pressOff = -3000, end = Infinity): Promise<void> {
  const { rehearsal, sound } = room;
  rehearsal.openSound();
  await turns();
  rehearsal.recordWithoutTempo(true);
  sound.play = figure(end);
  sound.runUntil(FIRST + pressOff + 2000);
  rehearsal.press(at(FIRST + pressOff));
}

/** The same, closed `endOff` frames beside the first beat of the second round, until the loop goes round. */
async function played(room: Room, pressOff = -3000, endOff = 4000, end = Infinity): Promise<void> {
  await playing(room, pressOff, end);
  const { rehearsal, sound } = room;
  sound.runUntil(FIRST + LOOP + endOff + 2000);
  rehearsal.press(at(FIRST + LOOP + endOff));
  sound.runUntil(FIRST + LOOP + 48_000);
}

const sectionOf = ({ rehearsal }: Room) => rehearsal.snapshot.song.sections[0];
const takeOf = (room: Room) => sectionOf(room)?.layers[0]?.takes[0];
const said = (room: Room): readonly (string | null)[] => {
  const { readings } = room.rehearsal.snapshot;
  const each = [readings?.now, readings?.fewer, readings?.more, readings?.half, readings?.double];
  return each.map((reading) => (reading == null ? null : `${reading.bars} at ${Math.round(reading.bpm * 100) / 100}`));
};

describe('a loop without a tempo', () => {
  test('says before it begins that there is no count-in, and while it goes on what is waited for', async () => {
    const room = await roomWith();
    room.rehearsal.recordWithoutTempo(true);
    expect(room.rehearsal.snapshot.isFree).toBe(true);
    expect(room.rehearsal.snapshot.transport).toMatchObject({ state: 'stopped', pressMeans: 'record-freely' });
    await playing(room);
    expect(room.rehearsal.snapshot.transport).toMatchObject({
      state: 'recording',
      bar: null,
      next: 'free-goes-on',
      pressMeans: 'close-the-loop',
    });
    room.sound.runUntil(FIRST + LOOP);
    room.rehearsal.press(at(FIRST + LOOP));
    expect(room.rehearsal.snapshot.transport.next).toBe('end-is-found');
  });

  test('is read as whole bars: tempo, length and layer are in the song', async () => {
    const room = await roomWith();
    await played(room);
    const { song, notice, transport } = room.rehearsal.snapshot;
    expect(song.tempo.bpm).toBe(100);
    expect(sectionOf(room)?.bars).toBe(4);
    expect(takeOf(room)).toMatchObject({ bars: 4, bodyFrames: LOOP, startBar: 0, alignment: [{ sure: true }] });
    expect(notice).toEqual({ type: 'loop-read', name: 'Layer 1', bars: 4, bpm: 100, sure: true });
    expect(transport).toMatchObject({ state: 'playing', pressMeans: 'new-layer' });
  });

  test('holds what was played from its first note on, to the bit, in the library', async () => {
    const room = await roomWith();
    await played(room);
    await room.rehearsal.settled();
    const take = takeOf(room);
    if (take === undefined) throw new Error('Got no take when expected one.');
    const read = await room.library.readRecording(take.recording, 0, take.bodyStart, take.bodyFrames);
    if (!read.ok) throw new Error(read.reason);
    expect(read.value.missing).toBe(0);
    const first = read.value.samples.findIndex((_, i) => read.value.samples[i] !== 0);
    const { play } = room.sound;
    // The onset is found within a millisecond; from there on everything is as it was played.
    expect(first).toBeLessThanOrEqual(48);
    const from = FIRST - first;
    expect(read.value.samples.findIndex((sample, i) => sample !== play(from + i))).toBe(-1);
  });

  test('joins within 0.7 s of the press, in phase with what was played', async () => {
    const room = await roomWith();
    await played(room);
    const { sound } = room;
    sound.runUntil(FIRST + 2 * LOOP + 10_000);
    const press = FIRST + LOOP + 4000;
    const out = sound.out.slice(sound.lookAhead);
    // Clicks and fades aside, what comes out at a frame is what was played one loop before, so it is played on in phase.
    const joins = out.findIndex((sample, i) => i > press && Math.abs(sample) > 1e-4);
    expect(joins - press).toBeLessThan(0.7 * 48_000);
    const wrong = Array.from({ length: LOOP / 2 }, (_, i) => FIRST + LOOP + LOOP / 3 + i).filter((frame) => {
      const betweenClicks = (frame - FIRST) % OWN_BEAT > 1500;
      return betweenClicks && out[frame] !== sound.play(frame - LOOP);
    });
    expect(wrong).toEqual([]);
  });

  test.each([
    [3000, 5700],
    [-5700, -5700],
    [5500, -5000],
    [0, 0],
  ])('is as long with presses %d and %d frames beside the notes', async (pressOff, endOff) => {
    const room = await roomWith();
    await played(room, pressOff, endOff);
    expect(takeOf(room)?.bodyFrames).toBe(LOOP);
  });

  test('whose player stops at its end is as long as the presses say, and the player is told', async () => {
    const room = await roomWith();
    await played(room, -3000, -2000, FIRST + LOOP - 10);
    const { notice } = room.rehearsal.snapshot;
    expect(notice).toMatchObject({ type: 'loop-read', sure: false });
    // The presses' distance, 1,000 frames more than the loop, as four whole bars.
    expect(takeOf(room)?.bodyFrames).toBe(LOOP + 1000);
  });

  test('is read by what was tapped before', async () => {
    const room = await roomWith();
    for (let tap = 0; tap < 8; tap++) room.rehearsal.tap(milliseconds(1000 + (tap * 60_000) / 124));
    room.rehearsal.position(milliseconds(60_000));
    expect(room.rehearsal.snapshot.song.tempo.bpm).toBe(124);
    await played(room);
    expect(said(room)[0]).toBe('5 at 125');
  });

  test('is one step: taken back, the song is what it was, and it can be put back', async () => {
    const room = await roomWith();
    const before = room.rehearsal.snapshot.song;
    await played(room);
    const after = room.rehearsal.snapshot.song;
    room.rehearsal.stop(room.sound.now);
    room.rehearsal.takeBack(room.sound.now);
    expect(room.rehearsal.snapshot.song).toEqual(before);
    expect(room.rehearsal.snapshot.isFree).toBe(true);
    room.rehearsal.putBack();
    expect(room.rehearsal.snapshot.song).toEqual(after);
  });

  test('is kept and does not begin to play where the player stops before its end was found', async () => {
    const room = await roomWith();
    await playing(room);
    const { rehearsal, sound } = room;
    sound.runUntil(FIRST + LOOP + 2000);
    rehearsal.press(at(FIRST + LOOP));
    sound.runUntil(FIRST + LOOP + 6000);
    rehearsal.stop(sound.now);
    sound.runUntil(FIRST + 2 * LOOP);
    expect(rehearsal.snapshot.transport.state).toBe('stopped');
    expect(takeOf(room)?.bodyFrames).toBe(LOOP);
    expect(sound.out.slice(FIRST + LOOP).every((sample) => sample === 0)).toBe(true);
  });

  test.each([
    ['while it is played', 0.5 * LOOP, false],
    ['while its end is found', LOOP + 4000, true],
  ])('taken back %s leaves nothing, and can be played again', async (_, frame, closed) => {
    const room = await roomWith();
    const before = room.rehearsal.snapshot.song;
    await playing(room);
    const { rehearsal, sound } = room;
    sound.runUntil(FIRST + (closed ? LOOP : frame) + 2000);
    if (closed) rehearsal.press(at(FIRST + LOOP));
    sound.runUntil(FIRST + frame + 2000);
    rehearsal.takeBack(sound.now);
    sound.runUntil(FIRST + 2 * LOOP);
    expect(rehearsal.snapshot.song).toBe(before);
    expect(rehearsal.snapshot.transport).toMatchObject({ state: 'stopped', pressMeans: 'record-freely' });
  });

  test('of half a second is no bar, and becomes an idea', async () => {
    const room = await roomWith();
    await playing(room);
    const { rehearsal, sound } = room;
    sound.runUntil(FIRST + 20_000);
    rehearsal.press(at(FIRST + 17_000));
    sound.runUntil(FIRST + LOOP);
    await rehearsal.settled();
    expect(rehearsal.snapshot.notice).toEqual({ type: 'no-reading' });
    expect(rehearsal.snapshot.transport.state).toBe('stopped');
    expect(sectionOf(room)?.layers).toEqual([]);
    expect(rehearsal.snapshot.song.ideas).toHaveLength(1);
  });

  test('counts in again once something was played', async () => {
    const room = await roomWith();
    await played(room);
    expect(room.rehearsal.snapshot.isFree).toBe(false);
    room.rehearsal.stop(room.sound.now);
    expect(room.rehearsal.snapshot.transport.pressMeans).toBe('play');
  });
});

describe('reading it otherwise', () => {
  test('offers a bar fewer, a bar more, half and double time', async () => {
    const room = await roomWith();
    expect(room.rehearsal.snapshot.readings).toBeNull();
    await played(room);
    expect(said(room)).toEqual(['4 at 100', '3 at 75', '5 at 125', '2 at 50', '8 at 200']);
  });

  test('changes tempo and bars, and nothing in what is heard', async () => {
    const room = await roomWith();
    await played(room);
    const { rehearsal, sound } = room;
    rehearsal.setClick(false);
    sound.runUntil(FIRST + 2 * LOOP + OWN_BEAT);
    const { readings } = rehearsal.snapshot;
    if (readings?.more == null) throw new Error('Got no reading when expected one.');
    rehearsal.readAs(readings.more);
    expect(said(room)).toEqual(['5 at 125', '4 at 100', '6 at 150', null, '10 at 250']);
    expect(sectionOf(room)?.bars).toBe(5);
    sound.runUntil(FIRST + 4 * LOOP);
    const out = sound.out.slice(sound.lookAhead);
    const from = FIRST + 2 * LOOP;
    const same = Array.from({ length: LOOP - 1000 }, (_, i) => out[from + LOOP + i] === out[from + i]);
    expect(same.indexOf(false)).toBe(-1);
  });

  test('is a step of its own, and leads back', async () => {
    const room = await roomWith();
    await played(room);
    const { readings, song } = room.rehearsal.snapshot;
    if (readings?.double == null) throw new Error('Got no reading when expected one.');
    room.rehearsal.readAs(readings.double);
    expect(sectionOf(room)?.bars).toBe(8);
    room.rehearsal.takeBack(room.sound.now);
    expect(room.rehearsal.snapshot.song).toEqual(song);
    expect(said(room)[0]).toBe('4 at 100');
  });

  test('ends with the first layer over it', async () => {
    const room = await roomWith();
    await played(room);
    const { rehearsal, sound } = room;
    const { readings } = rehearsal.snapshot;
    sound.runUntil(FIRST + 2 * LOOP);
    rehearsal.press(at(FIRST + 2 * LOOP));
    if (readings?.more == null) throw new Error('Got no reading when expected one.');
    rehearsal.readAs(readings.more);
    expect(rehearsal.snapshot.notice).toEqual({ type: 'stop-first' });
    sound.runUntil(FIRST + 4 * LOOP);
    expect(sectionOf(room)?.layers).toHaveLength(2);
    expect(rehearsal.snapshot.readings).toBeNull();
    rehearsal.readAs(readings.more);
    expect(rehearsal.snapshot.notice).toEqual({ type: 'edit-refused', reason: 'layers-hold-the-grid' });
  });
});

describe('keep that', () => {
  test('while the loop plays keeps the last bars, as many as the section has', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    const over = strokes(
      Array.from({ length: 8 }, (_, i) => origin + 8 * BAR + i * 2 * BEAT + 31 * i),
      { seed: 6 },
    );
    sound.play = over;
    sound.runUntil(origin + 12 * BAR + BEAT);
    rehearsal.keepThat(at(origin + 12 * BAR + BEAT));
    sound.runUntil(origin + 13 * BAR);
    await rehearsal.settled();
    const take = sectionOf(room)?.layers[1]?.takes[0];
    expect(rehearsal.snapshot.notice).toEqual({
      type: 'that-kept',
      name: 'Layer 2',
      bars: 4,
      leftOut: 0,
      heldBars: null,
    });
    expect(take).toMatchObject({ bars: 4, startBar: 0, bodyFrames: 4 * BAR });
    const read = await room.library.readRecording(take!.recording, 0, take!.bodyStart, take!.bodyFrames);
    if (!read.ok) throw new Error(read.reason);
    expect(read.value.samples.findIndex((sample, i) => sample !== over(origin + 8 * BAR + i))).toBe(-1);
  });

  test('keeps nothing twice, and says that it is kept; what was taken back can be kept again', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    const keepAt = async (bar: number): Promise<void> => {
      const heard = origin + Math.round(bar * BAR);
      sound.runUntil(heard + BEAT);
      rehearsal.keepThat(at(heard));
      sound.runUntil(sound.rendered + BEAT);
      await rehearsal.settled();
    };
    const layers = () => sectionOf(room)?.layers.map(({ takes }) => [takes[0]?.startBar, takes[0]?.bars]);
    await keepAt(12.05);
    await keepAt(12.3);
    expect(rehearsal.snapshot.notice).toEqual({ type: 'nothing-to-keep', why: 'kept-already' });
    expect(layers()).toEqual([
      [0, 4],
      [0, 4],
    ]);
    rehearsal.takeBack(sound.now);
    expect(layers()).toHaveLength(1);
    await keepAt(13.05);
    expect(layers()).toEqual([
      [0, 4],
      [1, 4],
    ]);
    expect(rehearsal.snapshot.notice).toMatchObject({ type: 'that-kept', name: 'Layer 2', bars: 4 });
  });

  test('over the click alone makes the first layer', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.openSound();
    await turns();
    rehearsal.hearBeat(sound.now);
    const { origin } = sound;
    sound.runUntil(origin + 6 * BAR);
    rehearsal.keepThat(at(origin + 6 * BAR - 2000));
    sound.runUntil(origin + 7 * BAR);
    expect(takeOf(room)).toMatchObject({ bars: 4, startBar: 0, bodyFrames: 4 * BAR });
    expect(sectionOf(room)?.bars).toBe(4);
  });

  test('says how little is held where that is less than eight bars', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.setTempo(bpm(24));
    rehearsal.openSound();
    await turns();
    rehearsal.hearBeat(sound.now);
    const { origin } = sound;
    const { song } = rehearsal.snapshot;
    const slow = barFrames(song.metre, song.tempo, song.sampleRate);
    sound.runUntil(origin + 2 * slow);
    rehearsal.keepThat(at(origin + 2 * slow - 2000));
    sound.runUntil(origin + 2.5 * slow);
    expect(rehearsal.snapshot.notice).toEqual({ type: 'that-kept', name: 'Layer 1', bars: 2, leftOut: 0, heldBars: 6 });
  });

  test.each<[string, (room: Room) => Promise<void>, string]>([
    ['before the sound is open', () => Promise.resolve(), 'not-listening'],
    [
      'before a bar has gone by',
      async ({ rehearsal, sound }) => {
        rehearsal.openSound();
        await turns();
        rehearsal.hearBeat(sound.now);
        sound.runUntil(sound.origin + BEAT);
      },
      'no-whole-bar',
    ],
    [
      'while it is being recorded',
      async ({ rehearsal, sound }) => {
        rehearsal.openSound();
        await turns();
        rehearsal.press(sound.now);
        sound.runUntil(sound.origin + BAR);
      },
      'still-recording',
    ],
    [
      'after nothing but silence',
      async ({ rehearsal, sound }) => {
        rehearsal.openSound();
        await turns();
        sound.runUntil(BAR);
      },
      'nothing-heard',
    ],
  ])('%s keeps nothing, and says why', async (_, before, why) => {
    const room = await roomWith();
    await before(room);
    const { song } = room.rehearsal.snapshot;
    room.rehearsal.keepThat(room.sound.now);
    room.sound.runUntil(room.sound.rendered + 10_000);
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'nothing-to-keep', why });
    expect(room.rehearsal.snapshot.song).toBe(song);
  });

  test('while stopped keeps the last phrase as an idea, and it can be let go', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.openSound();
    await turns();
    const phrase = { from: 300_000, to: 300_000 + 7 * BEAT };
    const tried = strokes([20_000, 60_000, 90_000], { seed: 2 });
    const meant = strokes(
      Array.from({ length: 8 }, (_, i) => phrase.from + i * BEAT),
      { seed: 4 },
    );
    sound.play = (frame) => Math.fround(tried(frame) + meant(frame));
    sound.runUntil(phrase.to + 100_000);
    rehearsal.keepThat(sound.now);
    sound.runUntil(sound.rendered + 48_000);
    await rehearsal.settled();
    const [idea] = rehearsal.snapshot.song.ideas;
    if (idea === undefined) throw new Error('Got no idea when expected one.');
    expect(rehearsal.snapshot.notice).toMatchObject({ type: 'idea-kept' });
    const read = await room.library.readRecording(idea.recording, 0, frames(0), frames(500_000));
    if (!read.ok) throw new Error(read.reason);
    // Its recording begins with the first frame that the input gave: a heard frame is a round trip later in it.
    const begins = idea.start - sound.roundTrip;
    expect(begins).toBeLessThan(phrase.from);
    expect(begins).toBeGreaterThan(phrase.from - 0.35 * 48_000);
    expect(begins + idea.frames).toBeGreaterThan(phrase.to + 10_000);
    const kept = read.value.samples.slice(idea.start, idea.start + idea.frames);
    expect(kept.findIndex((sample, i) => sample !== sound.play(begins + i))).toBe(-1);

    rehearsal.dropIdea(idea.id);
    expect(rehearsal.snapshot.song.ideas).toEqual([]);
    rehearsal.takeBack(sound.now);
    expect(rehearsal.snapshot.song.ideas).toEqual([idea]);
  });

  test('while stopped does not cut what still rings of the last layer', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    rehearsal.stop(sound.now);
    sound.runUntil(sound.rendered + 20_000);
    rehearsal.keepThat(sound.now);
    sound.runUntil(origin + 12 * BAR);
    await rehearsal.settled();
    const take = takeOf(room);
    if (take === undefined) throw new Error('Got no take when expected one.');
    const end = frames(take.bodyStart + take.bodyFrames);
    const read = await room.library.readRecording(take.recording, 0, end, take.tail);
    if (!read.ok) throw new Error(read.reason);
    // Four seconds at least, however long the tail may be.
    expect(take.tail - read.value.missing).toBeGreaterThanOrEqual(4 * 48_000);
    expect(rehearsal.snapshot.song.ideas).toHaveLength(1);
  });
});

test('as many bars as go round with a section that has a length are kept, and what is left out is said', async () => {
  const room = await roomWith();
  const { rehearsal, sound } = room;
  rehearsal.setSectionBars(rehearsal.snapshot.sectionInHand, bars(8));
  rehearsal.openSound();
  await turns();
  rehearsal.hearBeat(sound.now);
  const { origin } = sound;
  sound.runUntil(origin + 3 * BAR);
  rehearsal.keepThat(at(origin + 3 * BAR));
  sound.runUntil(origin + 4 * BAR);
  expect(takeOf(room)).toMatchObject({ bars: 2, startBar: 0 });
  expect(rehearsal.snapshot.notice).toMatchObject({ type: 'that-kept', bars: 2, leftOut: 1 });
});
