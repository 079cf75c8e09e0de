import { beforeEach, describe, expect, test } from 'vitest';
import { takeInUse } from '../../src/core/song/lookups.js';
import type { Take } from '../../src/core/song/song.js';
import { bars, decibels, frames, milliseconds } from '../../src/core/units/index.js';
import type { RoundTripView } from '../../src/rehearsal/round-trip-view.js';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';
import { at, BAR, BEAT, countIn, roomWith, turns, type Room } from '../support/room.js';
import { strokes } from '../support/signals.js';

const RATE = 48_000;
const SETTLED = 15 * RATE + 2000;
const WHOLE = { kind: 'whole', way: 'cable', level: decibels(-36) } as const;

const tripOf = ({ rehearsal }: Room): RoundTripView => {
  const { trip } = rehearsal.snapshot;
  if (trip === null) throw new Error('Got no round trip when expected one.');
  return trip;
};

/** What is mixed comes in again a round trip later, through a cable that turns it upside down. */
function cable(room: Room): void {
  const { sound } = room;
  sound.play = (heard) => -0.5 * (sound.out[heard + sound.lookAhead] ?? 0);
}

async function opened(library = openMemoryLibrary()): Promise<Room> {
  const room = await roomWith(library);
  room.sound.roundTrip = 5003;
  room.rehearsal.openSound();
  await turns();
  cable(room);
  return room;
}

/** Lets time pass until nothing is being measured any more. */
async function untilDone(room: Room): Promise<void> {
  const { rehearsal, sound } = room;
  for (let i = 0; i < 400 && tripOf(room).measuring !== null; i++) {
    sound.runUntil(sound.rendered + 9600);
    rehearsal.position(sound.now);
    await turns();
  }
  expect(tripOf(room).measuring).toBeNull();
}

async function measured(room: Room): Promise<void> {
  room.sound.runUntil(SETTLED);
  room.rehearsal.measureRoundTrip(WHOLE);
  await untilDone(room);
}

