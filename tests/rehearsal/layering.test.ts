/** Layering as a player does it: seams that are heard by themselves, other takes, several channels, blends, receding. */
import { describe, expect, test } from 'vitest';
import type { SectionId } from '../../src/core/song/ids.js';
import { asId } from '../../src/core/song/ids.js';
import type { Layer, Section } from '../../src/core/song/song.js';
import { bars, decibels } from '../../src/core/units/index.js';
import type { Library } from '../../src/ports/library.js';
import { openMemoryLibrary } from '../../src/storage/memory-library.js';
import { OUTPUT_DELAY } from '../support/engine-sound.js';
import { BAR, BEAT, type Room, at, countIn, firstLoop, roomWith, turns } from '../support/room.js';
import { strokes } from '../support/signals.js';
import { pluckedString } from '../support/tones.js';

const SECTION = asId<SectionId>('section');
const LOOP = 4 * BAR;
/** What a recording keeps after its last line, and some blocks. */
const TAIL = 4.1 * 48_000;

const sectionOf = ({ rehearsal }: Room): Section => rehearsal.snapshot.song.sections[0]!;
const layerOf = (room: Room, index = 0): Layer => sectionOf(room).layers[index]!;
const seamOf = (room: Room, index = 0) => {
  const { takes, takeInUse } = layerOf(room, index);
  return takes.find(({ id }) => id === takeInUse)!.seam;
};
const edits = async ({ rehearsal, library }: Room): Promise<readonly string[]> => {
  await rehearsal.settled();
  const stored = await library.latestSong();
  return stored.ok && stored.value !== null ? stored.value.edits.map(({ edit }) => edit.type) : [];
};

/** Lets promises be answered until something is so. */
async function until(isSo: () => boolean): Promise<void> {
  for (let turn = 0; turn < 500; turn++) {
    if (isSo()) return;
    await turns();
  }
  throw new Error('Got nothing in 500 turns when expected it to become so.');
}

/** Three strings struck at a frame, ringing for some seconds. */
const strings = [110, 164.8, 220].map((hertz) => pluckedString(48_000, hertz, 1.2, 3));
const chordAt = (struck: number) => (frame: number) =>
  Math.fround(0.2 * strings.reduce((sum, string) => sum + string((frame - struck) / 48_000), 0));

/** Records a loop of four bars whose last beat is a chord that rings on, and lets all of it come in. */
async function ringingLoop(room: Room): Promise<number> {
  const { rehearsal, sound } = room;
  rehearsal.setClick(false);
  const origin = await countIn(room);
  sound.play = chordAt(origin + LOOP - BEAT);
  sound.runUntil(origin + LOOP - 3000);
  rehearsal.press(at(origin + LOOP - 5000));
  sound.runUntil(origin + LOOP + TAIL);
  await until(() => sectionOf(room).layers.length === 1 && seamOf(room).decided !== null);
  return origin;
}

/** Records one more layer over the loop, from a line on. */
async function another(room: Room, line: number, play: (heard: number) => number): Promise<void> {
  const { rehearsal, sound } = room;
  const before = sectionOf(room).layers.flatMap(({ takes }) => takes).length;
  sound.play = play;
  sound.runUntil(line - BEAT);
  rehearsal.press(at(line - BEAT));
  sound.runUntil(line + LOOP + TAIL);
  const takes = () => sectionOf(room).layers.flatMap((layer) => layer.takes);
  await until(() => takes().length > before && takes().every(({ seam }) => seam.decided !== null));
  sound.play = () => 0;
}

/** A library that takes its time to read. */
const slow = (library: Library): Library => ({
  ...library,
  readRecording: async (...window) => {
    for (let turn = 0; turn < 10; turn++) await turns();
    return await library.readRecording(...window);
  },
});

/** Plays on, as long as it takes, with the page answering what the engine asks for. */
async function play({ sound }: Room, until: number): Promise<void> {
  while (sound.rendered < until) {
    sound.runUntil(Math.min(until, sound.rendered + BEAT));
    while (sound.wanted > 0) await turns();
    await turns();
  }
}

/** The next line at which the loop begins, a beat from now or later. */
const lineAfter = ({ sound }: Room, origin: number): number =>
  origin + Math.ceil((sound.rendered + BEAT - origin) / LOOP) * LOOP;

/** What came out, without the limiter's delay: index i is engine frame i. */
const outOf = ({ sound }: Room, from: number, to: number): readonly number[] =>
  sound.out.slice(from + sound.lookAhead, to + sound.lookAhead);

