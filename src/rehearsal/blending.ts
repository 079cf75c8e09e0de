/**
 * Blends: several layers rendered into one loop, which is kept as a recording of its own. The loop is as long as it takes
 * until all of them are at their beginnings again, and is taken when every tail that rings over its line is in; so it
 * goes on by itself, without a seam.
 */
import { bodyPlace } from '../core/program/body-place.js';
import { compile, sectionGrid } from '../core/program/compile.js';
import type { ProgramGrid } from '../core/program/program-grid.js';
import type { Program } from '../core/program/program.js';
import { voiceCount } from '../core/program/program.js';
import { LoopRender, type LoopAudio } from '../core/render/render-loop.js';
import { VoiceRow } from '../core/render/voice-iterations.js';
import type { Result } from '../core/result/result.js';
import { failure, success } from '../core/result/result.js';
import { NO_SEAM } from '../core/seam/seam.js';
import type { Edit, EditRefusal } from '../core/song/edits.js';
import type { LayerId, RecordingId, SectionId, TakeId } from '../core/song/ids.js';
import { asId } from '../core/song/ids.js';
import { recededBy } from '../core/song/levels.js';
import { MAX_NAME_LENGTH, blendRefusal } from '../core/song/limits.js';
import { takeInUse } from '../core/song/lookups.js';
import type { Layer, Section, Song, Take } from '../core/song/song.js';
import type { Bars, Decibels, Frames } from '../core/units/index.js';
import { bars, decibels, frames } from '../core/units/index.js';
import type { Clock } from '../ports/clock.js';
import type { Ids } from '../ports/ids.js';
import type { Library, StorageRefusal } from '../ports/library.js';
import { RecordingJournal } from './journal.js';
import type { Keeping } from './keeping.js';

export interface BlendingPorts {
  readonly library: Library;
  readonly keeping: Keeping;
  readonly ids: Ids;
  readonly clock: Clock;
}

type BlendRefusal =
  | { readonly type: 'edit-refused'; readonly reason: EditRefusal }
  | { readonly type: 'storage-refused'; readonly reason: StorageRefusal };

/** What a loop of several layers is. */
interface Loop {
  readonly bars: Bars;
  readonly frames: Frames;
}

/**
 * The edit that puts a blend in the place of its layers; its audio is on its way to storage when this resolves.
 * @param song as it sounds, seams and all.
 */
export async function blendLayers(
  ports: BlendingPorts,
  song: Song,
  sectionId: SectionId,
  ids: readonly LayerId[],
): Promise<Result<Edit, BlendRefusal>> {
  const section = song.sections.find(({ id }) => id === sectionId);
  if (section === undefined) return refused('no-such-section');
  const layers = section.layers.filter(({ id }) => ids.includes(id));
  if (layers.length < 2) return refused('too-few-to-blend');
  const loop = loopOf(layers, sectionGrid(song, section));
  if (loop === null) return refused('blend-too-long');
  const render = new LoopRender(loop.frames, song.sampleRate);
  for (const layer of layers.filter(({ leftOut }) => !leftOut)) {
    const program = programOf(song, section, { ...layer, gain: gainInBlend(section, layers, layer) });
    const audio = await readAudio(ports, takeInUse(layer), program);
    if (!audio.ok) return failure({ type: 'storage-refused', reason: audio.reason });
    render.add(program, [audio.value]);
  }
  const recording = keep(ports, song, render.samples);
  const into = layerOf(ports, layers, loop, recording);
  return success({ type: 'blend', section: sectionId, layers: ids, into });
}

const refused = (reason: EditRefusal): Result<never, BlendRefusal> => failure({ type: 'edit-refused', reason });

/** How long it takes until layers are at their beginnings again; null where that is too long for a blend. */
function loopOf(layers: readonly Layer[], grid: ProgramGrid): Loop | null {
  const places = layers.map((layer) => bodyPlace(grid, takeInUse(layer)));
  const longest = places.reduce((common, { period }) => leastCommonMultiple(common, period), 1);
  const first = places[0];
  const length = first === undefined ? 0 : (longest / first.period) * first.bars;
  const isWhole = Number.isSafeInteger(longest) && Number.isSafeInteger(length);
  if (!isWhole || blendRefusal(bars(length)) !== null) return null;
  return { bars: bars(length), frames: frames(longest) };
}