describe('the round trip', () => {
  let room: Room;
  beforeEach(async () => {
    room = await opened();
  });

  test('is an estimate, and called so, until it is measured', () => {
    room.sound.runUntil(RATE);
    expect(tripOf(room)).toMatchObject({ how: 'estimated', sure: false, isFresh: false, measuredAt: null });
    expect(tripOf(room).advice).toEqual({ type: 'measure-again' });
  });

  test('is measured once the sound has settled, three times, to the frame', async () => {
    room.sound.runUntil(RATE);
    room.rehearsal.measureRoundTrip(WHOLE);
    expect(tripOf(room).measuring).toMatchObject({ state: 'settling' });
    room.sound.runUntil(SETTLED);
    room.rehearsal.position(room.sound.now);
    await turns();
    expect(tripOf(room).measuring).toEqual({ state: 'sending', shot: 1, of: 3 });
    await untilDone(room);
    expect(tripOf(room)).toMatchObject({ frames: 5003, how: 'cable', sure: true, isFresh: true });
    expect(tripOf(room).outcome).toMatchObject({ type: 'measured', frames: 5003, inverted: true });
    expect(tripOf(room).ms).toBeCloseTo(((5003 - room.sound.lookAhead) * 1000) / RATE, 6);
  });

  test('that was measured places the passes that follow', async () => {
    await measured(room);
    const origin = await countIn(room);
    room.sound.play = (heard) => (heard === origin + 10 ? 0.5 : 0);
    room.sound.runUntil(origin + 130_000);
    room.rehearsal.press(room.sound.now);
    room.sound.runUntil(origin + 260_000);
    const take = room.rehearsal.snapshot.song.sections[0]!.layers[0]!.takes[0]!;
    expect(take.alignment).toMatchObject([{ roundTrip: 5003, how: 'cable', sure: true }]);
  });

  test('is kept with its devices, and no more than a guess when they are opened again', async () => {
    const library = openMemoryLibrary();
    room = await opened(library);
    await measured(room);
    await room.rehearsal.settled();
    const again = await opened(library);
    expect(tripOf(again)).toMatchObject({ frames: 5003, how: 'cable', sure: false, isFresh: false });
    expect(tripOf(again).measuredAt).not.toBeNull();
  });

  test('that has moved is found again by the check of a second', async () => {
    await measured(room);
    room.rehearsal.checkRoundTrip('cable');
    await untilDone(room);
    expect(tripOf(room).outcome).toMatchObject({ type: 'checked', movedBy: 0 });
    room.sound.roundTrip += 312;
    room.rehearsal.checkRoundTrip('cable');
    await untilDone(room);
    expect(tripOf(room).outcome).toMatchObject({ type: 'checked', movedBy: 312 });
    expect(tripOf(room)).toMatchObject({ frames: 5315, sure: true });
  });

  test('stays what it was where nothing comes back, and the reason is told', async () => {
    room.sound.play = () => 0;
    await measured(room);
    expect(tripOf(room).outcome).toMatchObject({ type: 'refused', kind: 'whole', why: { type: 'silence' } });
    expect(tripOf(room)).toMatchObject({ how: 'estimated', sure: false });
  });

  test('is not measured while something plays, nor goes on being so', async () => {
    room.sound.runUntil(SETTLED);
    room.rehearsal.measureRoundTrip(WHOLE);
    await turns();
    room.sound.runUntil(room.sound.rendered + 4800);
    room.rehearsal.press(room.sound.now);
    await untilDone(room);
    expect(tripOf(room).outcome).toMatchObject({ type: 'refused', why: { type: 'stopped' } });
    room.rehearsal.measureRoundTrip(WHOLE);
    await untilDone(room);
    expect(tripOf(room).outcome).toMatchObject({ type: 'refused', why: { type: 'still-playing' } });
  });

  test('is not measured by surprise: playing ends the waiting', async () => {
    room.rehearsal.measureRoundTrip(WHOLE);
    room.rehearsal.hearBeat(room.sound.now);
    expect(tripOf(room)).toMatchObject({ measuring: null, outcome: { type: 'refused', why: { type: 'stopped' } } });
    room.rehearsal.stop(room.sound.now);
    room.sound.runUntil(SETTLED);
    room.rehearsal.position(room.sound.now);
    await turns();
    expect(tripOf(room).measuring).toBeNull();
  });

  test('is silent at once when the player lets it be', async () => {
    room.sound.runUntil(SETTLED);
    room.rehearsal.measureRoundTrip(WHOLE);
    for (let i = 0; i < 4; i++) await turns();
    room.sound.runUntil(room.sound.rendered + 4800);
    expect(Math.max(...room.sound.out.slice(-1000))).toBeGreaterThan(0);
    room.rehearsal.leaveMeasuring();
    room.sound.runUntil(room.sound.rendered + 2000);
    expect(room.sound.out.slice(-1000).every((sample) => sample === 0)).toBe(true);
  });

  test('is left alone when the player says so', () => {
    room.rehearsal.measureRoundTrip(WHOLE);
    room.rehearsal.leaveMeasuring();
    expect(tripOf(room)).toMatchObject({ measuring: null, outcome: { type: 'refused', why: { type: 'stopped' } } });
  });

  test('is never probed louder than music may be', async () => {
    room.sound.runUntil(SETTLED);
    room.rehearsal.measureRoundTrip({ ...WHOLE, level: decibels(0) });
    await turns();
    room.sound.runUntil(room.sound.rendered + 9600);
    expect(Math.max(...room.sound.out.slice(-4800))).toBeCloseTo(10 ** (-12 / 20), 4);
  });

  test('that the player states is not replaced by one shot, and says nothing of another pace or other devices', async () => {
    await measured(room);
    room.rehearsal.stateRoundTrip(milliseconds(90));
    const stated = tripOf(room).frames;
    room.rehearsal.checkRoundTrip('cable');
    await untilDone(room);
    expect(tripOf(room)).toMatchObject({ how: 'stated', frames: stated, outcome: { type: 'checked', isUsed: false } });
    room.rehearsal.usePace('quick');
    for (let i = 0; i < 4; i++) await turns();
    expect(tripOf(room).how).not.toBe('stated');
  });

  test('that was kept is confirmed by a check, or shown to have moved and not called sure', async () => {
    const library = openMemoryLibrary();
    room = await opened(library);
    await measured(room);
    await room.rehearsal.settled();
    const same = await opened(library);
    same.sound.runUntil(SETTLED);
    same.rehearsal.checkRoundTrip('cable');
    await untilDone(same);
    expect(tripOf(same)).toMatchObject({ frames: 5003, sure: true, isFresh: true });
    const moved = await opened(library);
    moved.sound.roundTrip = 5100;
    moved.sound.runUntil(SETTLED);
    moved.rehearsal.checkRoundTrip('cable');
    await untilDone(moved);
    expect(tripOf(moved)).toMatchObject({ frames: 5100, sure: false, isFresh: false });
  });

  test('that the player states goes before an estimate, and what is measured later before that', async () => {
    room.rehearsal.stateRoundTrip(100 as never);
    expect(tripOf(room)).toMatchObject({ how: 'stated', frames: frames(4800 + room.sound.lookAhead) });
    await measured(room);
    expect(tripOf(room)).toMatchObject({ how: 'cable', frames: 5003 });
  });
});

/** The first loop, played over an estimate that is 397 frames short. */
async function loopOverAnEstimate(room: Room): Promise<number> {
  const { rehearsal, sound } = room;
  sound.roundTrip = 5400;
  sound.runUntil(SETTLED);
  const origin = await countIn(room);
  sound.play = strokes([origin, origin + BEAT]);
  sound.runUntil(origin + BAR - 2000);
  rehearsal.press(at(origin + BAR - 4000));
  sound.runUntil(origin + 3 * BAR);
  rehearsal.stop(at(origin + 3 * BAR - 3000));
  sound.runUntil(origin + 3 * BAR + 9600);
  await turns();
  cable(room);
  return origin;
}

const takeOf = ({ rehearsal }: Room): Take => takeInUse(rehearsal.snapshot.song.sections[0]!.layers[0]!);

