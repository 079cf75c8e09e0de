/** What was played stays reachable in the song, however it ended. */
import { describe, expect, test } from 'vitest';
import type { Idea } from '../../src/core/song/song.js';
import { bars, frames } from '../../src/core/units/index.js';
import { BAR, BEAT, type Room, at, countIn, firstLoop, roomWith, turns } from '../support/room.js';
import { strokes } from '../support/signals.js';

const beats = (origin: number, count = 64) => strokes(Array.from({ length: count }, (_, i) => origin + i * BEAT));
const sectionOf = ({ rehearsal }: Room) => rehearsal.snapshot.song.sections[0]!;
const ideasOf = ({ rehearsal }: Room) => rehearsal.snapshot.song.ideas;

/** Counts in to a pass of so many bars (null: open), and plays up to a bar. */
async function upTo(room: Room, length: number | null, bar: number): Promise<number> {
  const { rehearsal, sound } = room;
  rehearsal.setSectionBars(rehearsal.snapshot.sectionInHand, length === null ? null : bars(length));
  const origin = await countIn(room);
  sound.play = beats(origin);
  sound.runUntil(origin + Math.round(bar * BAR));
  return origin;
}

/** Opens the sound and plays without a tempo from a frame on. */
async function freely(room: Room, from: number): Promise<void> {
  const { rehearsal, sound } = room;
  rehearsal.openSound();
  await turns();
  rehearsal.recordWithoutTempo(true);
  sound.play = beats(from);
  sound.runUntil(from);
  rehearsal.press(at(from));
}

/** What is in the library of an idea is what was played at a heard frame and after it. */
async function expectPlayed(room: Room, { recording, channel, start, frames: count }: Idea, from: number) {
  const read = await room.library.readRecording(recording, channel, start, count);
  if (!read.ok) throw new Error(read.reason);
  expect(read.value.missing).toBe(0);
  const { samples } = read.value;
  const first = samples.findIndex((sample) => sample !== 0);
  const begins = Array.from({ length: 30_000 }, (_, i) => from - 15_000 + i).find(
    (frame) => room.sound.play(frame) !== 0,
  )!;
  expect(samples.findIndex((sample, i) => i >= first && sample !== room.sound.play(begins + i - first))).toBe(-1);
}

describe('stopped before its line', () => {
  test('a pass of eight bars is an idea, and the player is told in one sentence', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    const origin = await upTo(room, 8, 7.4);
    rehearsal.stop(sound.now);
    sound.runUntil(sound.rendered + 20_000);
    await rehearsal.settled();
    expect(rehearsal.snapshot.notice).toMatchObject({ type: 'cut-kept' });
    expect(sectionOf(room)).toMatchObject({ layers: [], bars: 8 });
    const [idea] = ideasOf(room);
    expect(ideasOf(room)).toHaveLength(1);
    // From a breath before the line to where the player heard it stop.
    expect(idea?.frames).toBeGreaterThan(7.3 * BAR);
    expect(idea?.frames).toBeLessThan(7.4 * BAR + 12_000);
    await expectPlayed(room, idea!, origin);
    rehearsal.takeBack(sound.now);
    expect(ideasOf(room)).toEqual([]);
  });

  test('a loop without a tempo is an idea', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    await freely(room, 100_000);
    sound.runUntil(100_000 + 480_000);
    rehearsal.stop(sound.now);
    sound.runUntil(sound.rendered + 20_000);
    await rehearsal.settled();
    expect(rehearsal.snapshot.notice).toEqual({ type: 'cut-kept', seconds: expect.closeTo(10, 1) as number });
    expect(sectionOf(room).layers).toEqual([]);
    await expectPlayed(room, ideasOf(room)[0]!, 100_000);
    expect(rehearsal.snapshot.transport).toMatchObject({ state: 'stopped', pressMeans: 'record-freely' });
  });

  test('a pass in which nothing was played is let go', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    await upTo(room, 8, 0.1);
    sound.play = () => 0.0005;
    sound.runUntil(sound.origin + 3 * BAR);
    sound.play = () => 0.0005;
    rehearsal.stop(sound.now);
    sound.runUntil(sound.rendered + 20_000);
    expect(ideasOf(room)).toHaveLength(1);
    rehearsal.takeBack(sound.now);
    // The second time without the stroke on the first beat.
    rehearsal.press(sound.now);
    sound.runUntil(sound.origin + 3 * BAR);
    rehearsal.stop(sound.now);
    sound.runUntil(sound.rendered + 20_000);
    expect(ideasOf(room)).toEqual([]);
    expect(rehearsal.snapshot.notice).toEqual({ type: 'pass-dropped' });
  });

  test('only the channels on which something was played are kept', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    sound.channels = 2;
    rehearsal.openSound();
    await turns();
    rehearsal.useChannels([0, 1]);
    await upTo(room, 8, 3);
    rehearsal.stop(sound.now);
    sound.runUntil(sound.rendered + 20_000);
    expect(ideasOf(room).map(({ channel }) => channel)).toEqual([0]);
  });
});