const largest = (a: readonly number[], b: readonly number[]): number =>
  a.reduce((most, sample, i) => Math.max(most, Math.abs(sample - (b[i] ?? NaN))), 0);

describe('a seam', () => {
  test('is heard once the tail is in, and rings from the next round on', async () => {
    const room = await roomWith();
    const origin = await ringingLoop(room);
    expect(seamOf(room)).toMatchObject({ chosen: null, pickup: false, decided: { kind: 'let-ring' } });
    room.sound.runUntil(origin + 4 * LOOP);
    const played = chordAt(origin + LOOP - BEAT);
    const out = outOf(room, origin + 2 * LOOP, origin + 2 * LOOP + 2 * BEAT);
    expect(out.findIndex((sample, i) => sample !== Math.fround(played(origin + i) + played(origin + LOOP + i)))).toBe(
      -1,
    );
    expect(outOf(room, origin + LOOP, origin + LOOP + BEAT).every((sample) => sample === 0)).toBe(true);
  });

  test.each([-40, -30, -5, 0, 12, 40])(
    'keeps an attack %i ms from the line whole from the first repeat on',
    async (ms) => {
      const room = await roomWith();
      const { rehearsal, sound } = room;
      rehearsal.setClick(false);
      const origin = await countIn(room);
      const off = 48 * ms;
      const played = strokes(
        Array.from({ length: 120 }, (_, beat) => origin + (beat - 3) * BEAT + off),
        { level: 0.5, decay: 3000 },
      );
      sound.play = played;
      sound.runUntil(origin + BAR - 9000);
      rehearsal.press(at(origin + BAR - 11_000));
      sound.runUntil(origin + 2 * BAR);
      sound.play = () => 0;
      await play(room, origin + 11 * BAR);
      expect(layerOf(room).takes[0]).toMatchObject({ bodyFrames: BAR });
      const from = ms < 0 ? -96 : 0;
      for (const round of [1, 2, 3, 10]) {
        const attack = origin + round * BAR + off;
        const out = outOf(room, attack + from, attack + BEAT - 3000);
        expect(out.findIndex((sample, i) => sample !== played(origin + off + from + i))).toBe(-1);
        expect(Math.max(...out)).toBe(0.5);
      }
      expect(seamOf(room).decided?.kind).toBe(ms < 0 ? 'early-attack' : 'crossfade');
    },
  );

  test('sounds as its attacks want it before it is known whether it rings', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.setClick(false);
    const origin = await countIn(room);
    // Nothing before the first line; the attack that is meant for the second comes early.
    const attacks = [0, 1, 2, 3].map((beat) => origin + beat * BEAT + 480);
    const played = strokes([...attacks, origin + BAR - 1440], { level: 0.5, decay: 3000 });
    sound.play = played;
    sound.runUntil(origin + BAR - 9000);
    rehearsal.press(at(origin + BAR - 11_000));
    await play(room, origin + 2 * BAR + BEAT);
    expect(seamOf(room).decided).toBeNull();
    // Of the two attacks that are one, the early one does not sound.
    const before = outOf(room, origin + 2 * BAR - 1440, origin + 2 * BAR - 480);
    expect(Math.max(...before.map(Math.abs))).toBeLessThan(0.001);
    const out = outOf(room, origin + 2 * BAR + 480, origin + 2 * BAR + BEAT - 3000);
    expect(out.findIndex((sample, i) => sample !== played(origin + 480 + i))).toBe(-1);
  });

  test('of a pass whose next was left off just before the line rings: the player had heard that it was not to be', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.setClick(false);
    rehearsal.setSectionBars(SECTION, bars(4));
    const origin = await countIn(room);
    sound.play = chordAt(origin + LOOP - BEAT);
    const pressAt = (line: number): void => {
      sound.runUntil(line + OUTPUT_DELAY);
      rehearsal.press(at(line));
    };
    pressAt(origin + 2 * BAR);
    expect(rehearsal.snapshot.transport.state).toBe('recording');
    pressAt(origin + LOOP - 700);
    sound.runUntil(origin + LOOP + TAIL);
    await until(() => sectionOf(room).layers.length === 1 && seamOf(room).decided !== null);
    expect(seamOf(room).decided?.kind).toBe('let-ring');
  });

  test('in 5/4 as 3+2 counts quarters as beats: what is struck one and a half of them later is no playing on', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.setClick(false);
    rehearsal.setMetre({ num: 5, den: 4, groups: [3, 2] }, { num: 1, den: 4 });
    const origin = await countIn(room);
    const end = origin + 10 * BEAT;
    const chord = chordAt(end - BEAT);
    const knock = strokes([end + 1.5 * BEAT], { level: 0.4, decay: 500 });
    sound.play = (frame) => chord(frame) + knock(frame);
    sound.runUntil(end - 3000);
    rehearsal.press(at(end - 5000));
    sound.runUntil(end + TAIL);
    await until(() => sectionOf(room).layers.length === 1 && seamOf(room).decided !== null);
    expect(seamOf(room).decided?.kind).toBe('let-ring');
    expect(seamOf(room).decided?.tailFrames).toBeGreaterThan(1.4 * BEAT);
    expect(seamOf(room).decided?.tailFrames).toBeLessThan(1.5 * BEAT);
  });

  test('is no step of its own: the layer is taken back with it, and comes back with it', async () => {
    const room = await roomWith();
    await ringingLoop(room);
    const { rehearsal, sound } = room;
    expect(await edits(room)).toEqual(['set-click', 'add-layers', 'set-seam']);
    expect(rehearsal.snapshot.canTakeBack?.type).toBe('add-layers');
    rehearsal.takeBack(sound.now);
    expect(sectionOf(room).layers).toHaveLength(0);
    rehearsal.putBack();
    expect(seamOf(room).decided?.kind).toBe('let-ring');
  });

  test('of a pass that another followed at once was played on', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.keepLayering(true);
    const origin = await countIn(room);
    sound.play = chordAt(origin + LOOP - BEAT);
    sound.runUntil(origin + LOOP - 3000);
    rehearsal.press(at(origin + LOOP - 5000));
    sound.runUntil(origin + LOOP + TAIL);
    await until(() => sectionOf(room).layers.length === 1 && seamOf(room).decided !== null);
    expect(seamOf(room).decided?.kind).toBe('crossfade');
  });

  test('that nobody heard is heard when the song is opened again', async () => {
    const room = await roomWith();
    await firstLoop(room);
    await room.rehearsal.settled();
    expect(seamOf(room).decided).toBeNull();
    const again = await roomWith(room.library);
    await until(() => seamOf(again).decided !== null);
    expect(await edits(again)).toEqual(['add-layers', 'set-seam']);
  });

  test('is heard from what there is when the sound goes away', async () => {
    const room = await roomWith();
    await firstLoop(room);
    room.sound.interrupt('input-ended');
    await until(() => seamOf(room).decided !== null);
    expect(await edits(room)).toContain('set-seam');
  });

  test('is what the player chooses, in one step', async () => {
    const room = await roomWith();
    await ringingLoop(room);
    const { rehearsal, sound } = room;
    const heard = seamOf(room).decided;
    rehearsal.chooseSeam(SECTION, layerOf(room).id, 'crossfade', false);
    await until(() => seamOf(room).decided !== null);
    expect(seamOf(room)).toMatchObject({ chosen: 'crossfade', decided: { kind: 'crossfade', tailFrames: 0 } });
    rehearsal.takeBack(sound.now);
    expect(seamOf(room)).toEqual({ chosen: null, pickup: false, decided: heard });
    rehearsal.putBack();
    expect(seamOf(room).decided?.kind).toBe('crossfade');
  });

  test('that is marked as begun by a pickup leads in', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.setClick(false);
    const origin = await countIn(room);
    const played = chordAt(origin - BEAT);
    sound.play = played;
    sound.runUntil(origin + LOOP - 3000);
    rehearsal.press(at(origin + LOOP - 5000));
    sound.runUntil(origin + LOOP + TAIL);
    await until(() => sectionOf(room).layers.length === 1 && seamOf(room).decided !== null);
    rehearsal.chooseSeam(SECTION, layerOf(room).id, null, true);
    await until(() => seamOf(room).decided !== null);
    expect(seamOf(room).decided?.kind).toBe('pickup');
    sound.runUntil(origin + 3 * LOOP);
    const out = outOf(room, origin + 2 * LOOP - BEAT, origin + 2 * LOOP - 480);
    const wrong = out.findIndex(
      (sample, i) => sample !== Math.fround(played(origin + LOOP - BEAT + i) + played(origin - BEAT + i)),
    );
    expect(wrong).toBe(-1);
  });

  test('sounds as it was heard, and is written down later, while something could be put back', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.setClick(false);
    const origin = await countIn(room);
    sound.play = chordAt(origin + LOOP - BEAT);
    sound.runUntil(origin + LOOP - 3000);
    rehearsal.press(at(origin + LOOP - 5000));
    sound.runUntil(origin + LOOP + BAR);
    rehearsal.retitle('Slack Water');
    rehearsal.takeBack(sound.now);
    sound.runUntil(origin + LOOP + TAIL);
    for (let turn = 0; turn < 50; turn++) await turns();
    expect(seamOf(room).decided).toBeNull();
    expect(rehearsal.snapshot.canPutBack?.type).toBe('retitle');
    sound.runUntil(origin + 3 * LOOP);
    expect(outOf(room, origin + 2 * LOOP, origin + 2 * LOOP + BEAT).some((sample) => Math.abs(sample) > 0.05)).toBe(
      true,
    );
    rehearsal.renameLayer(SECTION, layerOf(room).id, 'Bell');
    expect(seamOf(room).decided?.kind).toBe('let-ring');
    expect(await edits(room)).toEqual(['set-click', 'add-layers', 'rename-layer', 'set-seam']);
  });
});

