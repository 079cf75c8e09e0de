import { describe, expect, test } from 'vitest';
import { asId } from '../../src/core/song/ids.js';
import type { SectionId } from '../../src/core/song/ids.js';
import { bars, bpm, frames, milliseconds } from '../../src/core/units/index.js';
import type { Library } from '../../src/ports/library.js';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';
import { BAR, BEAT, type Room, at, countIn, firstLoop, roomWith, turns } from '../support/room.js';
import { strokes } from '../support/signals.js';

describe('the rehearsal', () => {
  test('tapping reads a tempo at once and keeps it when the taps rest', async () => {
    const { rehearsal } = await roomWith();
    for (let tap = 0; tap < 8; tap++) rehearsal.tap(milliseconds(1000 + tap * 500));
    expect(rehearsal.snapshot.taps).toMatchObject({ taps: 8, bpm: 120 });
    expect(rehearsal.snapshot.song.tempo.bpm).toBe(96);
    rehearsal.position(milliseconds(4500 + 3000));
    expect(rehearsal.snapshot.taps).toBeNull();
    expect(rehearsal.snapshot.song.tempo.bpm).toBe(120);
  });

  test('one press opens the sound and counts in', async () => {
    const room = await roomWith();
    expect(room.rehearsal.snapshot.transport.pressMeans).toBe('record');
    await countIn(room);
    room.rehearsal.position(room.sound.now);
    expect(room.rehearsal.snapshot.sound.state).toBe('open');
    expect(room.rehearsal.snapshot.transport).toMatchObject({
      state: 'counting-in',
      bar: 1,
      bars: 1,
      next: 'recording-starts',
    });
  });

  test('a first loop becomes a layer, gives the section its length, and is kept', async () => {
    const room = await roomWith();
    await firstLoop(room);
    await room.rehearsal.settled();
    const { song, keeping, notice, transport } = room.rehearsal.snapshot;
    const section = song.sections[0];
    expect(section?.bars).toBe(4);
    expect(section?.layers.map((layer) => layer.name)).toEqual(['Layer 1']);
    expect(notice).toEqual({ type: 'layer-kept', name: 'Layer 1', bars: 4 });
    expect(keeping).toEqual({ state: 'kept' });
    expect(transport.pressMeans).toBe('new-layer');
    const stored = await room.library.latestSong();
    expect(stored.ok && stored.value?.edits.map(({ edit }) => edit.type)).toEqual(['add-layers']);
  });

  test('the audio of a layer is in the library before the document names it', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    await room.rehearsal.settled();
    const take = room.rehearsal.snapshot.song.sections[0]?.layers[0]?.takes[0];
    if (take === undefined) throw new Error('Got no take when expected one.');
    const read = await room.library.readRecording(take.recording, 0, take.bodyStart, take.bodyFrames);
    if (!read.ok) throw new Error(read.reason);
    expect(read.value.missing).toBe(0);
    const wrong = read.value.samples.findIndex((sample, i) => sample !== room.sound.play(origin + i));
    expect(wrong).toBe(-1);
  });

  test('after a reload both layers are there, and sound as they did', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const first = room.sound.play;
    const second = strokes(
      Array.from({ length: 8 }, (_, i) => origin + 8 * BAR + i * 2 * BEAT + 17),
      { seed: 8 },
    );
    room.sound.play = second;
    room.sound.runUntil(origin + 7.6 * BAR);
    room.rehearsal.press(at(origin + 7.5 * BAR));
    room.sound.runUntil(origin + 13 * BAR);
    await room.rehearsal.settled();
    expect(room.rehearsal.snapshot.song.sections[0]?.layers).toHaveLength(2);

    const again = await roomWith(room.library);
    again.rehearsal.openSound();
    await turns();
    while (again.sound.wanted > 0) await turns();
    again.rehearsal.press(again.sound.now);
    const start = again.sound.origin;
    // What lies further ahead is asked for while it plays.
    for (let beat = 0; beat <= 16; beat++) {
      again.sound.runUntil(start + beat * BEAT + again.sound.lookAhead);
      while (again.sound.wanted > 0) await turns();
    }
    const out = again.sound.out.slice(start + again.sound.lookAhead);
    const wrong = Array.from({ length: 4 * BAR - 480 }, (_, i) => i).findIndex((i) => {
      const expected = Math.fround(first(origin + i) + second(origin + 8 * BAR + i));
      // The click is on; where it sounds the sum differs, so only places between clicks are compared.
      return i % BEAT > 1300 && out[i] !== expected;
    });
    expect(wrong).toBe(-1);
  });

  test('take back just after a stop lets go of the pass that is still coming in, and of nothing older', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    sound.runUntil(origin + 8 * BAR);
    rehearsal.press(at(origin + 8 * BAR));
    sound.runUntil(origin + 11.8 * BAR);
    rehearsal.stop(sound.now);
    rehearsal.takeBack(sound.now);
    sound.runUntil(origin + 14 * BAR);
    expect(rehearsal.snapshot.song.sections[0]?.layers.map((layer) => layer.name)).toEqual(['Layer 1']);
  });

  test('stopping an open first pass makes no sound, and keeps what was played', async () => {
    const room = await roomWith();
    const origin = await countIn(room);
    const { rehearsal, sound } = room;
    rehearsal.setClick(false);
    sound.play = strokes(Array.from({ length: 16 }, (_, beat) => origin + beat * BEAT));
    sound.runUntil(origin + 1.9 * BAR);
    const before = sound.out.length;
    rehearsal.stop(sound.now);
    sound.runUntil(origin + 4 * BAR);
    expect(sound.out.slice(before).every((sample) => sample === 0)).toBe(true);
    expect(rehearsal.snapshot.song.sections[0]?.bars).toBe(2);
  });

  test('the first loop over a beat that goes on makes its own line the first', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.hearBeat(sound.now);
    await turns();
    const beat = sound.origin;
    sound.runUntil(beat + 5.5 * BAR);
    rehearsal.press(at(beat + 5.5 * BAR));
    const origin = sound.origin;
    expect((origin - beat) % BAR).toBe(0);
    sound.runUntil(origin + 3.9 * BAR);
    rehearsal.press(at(origin + 3.9 * BAR));
    sound.runUntil(origin + 5 * BAR);
    const [section] = rehearsal.snapshot.song.sections;
    expect(section?.bars).toBe(4);
    expect(section?.layers[0]?.takes[0]?.startBar).toBe(0);
  });

  test('put back waits until nothing is being recorded', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    rehearsal.takeBack(sound.now);
    sound.runUntil(origin + 6 * BAR);
    rehearsal.press(at(origin + 6 * BAR));
    rehearsal.putBack();
    expect(rehearsal.snapshot.notice).toEqual({ type: 'stop-first' });
  });

  test('take back removes the newest layer, put back brings it again', async () => {
    const room = await roomWith();
    await firstLoop(room);
    const { rehearsal, sound } = room;
    rehearsal.takeBack(sound.now);
    expect(rehearsal.snapshot.song.sections[0]?.layers).toHaveLength(0);
    expect(rehearsal.snapshot.notice?.type).toBe('taken-back');
    rehearsal.putBack();
    expect(rehearsal.snapshot.song.sections[0]?.layers).toHaveLength(1);
    await rehearsal.settled();
    const stored = await room.library.latestSong();
    expect(stored.ok && stored.value?.cursor).toBe(1);
  });

  test('take back during a pass lets go of the pass, not of the song', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    sound.runUntil(origin + 8 * BAR);
    rehearsal.press(at(origin + 8 * BAR));
    sound.runUntil(origin + 9 * BAR);
    rehearsal.takeBack(sound.now);
    sound.runUntil(origin + 15 * BAR);
    expect(rehearsal.snapshot.song.sections[0]?.layers).toHaveLength(1);
    expect(rehearsal.snapshot.notice?.type).toBe('pass-dropped');
  });

  test('under a pass the tempo stands still, and the player is told', async () => {
    const room = await roomWith();
    await countIn(room);
    room.rehearsal.setTempo(bpm(120));
    expect(room.rehearsal.snapshot.song.tempo.bpm).toBe(96);
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'stop-first' });
  });

  test.each([
    [
      'tempo',
      (room: Room) => {
        room.rehearsal.setTempo(bpm(19));
      },
      'tempo-out-of-range',
    ],
    [
      'tempo',
      (room: Room) => {
        room.rehearsal.setTempo(bpm(401));
      },
      'tempo-out-of-range',
    ],
    [
      'bars',
      (room: Room) => {
        room.rehearsal.setSectionBars(asId<SectionId>('section'), bars(65));
      },
      'bars-out-of-range',
    ],
    [
      'bars',
      (room: Room) => {
        room.rehearsal.setSectionBars(asId<SectionId>('section'), bars(0));
      },
      'bars-out-of-range',
    ],
    [
      'title',
      (room: Room) => {
        room.rehearsal.retitle('   ');
      },
      'name-empty',
    ],
  ] as const)('a %s out of range is refused in words, and nothing changes', async (_, act, reason) => {
    const room = await roomWith();
    const before = room.rehearsal.snapshot.song;
    act(room);
    expect(room.rehearsal.snapshot.song).toBe(before);
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'edit-refused', reason });
  });

  test('the tempo is held by layers', async () => {
    const room = await roomWith();
    await firstLoop(room);
    room.rehearsal.setTempo(bpm(100));
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'edit-refused', reason: 'layers-hold-the-grid' });
  });

  test.each(['permission-refused', 'no-input-device', 'no-worklets', 'input-in-use'] as const)(
    'sound that will not open (%s) says why, and another press tries again',
    async (refusal) => {
      const room = await roomWith();
      room.sound.refusal = refusal;
      room.rehearsal.press(room.sound.now);
      await turns();
      expect(room.rehearsal.snapshot.sound).toEqual({ state: 'refused', reason: refusal });
      room.sound.refusal = null;
      await countIn(room);
      expect(room.rehearsal.snapshot.sound.state).toBe('open');
    },
  );

  test('without storage the player can work, and is told that nothing will be kept', async () => {
    const room = await roomWith(openMemoryLibrary(), 'storage-refused');
    await firstLoop(room);
    await room.rehearsal.settled();
    expect(room.rehearsal.snapshot.keeping).toEqual({ state: 'not-kept', reason: 'storage-refused' });
    expect(room.rehearsal.snapshot.song.sections[0]?.layers).toHaveLength(1);
  });

  test('a write that fails is tried again, and nothing of the pass is missing', async () => {
    const memory = openMemoryLibrary();
    let full = false;
    const library: Library = {
      ...memory,
      appendChunk: (chunk) =>
        full ? Promise.resolve({ ok: false, reason: 'storage-full' } as const) : memory.appendChunk(chunk),
    };
    const room = await roomWith(library);
    const origin = await countIn(room);
    room.sound.play = strokes([origin, origin + BAR, origin + 2 * BAR, origin + 3 * BAR]);
    room.sound.runUntil(origin + BAR);
    await room.rehearsal.settled();
    full = true;
    room.sound.runUntil(origin + 2 * BAR);
    await room.rehearsal.settled();
    expect(room.rehearsal.snapshot.keeping).toEqual({ state: 'not-kept', reason: 'storage-full' });
    full = false;
    room.rehearsal.press(at(origin + 4 * BAR));
    room.sound.runUntil(origin + 5 * BAR);
    await room.rehearsal.settled();
    expect(room.rehearsal.snapshot.keeping).toEqual({ state: 'kept' });
    const take = room.rehearsal.snapshot.song.sections[0]?.layers[0]?.takes[0];
    const read = await library.readRecording(
      take?.recording ?? asId('none'),
      0,
      take?.bodyStart ?? frames(0),
      frames(2 * BAR),
    );
    expect(read.ok && read.value.missing).toBe(0);
  });

  test('sound that is interrupted keeps what came in, and opens anew at the next press', async () => {
    const room = await roomWith();
    await firstLoop(room);
    room.sound.interrupt('input-ended');
    expect(room.rehearsal.snapshot.sound).toMatchObject({ interruption: 'input-ended' });
    expect(room.rehearsal.snapshot.transport.state).toBe('stopped');
    room.rehearsal.press(room.sound.now);
    await turns();
    expect(room.rehearsal.snapshot.sound).toMatchObject({ state: 'open', interruption: null });
  });

  test('a stated round trip counts from the device: the limiter is added', async () => {
    const room = await roomWith();
    room.rehearsal.openSound();
    await turns();
    room.rehearsal.stateRoundTrip(milliseconds(100));
    const { sound } = room.rehearsal.snapshot;
    expect(sound.state === 'open' && sound.roundTrip).toEqual({
      frames: frames(4800 + room.sound.lookAhead),
      ms: 100,
      how: 'stated',
    });
  });
});