describe('a switch that is held over the click', () => {
  test('leaves the song as it was', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.hearBeat(sound.now);
    await turns();
    const { song } = rehearsal.snapshot;
    const down = sound.origin + 5 * BAR + 0.95 * BEAT;
    sound.play = beats(sound.origin);
    sound.runUntil(down + 2000);
    rehearsal.press(at(down));
    sound.runUntil(down + 0.7 * 48_000 + 2000);
    rehearsal.stop(at(down + 0.7 * 48_000), true);
    sound.runUntil(sound.rendered + 3 * BAR);
    expect(rehearsal.snapshot.song).toBe(song);
    expect(rehearsal.snapshot.transport.state).toBe('stopped');
  });
});

describe('taken back with layering kept up', () => {
  test('the pass under way is gone, and the player is told', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    rehearsal.keepLayering(true);
    sound.runUntil(origin + 8 * BAR);
    rehearsal.press(at(origin + 8 * BAR));
    sound.runUntil(origin + 9.5 * BAR);
    rehearsal.takeBack(sound.now);
    expect(rehearsal.snapshot.notice).toEqual({ type: 'pass-dropped' });
    sound.runUntil(origin + 17 * BAR);
    expect(sectionOf(room).layers.map(({ name }) => name)).toEqual(['Layer 1']);
  });

  test('turned off under way, the pass under way is the last', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    rehearsal.keepLayering(true);
    sound.runUntil(origin + 8 * BAR);
    rehearsal.press(at(origin + 8 * BAR));
    sound.runUntil(origin + 9.5 * BAR);
    rehearsal.keepLayering(false);
    expect(rehearsal.snapshot.transport.next).toBe('loop-plays');
    sound.runUntil(origin + 21 * BAR);
    expect(sectionOf(room).layers.map(({ name }) => name)).toEqual(['Layer 1', 'Layer 2']);
  });
});

test('an open pass that is as long as it can be says that it will close, and closes', async () => {
  const room = await roomWith();
  const { rehearsal, sound } = room;
  rehearsal.setTempo(400 as never);
  const origin = await countIn(room);
  const bar = 28_800;
  const nextAt = (frame: number) => {
    sound.runUntil(frame);
    rehearsal.position(sound.now);
    return rehearsal.snapshot.transport.next;
  };
  expect(nextAt(origin + 59.5 * bar)).toBe('recording-goes-on');
  expect(nextAt(origin + 60.5 * bar)).toBe('closes-by-itself');
  sound.runUntil(origin + 65 * bar);
  expect(sectionOf(room).bars).toBe(64);
  expect(sectionOf(room).layers[0]?.takes[0]?.bars).toBe(64);
});