describe('another take', () => {
  const old = (origin: number) => strokes(Array.from({ length: 16 }, (_, k) => origin + k * BEAT + 50 * (k % 4)));

  test('joins the layer and is the one in use; the layer keeps its name and its older take', async () => {
    const room = await roomWith();
    room.rehearsal.setClick(false);
    const origin = await firstLoop(room);
    const { rehearsal } = room;
    const layer = layerOf(room);
    rehearsal.anotherTake(SECTION, layer.id);
    expect(rehearsal.snapshot.passes.anotherTakeOf).toBe(layer.id);
    const line = origin + 2 * LOOP;
    const fresh = strokes([line + 40, line + 3 * BEAT, line + 9 * BEAT], { seed: 7 });
    await another(room, line, fresh);
    expect(sectionOf(room).layers).toHaveLength(1);
    expect(layerOf(room)).toMatchObject({ id: layer.id, name: 'Layer 1', takes: [{ id: layer.takeInUse }, {}] });
    expect(layerOf(room).takeInUse).toBe(layerOf(room).takes[1]!.id);
    expect(rehearsal.snapshot.notice).toEqual({ type: 'take-kept', name: 'Layer 1', bars: 4 });
    room.sound.runUntil(line + 3 * LOOP);
    const silent = outOf(room, line + 480, line + LOOP - 3000);
    expect(silent.every((sample) => sample === 0)).toBe(true);
    const out = outOf(room, line + 2 * LOOP, line + 3 * LOOP - 3000);
    expect(out.findIndex((sample, i) => sample !== fresh(line + i))).toBe(-1);
  });

  test('is silent again when it is taken back, and the old one sounds', async () => {
    const room = await roomWith();
    room.rehearsal.setClick(false);
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    rehearsal.anotherTake(SECTION, layerOf(room).id);
    const line = origin + 2 * LOOP;
    await another(room, line, strokes([line + 40, line + 9 * BEAT], { seed: 7 }));
    rehearsal.takeBack(sound.now);
    expect(layerOf(room).takes).toHaveLength(1);
    sound.runUntil(line + 3 * LOOP);
    const out = outOf(room, line + 2 * LOOP, line + 3 * LOOP - 3000);
    expect(out.findIndex((sample, i) => sample !== old(origin)(origin + i))).toBe(-1);
  });

  test('is one that can be chosen again, and again after a reload', async () => {
    const room = await roomWith();
    room.rehearsal.setClick(false);
    const origin = await firstLoop(room);
    room.rehearsal.anotherTake(SECTION, layerOf(room).id);
    const line = origin + 2 * LOOP;
    const fresh = strokes([line + 40, line + 9 * BEAT], { seed: 7 });
    await another(room, line, fresh);
    await room.rehearsal.settled();

    const again = await roomWith(room.library);
    const { rehearsal, sound } = again;
    rehearsal.setClick(false);
    rehearsal.openSound();
    await turns();
    while (sound.wanted > 0) await turns();
    rehearsal.press(sound.now);
    const start = sound.origin;
    const [first] = layerOf(again).takes;
    await play(again, start + 2 * BAR);
    rehearsal.useTake(SECTION, layerOf(again).id, first!.id);
    expect(layerOf(again).takeInUse).toBe(first!.id);
    await play(again, start + 10 * BAR);
    // The old take is loaded while the new one plays on: nothing is silent in between.
    const out = outOf(again, start, start + 10 * BAR - 4096);
    const newTake = (i: number) => fresh(line + (i % LOOP));
    const oldTake = (i: number) => old(origin)(origin + (i % LOOP));
    const changes = out.findIndex((sample, i) => sample !== newTake(i));
    expect(changes).toBeGreaterThan(2 * BAR - 1);
    expect(changes).toBeLessThan(3 * BAR);
    const whole = out.findIndex((sample, i) => i >= changes + 480 && i % LOOP < LOOP - 3000 && sample !== oldTake(i));
    expect(whole).toBe(-1);
    expect(sound.faults).toEqual([]);
  });

  test('of a layer that is gone becomes a layer of its own: nothing is lost', async () => {
    const room = await roomWith();
    const origin = await firstLoop(room);
    const { rehearsal, sound } = room;
    rehearsal.anotherTake(SECTION, layerOf(room).id);
    const line = origin + 2 * LOOP;
    sound.runUntil(line - BEAT);
    rehearsal.press(at(line - BEAT));
    sound.runUntil(line + BAR);
    const id = layerOf(room).id;
    rehearsal.blend(SECTION, [id]);
    rehearsal.anotherTake(SECTION, null);
    sound.runUntil(line + LOOP + BAR);
    expect(layerOf(room).takes).toHaveLength(2);
    rehearsal.anotherTake(SECTION, asId('layer-nowhere'));
    expect(rehearsal.snapshot.passes.anotherTakeOf).toBeNull();
    await another(room, line + 3 * LOOP, () => 0);
    expect(sectionOf(room).layers.map(({ takes }) => takes.length)).toEqual([2, 1]);
  });
});