/** What recedes for a layer that is blended, less what will recede for the blend: the sum stays as loud as it was. */
function gainInBlend(section: Section, blended: readonly Layer[], layer: Layer): Decibels {
  const first = section.layers.findIndex((each) => each === blended[0]);
  const after = section.layers.filter((each) => each === blended[0] || !blended.includes(each));
  const before = recededBy(section, section.layers.indexOf(layer));
  return decibels(layer.gain - before + recededBy({ layers: after, recede: section.recede }, first));
}

/** One layer alone, as it sounds. */
function programOf(song: Song, section: Section, layer: Layer): Program {
  const alone = { ...song, sections: [{ ...section, layers: [layer], recede: decibels(0) }] };
  const handles = { voiceOf: (_: LayerId, fromBar: number) => fromBar, audioOf: () => 1, passesKnown: 0 };
  return compile(alone, { type: 'loop', section: section.id }, handles, 1);
}

/** All that the voices of one layer's program play. */
async function readAudio(
  { library, keeping }: BlendingPorts,
  take: Take,
  program: Program,
): Promise<Result<LoopAudio, StorageRefusal>> {
  const row = new VoiceRow();
  let start = Infinity;
  let end = 0;
  for (let voice = 0; voice < voiceCount(program); voice++) {
    row.read(program.voices, voice);
    start = Math.min(start, Math.max(0, row.bodyStart - row.lead));
    end = Math.max(end, row.bodyStart + row.bodyFrames + row.tail);
  }
  await keeping.keptSoFar();
  const count = frames(Math.max(0, end - start));
  const read = await library.readRecording(take.recording, take.channel, frames(start), count);
  if (!read.ok) return read;
  return success({ audio: 1, channel: take.channel, start, samples: read.value.samples });
}

function keep({ library, keeping, ids, clock }: BlendingPorts, song: Song, samples: Float32Array): RecordingId {
  const id = asId<RecordingId>(ids.fresh());
  const header = { id, song: song.id, sampleRate: song.sampleRate, channels: 1, startedAt: clock.today() };
  keeping.enqueue(() => library.beginRecording(header));
  const journal = new RecordingJournal(id, 1, song.sampleRate, library, keeping, () => undefined);
  journal.add(frames(0), samples, samples.length);
  journal.finish(frames(samples.length));
  return id;
}

/** A blend lies where it was rendered, and is as sure of its place as the least sure of its layers. */
function layerOf({ ids }: BlendingPorts, layers: readonly Layer[], loop: Loop, recording: RecordingId): Layer {
  const sure = layers.every((layer) => takeInUse(layer).alignment.every((each) => each.sure));
  const take: Take = {
    id: asId<TakeId>(ids.fresh()),
    recording,
    channel: 0,
    bodyStart: frames(0),
    bodyFrames: loop.frames,
    lead: frames(0),
    tail: frames(0),
    startBar: bars(0),
    bars: loop.bars,
    alignment: [{ fromBar: bars(0), roundTrip: frames(0), how: 'measured', sure }],
    seam: { chosen: null, pickup: false, decided: NO_SEAM },
  };
  return {
    id: asId<LayerId>(ids.fresh()),
    name: nameOf(layers),
    gain: decibels(0),
    leftOut: false,
    takes: [take],
    takeInUse: take.id,
    blendOf: [],
  };
}

/** The names of the layers, as far as there is room. */
function nameOf(layers: readonly Layer[]): string {
  const characters = Array.from(layers.map(({ name }) => name).join(' + '));
  return characters.slice(0, MAX_NAME_LENGTH).join('').trim();
}

function leastCommonMultiple(a: number, b: number): number {
  let [divisor, rest] = [a, b];
  while (rest > 0) [divisor, rest] = [rest, divisor % rest];
  return (a / divisor) * b;
}
