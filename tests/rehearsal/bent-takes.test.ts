/** A take that something moved while it was played, put right by hand: heard, drawn, blended and reloaded. */
import { describe, expect, test } from 'vitest';
import type { SectionId } from '../../src/core/song/ids.js';
import { asId } from '../../src/core/song/ids.js';
import type { Layer } from '../../src/core/song/song.js';
import { bars, milliseconds } from '../../src/core/units/index.js';
import { EngineHandles } from '../../src/rehearsal/handles.js';
import { BAR, BEAT, type Room, at, countIn, roomWith, turns } from '../support/room.js';
import { strokes } from '../support/signals.js';

const SECTION = asId<SectionId>('section');
const LOOP = 4 * BAR;
const TAIL = 4.1 * 48_000;
/** From bar 2 on all that was played came in later by so many frames, 12.5 ms. */
const LATE = 600;
const FROM = bars(2);
const SHIFT = milliseconds(12.5);

const onsets = Array.from({ length: 16 }, (_, k) => k * BEAT + 50 * (k % 4));
/** What was played from the first line on. It has died away before every line. */
const played = strokes(onsets, { level: 0.4, decay: 2000, seed: 3 });

const layerOf = ({ rehearsal }: Room, index = 0): Layer => rehearsal.snapshot.song.sections[0]!.layers[index]!;
const inkOf = ({ rehearsal }: Room) => rehearsal.snapshot.layers[0]?.ink ?? null;

async function until(isSo: () => boolean): Promise<void> {
  for (let turn = 0; turn < 500; turn++) {
    if (isSo()) return;
    await turns();
  }
  throw new Error('Got nothing in 500 turns when expected it to become so.');
}

/** Plays on, as long as it takes, with the page answering what the engine asks for. */
async function play({ sound }: Room, to: number): Promise<void> {
  while (sound.rendered < to) {
    sound.runUntil(Math.min(to, sound.rendered + BEAT));
    while (sound.wanted > 0) await turns();
    await turns();
  }
}

/** Records a loop of four bars, of which the last two came in late. */
async function movedLoop(room: Room): Promise<number> {
  const { rehearsal, sound } = room;
  rehearsal.setClick(false);
  const origin = await countIn(room);
  sound.play = (heard) => {
    const at = heard - origin;
    if (at < 2 * BAR) return played(at);
    return at < 2 * BAR + LATE ? 0 : played(at - LATE);
  };
  sound.runUntil(origin + LOOP - 3000);
  rehearsal.press(at(origin + LOOP - 5000));
  sound.runUntil(origin + LOOP + TAIL);
  await until(() => layerOf(room).takes[0]?.seam.decided !== null);
  return origin;
}

const putRight = (room: Room): void => {
  room.rehearsal.realignFrom(SECTION, layerOf(room).id, FROM, SHIFT);
};

/** The next line at which the loop begins, a beat from now or later. */
const lineAfter = ({ sound }: Room, origin: number): number =>
  origin + Math.ceil((sound.rendered + BEAT - origin) / LOOP) * LOOP;

/** Frames of a round, from a line on, at which something else sounds than what was played. */
function wrongIn({ sound }: Room, line: number): readonly number[] {
  const out = sound.out.slice(line + sound.lookAhead, line + LOOP + sound.lookAhead);
  return out.flatMap((sample, i) => (sample === played(i) ? [] : [i])).slice(0, 5);
}

