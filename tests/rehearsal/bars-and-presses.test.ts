/** How long passes are, how presses are taken, and what changes inside a section. */
import { describe, expect, test } from 'vitest';
import { PRESS_RULES } from '../../src/core/meter/presses.js';
import type { SectionId } from '../../src/core/song/ids.js';
import { asId } from '../../src/core/song/ids.js';
import type { SectionStretch } from '../../src/core/song/section-stretch.js';
import type { Section } from '../../src/core/song/song.js';
import { bars, bpm, milliseconds } from '../../src/core/units/index.js';
import { at, BAR, BEAT, countIn, firstLoop, type Room, roomWith, turns } from '../support/room.js';

const SECTION = asId<SectionId>('section');
const sectionOf = ({ rehearsal }: Room): Section => rehearsal.snapshot.song.sections[0]!;
const stateOf = ({ rehearsal, sound }: Room): string => {
  rehearsal.position(sound.now);
  return rehearsal.snapshot.transport.state;
};

describe('the length of a pass', () => {
  test('is that of the section unless it is set, and then goes on over as many rounds as it takes', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    const origin = await firstLoop(room);
    expect(rehearsal.snapshot.passes.bars).toBeNull();
    rehearsal.setPassBars(bars(8));
    expect(rehearsal.snapshot.passes.bars).toBe(8);
    sound.runUntil(origin + 8 * BAR - BEAT);
    rehearsal.press(at(origin + 8 * BAR - 2 * BEAT));
    sound.runUntil(origin + 15 * BAR);
    expect(sectionOf(room).layers).toHaveLength(1);
    sound.runUntil(origin + 17 * BAR);
    expect(sectionOf(room)).toMatchObject({ bars: 4, layers: [{}, { takes: [{ bars: 8, startBar: 0 }] }] });
  });

  test('that is shorter than the section repeats where it was played', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    room.rehearsal.setPassBars(bars(1));
    room.sound.runUntil(origin + 6 * BAR - BEAT);
    room.rehearsal.press(at(origin + 6 * BAR - 2 * BEAT));
    room.sound.runUntil(origin + 8 * BAR);
    expect(sectionOf(room).layers[1]?.takes[0]).toMatchObject({ bars: 1, bodyFrames: BAR });
  });

  test('gives an open section its length, and the first pass ends by itself', async () => {
    const room = await roomWith();
    room.rehearsal.setPassBars(bars(2));
    const origin = await countIn(room);
    room.sound.runUntil(origin + 3 * BAR);
    expect(sectionOf(room)).toMatchObject({ bars: 2, layers: [{ takes: [{ bars: 2 }] }] });
  });

  test.each([0, 65])('of %i bars is refused in words, and nothing changes', async (length) => {
    const { rehearsal } = await roomWith();
    rehearsal.setPassBars(bars(4));
    rehearsal.setPassBars(bars(length));
    expect(rehearsal.snapshot.notice).toEqual({ type: 'setting-refused', reason: 'pass-bars-out-of-range' });
    expect(rehearsal.snapshot.passes.bars).toBe(4);
  });
});

describe('presses', () => {
  /** Lines up a pass and presses again 200 ms later. */
  async function pressTwice(guard: number | null): Promise<string> {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    const origin = await firstLoop(room);
    if (guard !== null) rehearsal.setPressRules({ ...PRESS_RULES, guard: milliseconds(guard) });
    const first = origin + 6 * BAR + 2 * BEAT;
    sound.runUntil(first + 12_000);
    rehearsal.press(at(first));
    rehearsal.press(at(first + 9600));
    return stateOf(room);
  }

  test('that follow within 300 ms are ignored', async () => {
    expect(await pressTwice(null)).toBe('waiting');
  });

  test('that follow later than the guard that was set take the pass back', async () => {
    expect(await pressTwice(150)).toBe('playing');
  });

  test.each([
    [1, 'layering'],
    [0.25, 'waiting'],
  ])('half a beat after a line, with a grace of %f beats: %s', async (graceBeats, state) => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    room.rehearsal.setPressRules({ ...PRESS_RULES, graceBeats });
    const pressed = origin + 6 * BAR + BEAT / 2;
    room.sound.runUntil(pressed + 2000);
    room.rehearsal.press(at(pressed));
    expect(stateOf(room)).toBe(state);
  });

  test('keep their rules where others are refused', async () => {
    const { rehearsal } = await roomWith();
    rehearsal.setPressRules({ ...PRESS_RULES, graceBeats: 5 });
    expect(rehearsal.snapshot.notice).toEqual({ type: 'setting-refused', reason: 'grace-out-of-range' });
    rehearsal.setPressRules({ ...PRESS_RULES, guard: milliseconds(-1) });
    expect(rehearsal.snapshot.notice).toEqual({ type: 'setting-refused', reason: 'guard-out-of-range' });
    expect(rehearsal.snapshot.passes.presses).toEqual(PRESS_RULES);
  });
});