describe('keep layering', () => {
  test('records on, pass after pass, until the player says no', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    rehearsal.setSectionBars(SECTION, bars(2));
    rehearsal.keepLayering(true);
    const origin = await countIn(room);
    sound.play = strokes(Array.from({ length: 40 }, (_, beat) => origin + beat * BEAT));
    sound.runUntil(origin + 5 * BAR);
    expect(sectionOf(room).layers.map(({ name }) => name)).toEqual(['Layer 1', 'Layer 2']);
    rehearsal.press(at(origin + 5 * BAR));
    sound.runUntil(origin + 9 * BAR);
    expect(sectionOf(room).layers).toHaveLength(3);
    expect(rehearsal.snapshot.transport.state).toBe('playing');
    expect(rehearsal.snapshot.passes.keepLayering).toBe(true);
  });
});

describe('several channels', () => {
  test('fill a layer each from one pass, of one alignment, in one step', async () => {
    const room = await roomWith();
    const { rehearsal, sound } = room;
    sound.channels = 3;
    rehearsal.useChannels([2, 0, 2, 9]);
    const origin = await countIn(room);
    expect(rehearsal.snapshot.passes.channels).toEqual([2, 0]);
    const voice = strokes([origin + 10, origin + 5 * BEAT], { seed: 2 });
    const guitar = strokes([origin + 70, origin + 6 * BEAT], { seed: 3 });
    sound.play = voice;
    sound.playOn = (channel, heard) => (channel === 2 ? guitar(heard) : 0);
    sound.runUntil(origin + LOOP - 3000);
    rehearsal.press(at(origin + LOOP - 5000));
    sound.runUntil(origin + LOOP + TAIL);
    await until(() => sectionOf(room).layers.length === 2);
    const [first, second] = sectionOf(room).layers;
    expect([first!.name, second!.name]).toEqual(['Layer 1', 'Layer 2']);
    const [guitarTake, voiceTake] = [first!.takes[0]!, second!.takes[0]!];
    expect([guitarTake.channel, voiceTake.channel]).toEqual([2, 0]);
    expect(voiceTake).toEqual({ ...guitarTake, id: voiceTake.id, channel: 0, seam: voiceTake.seam });
    expect(rehearsal.snapshot.notice).toEqual({ type: 'layers-kept', names: ['Layer 1', 'Layer 2'], bars: 4 });
    await until(() => seamOf(room, 0).decided !== null && seamOf(room, 1).decided !== null);
    expect(rehearsal.snapshot.canTakeBack?.type).toBe('add-layers');
    rehearsal.takeBack(sound.now);
    expect(sectionOf(room).layers).toHaveLength(0);
  });
});

