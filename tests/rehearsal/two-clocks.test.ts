import { beforeEach, describe, expect, test } from 'vitest';
import { takeInUse } from '../../src/core/song/lookups.js';
import { decibels } from '../../src/core/units/index.js';
import type { RoundTripView } from '../../src/rehearsal/round-trip-view.js';
import { at, BAR, countIn, roomWith, turns, type Room } from '../support/room.js';

const RATE = 48_000;
const SETTLED = 15 * RATE + 2000;
const WHOLE = { kind: 'whole', way: 'cable', level: decibels(-36) } as const;
const TRIP = 5003;

const tripOf = ({ rehearsal }: Room): RoundTripView => rehearsal.snapshot.trip!;

async function opened(input: string, output: string): Promise<Room> {
  const room = await roomWith();
  const { sound } = room;
  sound.names = { input, output };
  sound.roundTrip = TRIP;
  room.rehearsal.openSound();
  await turns();
  sound.play = (heard) => 0.5 * (sound.out[heard + sound.lookAhead] ?? 0);
  return room;
}

/** Runs on; the round trip grows by so many parts in a million. */
async function runFor(room: Room, frames: number, ppm: number): Promise<void> {
  const { sound, rehearsal } = room;
  const end = sound.rendered + frames;
  while (sound.rendered < end) {
    sound.runUntil(Math.min(end, sound.rendered + 4800));
    sound.roundTrip = TRIP + Math.round(sound.rendered * ppm * 1e-6);
    rehearsal.position(sound.now);
    await turns();
  }
}

async function measure(room: Room, ppm: number): Promise<void> {
  room.rehearsal.measureRoundTrip(WHOLE);
  for (let i = 0; i < 100 && tripOf(room).measuring !== null; i++) await runFor(room, 9600, ppm);
}

async function measuredTwice(
  ppm: number,
  apart = 61 * RATE,
  input = 'Pier microphone',
  output = 'Quay box',
): Promise<Room> {
  const room = await opened(input, output);
  await runFor(room, SETTLED, ppm);
  await measure(room, ppm);
  await runFor(room, apart, ppm);
  await measure(room, ppm);
  return room;
}

describe('two devices whose clocks drift apart', () => {
  let room: Room;
  beforeEach(async () => {
    room = await measuredTwice(40);
  }, 60_000);

  test('are found out by two measurements a minute apart', () => {
    const { clocks, sure, outcome } = tripOf(room);
    expect(clocks?.kind).toBe('two-clocks');
    expect(clocks?.ppm).toBeCloseTo(40, 0);
    expect(sure).toBe(false);
    expect(outcome).toMatchObject({ type: 'drifted', isKnown: true });
  });

  test('place the passes that follow by the line at their time, and claim no more than a millisecond', async () => {
    await runFor(room, 20 * RATE, 40);
    const { rehearsal, sound } = room;
    const origin = await countIn(room);
    await runFor(room, origin + 2 * BAR - 3000 - sound.rendered, 40);
    rehearsal.press(at(origin + 2 * BAR - 5000));
    const trueTrip = sound.roundTrip;
    await runFor(room, 2 * BAR, 40);
    const { alignment } = takeInUse(rehearsal.snapshot.song.sections[0]!.layers[0]!);
    expect(alignment).toHaveLength(1);
    expect(alignment[0]?.sure).toBe(false);
    expect(Math.abs((alignment[0]?.roundTrip ?? 0) - trueTrip)).toBeLessThan(8);
    // By either measurement alone it would be farther off than that.
    expect(trueTrip - TRIP).toBeGreaterThan(3 * (RATE / 1000));
  });
});

describe('a round trip that is one figure', () => {
  test.each([
    ['devices whose clocks agree', 0, 'Pier microphone', 'Quay box', 'one-clock'],
    ['one device, named twice', 0, 'Microphone (Quay box)', 'Speakers (Quay box)', undefined],
    ['one device', 0, 'Quay box', 'Quay box', undefined],
    ['devices without names', 0, '', 'Quay box', undefined],
  ] as const)(
    'of %s stays sure',
    async (_what, ppm, input, output, kind) => {
      const room = await measuredTwice(ppm, 61 * RATE, input, output);
      expect(tripOf(room).clocks?.kind).toBe(kind);
      expect(tripOf(room)).toMatchObject({ frames: TRIP, sure: true });
    },
    60_000,
  );
});

test('what drifts is no measurement yet, until there are two a minute apart', async () => {
  const room = await measuredTwice(40, 5 * RATE);
  expect(tripOf(room)).toMatchObject({ clocks: null, sure: false, outcome: { type: 'drifted', isKnown: false } });
  expect(Math.abs(tripOf(room).frames - room.sound.roundTrip)).toBeLessThan(10);
}, 60_000);

test('one device that does not answer the same each time is refused as ever', async () => {
  const room = await opened('Quay box', 'Quay box');
  await runFor(room, SETTLED, 40);
  await measure(room, 40);
  expect(tripOf(room).outcome).toMatchObject({ type: 'refused', why: { type: 'disagree' } });
}, 60_000);