describe('a take that was moved while it was played', () => {
  test('sounds where it was played in every bar, once it is put right', async () => {
    const room = await roomWith();
    const origin = await movedLoop(room);
    const before = lineAfter(room, origin);
    await play(room, before + LOOP + BEAT);
    expect(wrongIn(room, before)).toEqual([2 * BAR, 2 * BAR + 1, 2 * BAR + 2, 2 * BAR + 3, 2 * BAR + 4]);
    putRight(room);
    await play(room, before + 3 * LOOP + BEAT);
    expect(wrongIn(room, before + LOOP)).toEqual([]);
    expect(wrongIn(room, before + 2 * LOOP)).toEqual([]);
    expect(room.sound.faults).toEqual([]);
  });

  test('sounds as it did when that is taken back', async () => {
    const room = await roomWith();
    const origin = await movedLoop(room);
    putRight(room);
    const line = lineAfter(room, origin);
    await play(room, line + LOOP + BEAT);
    expect(wrongIn(room, line)).toEqual([]);
    room.rehearsal.takeBack(room.sound.now);
    await play(room, line + 3 * LOOP + BEAT);
    expect(wrongIn(room, line + 2 * LOOP)[0]).toBe(2 * BAR);
  });

  test('is drawn where it sounds', async () => {
    const room = await roomWith();
    await movedLoop(room);
    const off = () => {
      const strokesDrawn = inkOf(room)?.strokes ?? [];
      return strokesDrawn.map(({ at: place }, i) => Math.round(place * LOOP) - onsets[i]!);
    };
    await until(() => off().length === 16);
    expect(Math.max(...off())).toBeGreaterThan(240);
    putRight(room);
    await until(() => Math.max(...off()) <= 240);
    // Within a step of 5 ms.
    expect(off().map((frames) => Math.abs(frames) <= 240)).toEqual(Array<boolean>(16).fill(true));
  });

  test('sounds so after a reload too', async () => {
    const room = await roomWith();
    await movedLoop(room);
    putRight(room);
    await room.rehearsal.settled();
    const again = await roomWith(room.library);
    const { rehearsal, sound } = again;
    rehearsal.setClick(false);
    rehearsal.openSound();
    await turns();
    while (sound.wanted > 0) await turns();
    rehearsal.press(sound.now);
    const start = sound.origin;
    await play(again, start + 2 * LOOP + BEAT);
    expect(wrongIn(again, start)).toEqual([]);
    expect(wrongIn(again, start + LOOP)).toEqual([]);
    expect(sound.faults).toEqual([]);
  });

  test('goes into a blend as it sounds', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    const origin = await movedLoop(room);
    putRight(room);
    const line = lineAfter(room, origin);
    sound.play = () => 0;
    sound.runUntil(line - BEAT);
    rehearsal.press(at(line - BEAT));
    sound.runUntil(line + LOOP + TAIL);
    const layers = () => rehearsal.snapshot.song.sections[0]!.layers;
    await until(() => layers().length === 2 && layers().every(({ takes }) => takes[0]?.seam.decided !== null));
    // It is loaded when it is needed; here it is already.
    await import('../../src/rehearsal/blending.js');
    rehearsal.blend(
      SECTION,
      layers().map(({ id }) => id),
    );
    await until(() => layers().length === 1);
    await rehearsal.settled();
    const blended = layerOf(room).takes[0]!;
    const read = await room.library.readRecording(blended.recording, 0, blended.bodyStart, blended.bodyFrames);
    const samples = read.ok ? read.value.samples : new Float32Array(0);
    expect(samples).toHaveLength(LOOP);
    expect(samples.findIndex((sample, i) => sample !== played(i))).toBe(-1);
  });
});

describe('the voices of a layer', () => {
  test('keep their numbers, the first that of the layer, also when another take is recorded', () => {
    const handles = new EngineHandles();
    const layer = layerId('oars');
    const [first, later] = [handles.voiceOf(layer), handles.voiceOf(layer, 2)];
    expect(handles.voiceOf(layer, 0)).toBe(first);
    expect(handles.voiceOf(layer, 2)).toBe(later);
    expect(new Set([first, later, handles.voiceOf(layer, 3), handles.voiceOf(layerId('rope'), 2)]).size).toBe(4);
    handles.nameVoice(5, layer);
    expect([handles.voiceOf(layer), handles.voiceOf(layer, 2)]).toEqual([5, later]);
    expect(handles.layerOf(5)).toBe(layer);
  });
});

const layerId = (name: string): Layer['id'] => asId(name);