describe('interrupted', () => {
  test.each([
    ['an open first pass is as many whole bars as have come in', null, 3.5, 3],
    ['a pass that has come to its end, and is still coming in, is an idea', 4, 4.02, null],
    ['a pass of set length is an idea', 8, 7.4, null],
    ['an open pass of less than a bar is an idea', null, 0.8, null],
  ])('%s', async (_, length, bar, kept) => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    const origin = await upTo(room, length, bar);
    sound.interrupt('input-ended');
    await rehearsal.settled();
    const takes = sectionOf(room).layers.flatMap((layer) => layer.takes);
    if (kept === null) {
      expect(takes).toEqual([]);
      expect(ideasOf(room)).toHaveLength(1);
      expect(rehearsal.snapshot.notice).toMatchObject({ type: 'cut-kept' });
      await expectPlayed(room, ideasOf(room)[0]!, origin);
      return;
    }
    expect(rehearsal.snapshot.notice).toEqual({ type: 'layer-kept', name: 'Layer 1', bars: kept });
    expect(takes).toMatchObject([{ bars: kept, startBar: 0, bodyFrames: kept * BAR }]);
    expect(sectionOf(room).bars).toBe(kept);
    const [take] = takes;
    const read = await room.library.readRecording(take!.recording, 0, take!.bodyStart, take!.bodyFrames);
    if (!read.ok) throw new Error(read.reason);
    expect(read.value.missing).toBe(0);
    expect(read.value.samples.findIndex((sample, i) => sample !== sound.play(origin + i))).toBe(-1);
  });

  test.each([
    ['while nothing plays', -2],
    ['in the count-in', -0.5],
    ['as the pass has hardly begun', 0.3],
  ])('%s nothing is kept', async (_, bar) => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.openSound();
    await turns();
    const before = rehearsal.snapshot.song;
    if (bar > -2) await upTo(room, null, bar);
    sound.interrupt('engine-stopped');
    expect(rehearsal.snapshot.song).toBe(before);
  });

  test('a pass over a loop is an idea, and the loop stands', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    sound.runUntil(origin + 8 * BAR);
    sound.play = beats(origin + 8 * BAR);
    rehearsal.press(at(origin + 8 * BAR));
    sound.runUntil(origin + 10.5 * BAR);
    sound.interrupt('input-ended');
    await rehearsal.settled();
    expect(sectionOf(room).layers.map(({ name }) => name)).toEqual(['Layer 1']);
    await expectPlayed(room, ideasOf(room)[0]!, origin + 8 * BAR);
  });

  test.each([
    ['while it is played', false],
    ['while its end is being found', true],
  ])('a loop without a tempo %s is an idea', async (_, closed) => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    await freely(room, 100_000);
    sound.runUntil(500_000);
    if (closed) {
      rehearsal.press(at(496_000));
      sound.runUntil(505_000);
    }
    sound.interrupt('input-ended');
    await rehearsal.settled();
    expect(ideasOf(room)).toHaveLength(1);
    await expectPlayed(room, ideasOf(room)[0]!, 100_000);
  });

  test.each(['stop', 'takeBack'] as const)('after a pass that ended by %s nothing is said of it again', async (how) => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    await upTo(room, 8, 3);
    rehearsal[how](sound.now);
    sound.runUntil(sound.rendered + 5 * BAR);
    rehearsal.dismissNotice();
    sound.interrupt('input-ended');
    expect(rehearsal.snapshot.notice).toBeNull();
  });

  test('the recordings are finished, and the next press opens the sound anew', async () => {
    const room = await roomWith();
    await upTo(room, 8, 3);
    room.sound.interrupt('input-ended');
    await room.rehearsal.settled();
    const [idea] = ideasOf(room);
    const beyond = await room.library.readRecording(
      idea!.recording,
      0,
      frames(idea!.start + idea!.frames),
      frames(100),
    );
    expect(beyond.ok && beyond.value.missing).toBe(100);
    room.rehearsal.press(room.sound.now);
    await turns();
    expect(room.rehearsal.snapshot.sound).toMatchObject({ state: 'open', interruption: null });
  });
});