describe('a layer', () => {
  test('that was placed by an estimate moves to where it was played once the round trip is measured', async () => {
    const room = await opened();
    await loopOverAnEstimate(room);
    const before = takeOf(room);
    expect(before.alignment).toMatchObject([{ roundTrip: 5003, how: 'estimated', sure: false }]);
    room.rehearsal.measureRoundTrip(WHOLE);
    await untilDone(room);
    room.rehearsal.position(room.sound.now);
    const after = takeOf(room);
    expect(after.alignment).toEqual([{ fromBar: 0, roundTrip: 5400, how: 'cable', sure: true }]);
    expect(after.bodyStart).toBe(before.bodyStart + 397);
    expect(room.rehearsal.snapshot.notice).toMatchObject({ type: 'take-moved', name: 'Layer 1' });
  });

  test('goes back with its pass, and comes back as it was aligned', async () => {
    const room = await opened();
    await loopOverAnEstimate(room);
    room.rehearsal.measureRoundTrip(WHOLE);
    await untilDone(room);
    room.rehearsal.position(room.sound.now);
    room.rehearsal.takeBack(room.sound.now);
    expect(room.rehearsal.snapshot.song.sections[0]!.layers).toEqual([]);
    room.rehearsal.putBack();
    expect(takeOf(room).alignment).toMatchObject([{ roundTrip: 5400, how: 'cable' }]);
  });

  test('that the player moved by hand stays there, whatever is measured later', async () => {
    const room = await opened();
    await loopOverAnEstimate(room);
    const { id: layer } = room.rehearsal.snapshot.song.sections[0]!.layers[0]!;
    const section = room.rehearsal.snapshot.sectionInHand;
    room.rehearsal.realignFrom(section, layer, bars(0), milliseconds(10));
    expect(takeOf(room).alignment).toEqual([{ fromBar: 0, roundTrip: 5483, how: 'stated', sure: true }]);
    room.rehearsal.measureRoundTrip(WHOLE);
    await untilDone(room);
    room.rehearsal.position(room.sound.now);
    expect(takeOf(room).alignment).toMatchObject([{ roundTrip: 5483, how: 'stated' }]);
    room.rehearsal.takeBack(room.sound.now);
    expect(takeOf(room).alignment).toMatchObject([{ roundTrip: 5003 }]);
  });
});

describe('devices and pace', () => {
  test('open the sound anew as they were chosen, and are kept', async () => {
    const library = openMemoryLibrary();
    const room = await opened(library);
    room.rehearsal.usePace('quick');
    room.rehearsal.useOutput('test-output');
    await turns();
    await turns();
    expect(room.rehearsal.snapshot.sound.state).toBe('open');
    expect(room.rehearsal.snapshot.choice).toEqual({ inputId: null, outputId: 'test-output', pace: 'quick' });
    await room.rehearsal.settled();
    expect(await library.setUp()).toMatchObject({ value: { outputId: 'test-output', pace: 'quick' } });
  });

  test('stay as they are while something is recorded', async () => {
    const room = await opened();
    await countIn(room);
    room.rehearsal.usePace('quick');
    expect(room.rehearsal.snapshot.choice.pace).toBe('steady');
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'stop-for-devices' });
  });

  test('that are chosen while the sound is being opened are the ones that are open in the end', async () => {
    const room = await roomWith();
    const asked: (string | null)[] = [];
    const open = room.sound.open.bind(room.sound);
    room.sound.open = (request) => {
      asked.push(request.inputId);
      return open(request);
    };
    room.rehearsal.openSound();
    room.rehearsal.useInput('a');
    room.rehearsal.useInput('b');
    for (let i = 0; i < 8; i++) await turns();
    expect(asked).toEqual([null, 'b']);
    expect(room.rehearsal.snapshot.sound.state).toBe('open');
  });
});

describe('a press that opens the sound', () => {
  test('is answered once, however often it is repeated meanwhile', async () => {
    const room = await roomWith();
    room.rehearsal.press(room.sound.now);
    room.rehearsal.press(room.sound.now);
    room.rehearsal.openSound();
    for (let i = 0; i < 4; i++) await turns();
    room.rehearsal.position(room.sound.now);
    expect(room.rehearsal.snapshot.transport.state).toBe('counting-in');
  });

  test('is taken back by a stop before the sound is open', async () => {
    const room = await roomWith();
    room.rehearsal.press(room.sound.now);
    room.rehearsal.stop(room.sound.now);
    for (let i = 0; i < 4; i++) await turns();
    room.rehearsal.position(room.sound.now);
    expect(room.rehearsal.snapshot.sound.state).toBe('open');
    expect(room.rehearsal.snapshot.transport.state).toBe('stopped');
  });
});

test('what is still coming in after a stop is not kept yet', async () => {
  const room = await opened();
  const origin = await countIn(room);
  room.sound.play = strokes([origin, origin + BEAT]);
  room.sound.runUntil(origin + 1.8 * BAR);
  room.rehearsal.stop(at(origin + 1.8 * BAR - 3000));
  expect(room.rehearsal.hasUnkept).toBe(true);
  room.sound.runUntil(origin + 8 * BAR);
  await room.rehearsal.settled();
  expect(room.rehearsal.hasUnkept).toBe(false);
});