describe('a blend', () => {
  async function twoLayers(room: Room): Promise<number> {
    const origin = await ringingLoop(room);
    const line = origin + 2 * LOOP;
    await another(
      room,
      line,
      strokes(
        Array.from({ length: 16 }, (_, k) => line + k * BEAT + 11),
        { level: 0.2, seed: 9 },
      ),
    );
    return origin;
  }

  test('takes the place of its layers without a step or a hole, and sounds as they did, on a slow disk', async () => {
    const room = await roomWith(slow(openMemoryLibrary()));
    const origin = await twoLayers(room);
    const { rehearsal, sound } = room;
    const from = lineAfter(room, origin);
    sound.runUntil(from + LOOP + BEAT);
    const layers = sectionOf(room).layers;
    rehearsal.blend(
      SECTION,
      layers.map(({ id }) => id),
    );
    await until(() => sectionOf(room).layers.length === 1);
    await play(room, from + 3 * LOOP);
    expect(layerOf(room)).toMatchObject({ name: 'Layer 1 + Layer 2', blendOf: layers });
    expect(sound.faults).toEqual([]);
    const before = outOf(room, from, from + LOOP);
    const after = outOf(room, from + LOOP, from + 2 * LOOP - 4096);
    expect(before.some((sample) => Math.abs(sample) > 0.1)).toBe(true);
    expect(largest(after, before)).toBeLessThan(1e-6);
  });

  test('comes apart again, and is taken back in one step', async () => {
    const room = await roomWith();
    await twoLayers(room);
    const { rehearsal, sound } = room;
    const layers = sectionOf(room).layers;
    rehearsal.blend(
      SECTION,
      layers.map(({ id }) => id),
    );
    await until(() => sectionOf(room).layers.length === 1);
    rehearsal.takeApart(SECTION, layerOf(room).id);
    expect(sectionOf(room).layers).toEqual(layers);
    rehearsal.takeBack(sound.now);
    expect(sectionOf(room).layers).toHaveLength(1);
    rehearsal.takeBack(sound.now);
    expect(sectionOf(room).layers).toEqual(layers);
  });

  test('is there after a reload: its audio is a recording of its own', async () => {
    const room = await roomWith();
    await twoLayers(room);
    room.rehearsal.blend(
      SECTION,
      sectionOf(room).layers.map(({ id }) => id),
    );
    await until(() => sectionOf(room).layers.length === 1);
    await room.rehearsal.settled();
    const again = await roomWith(room.library);
    const take = layerOf(again).takes[0]!;
    expect(take).toMatchObject({ bodyStart: 0, bodyFrames: LOOP, bars: 4, seam: { decided: { fadeOutFrames: 0 } } });
    const read = await room.library.readRecording(take.recording, 0, take.bodyStart, take.bodyFrames);
    expect(read.ok && read.value.missing).toBe(0);
  });

  test('is as loud as its layers were, whatever recedes', async () => {
    const room = await roomWith();
    const origin = await twoLayers(room);
    const { rehearsal, sound } = room;
    const line = lineAfter(room, origin);
    await another(room, line, strokes([line + 500, line + 7 * BEAT], { seed: 10 }));
    rehearsal.setRecede(SECTION, decibels(3));
    const from = lineAfter(room, origin);
    sound.runUntil(from + LOOP);
    const [first, second, third] = sectionOf(room).layers.map(({ id }) => id);
    rehearsal.blend(SECTION, [second!, third!]);
    await until(() => sectionOf(room).layers.length === 2);
    await play(room, from + 3 * LOOP);
    expect(sectionOf(room).layers[0]!.id).toBe(first);
    const before = outOf(room, from, from + LOOP - 4096);
    expect(largest(outOf(room, from + 2 * LOOP, from + 3 * LOOP - 4096), before)).toBeLessThan(1e-6);
  });

  test.each([
    ['one layer', (room: Room) => [layerOf(room).id], 'too-few-to-blend'],
    ['layers that are not there', () => [asId<Layer['id']>('a'), asId<Layer['id']>('b')], 'too-few-to-blend'],
  ])('of %s is refused in words', async (_, ids, reason) => {
    const room = await roomWith();
    await ringingLoop(room);
    room.rehearsal.blend(SECTION, ids(room));
    await until(() => room.rehearsal.snapshot.notice?.type === 'edit-refused');
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'edit-refused', reason });
  });
});

describe('receding', () => {
  test('is kept with the section, and refused beyond its limits', async () => {
    const room = await roomWith();
    room.rehearsal.setRecede(SECTION, decibels(2));
    expect(sectionOf(room).recede).toBe(2);
    room.rehearsal.setRecede(SECTION, decibels(25));
    expect(sectionOf(room).recede).toBe(2);
    expect(room.rehearsal.snapshot.notice).toEqual({ type: 'edit-refused', reason: 'recede-out-of-range' });
  });
});