describe('what changes inside a section', () => {
  const plain = { metre: null, tempo: null } as const;
  const rit: readonly SectionStretch[] = [{ type: 'gradual', fromBar: bars(1), ...plain, toBpm: bpm(48), holds: [] }];
  const waiting: readonly SectionStretch[] = [
    {
      type: 'steady',
      fromBar: bars(0),
      ...plain,
      holds: [{ bar: bars(1), beat: 3, longer: { type: 'until-pressed' } }],
    },
  ];

  /** A room whose section has three bars and those stretches, counted in. */
  async function counted(
    stretches: readonly SectionStretch[],
  ): Promise<{ readonly room: Room; readonly origin: number }> {
    const room = await roomWith();
    room.rehearsal.setSectionBars(SECTION, bars(3));
    room.rehearsal.setStretches(SECTION, stretches);
    return { room, origin: await countIn(room) };
  }

  test('is played: the pass is as long as its bars are', async () => {
    const { room, origin } = await counted(rit);
    room.sound.runUntil(origin + 8 * BAR);
    // Two bars from 96 to 48: ∫₀² 4·60·48000 / (96 − 24x) dx = 480,000 · ln 2 frames.
    const length = BAR + Math.round(480_000 * Math.LN2);
    expect(sectionOf(room).layers[0]?.takes[0]).toMatchObject({ bars: 3, bodyFrames: length });
  });

  test('stands still where it waits for a press, and is from then on as long as it was', async () => {
    const { room, origin } = await counted(waiting);
    room.sound.runUntil(origin + 2 * BAR + 40_000);
    room.rehearsal.press(room.sound.now);
    room.sound.runUntil(origin + 5 * BAR);
    const [stretch] = sectionOf(room).stretches;
    const longer = stretch?.type === 'steady' ? stretch.holds[0]?.longer : undefined;
    if (longer?.type !== 'frames') throw new Error('Got a fermata that waits when expected a length.');
    expect(longer.frames).toBeGreaterThan(40_000);
    expect(longer.frames).toBeLessThan(45_000);
    expect(sectionOf(room).layers[0]?.takes[0]?.bodyFrames).toBe(3 * BAR + longer.frames);

    room.rehearsal.stop(room.sound.now);
    room.sound.runUntil(room.sound.rendered + BEAT);
    room.rehearsal.takeBack(room.sound.now);
    expect(sectionOf(room)).toMatchObject({ layers: [], stretches: waiting });
    room.rehearsal.putBack();
    expect(sectionOf(room)).toMatchObject({ layers: [{}], stretches: [stretch] });
  });

  test('becomes known under a layer that ended before it, and that layer comes again with every round', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.setSectionBars(SECTION, bars(3));
    rehearsal.setStretches(SECTION, waiting);
    rehearsal.setPassBars(bars(1));
    rehearsal.setClick(false);
    const origin = await countIn(room);
    sound.play = (heard) => (heard === origin + 50_000 ? 0.5 : 0);
    sound.runUntil(origin + 2 * BAR + 10_000);
    await turns();
    expect(sectionOf(room)).toMatchObject({ layers: [{ takes: [{ bars: 1 }] }], stretches: waiting });
    rehearsal.press(sound.now);
    sound.runUntil(origin + 3 * BAR);
    await turns();
    const [stretch] = sectionOf(room).stretches;
    const longer = stretch?.type === 'steady' ? stretch.holds[0]?.longer : undefined;
    if (longer?.type !== 'frames') throw new Error('Got a fermata that waits when expected a length.');
    const round = 3 * BAR + longer.frames;
    sound.runUntil(origin + 3 * round);
    const out = sound.out.slice(sound.lookAhead);
    const heard = [...out.entries()].filter(([frame, sample]) => frame > origin && sample !== 0);
    expect(heard.map(([frame]) => frame - origin)).toEqual([1, 2].map((k) => k * round + 50_000));
  });

  test('stays as it is while something is recorded', async () => {
    const { room } = await counted(rit);
    room.rehearsal.setStretches(SECTION, []);
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'stop-first' });
    expect(sectionOf(room).stretches).toEqual(rit);
  });
});

describe('how the sound keeps up', () => {
  test('is counted, and no notice is made of it', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    const origin = await firstLoop(room);
    expect(rehearsal.snapshot.health).toEqual({
      load: null,
      gaps: 0,
      lateFrames: 0,
      lostFrames: 0,
      timesFull: 0,
      damagedSamples: 0,
    });
    const { notice } = rehearsal.snapshot;
    sound.play = (heard) => (heard % 48_000 === 0 ? NaN : 0);
    sound.runUntil(origin + 8 * BAR);
    rehearsal.position(sound.now);
    expect(rehearsal.snapshot.health.damagedSamples).toBeGreaterThan(3);
    expect(rehearsal.snapshot.notice).toBe(notice);
  });
});
