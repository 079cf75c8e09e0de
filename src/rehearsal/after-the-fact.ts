/**
 * What only becomes a part of the song after it was played: a loop without a tempo, which is listened to and read as
 * bars; the last bars or the last phrase, which nobody was recording.
 */
import type { FreeLoop } from '../core/loop/free-loop.js';
import type { Reading } from '../core/loop/readings.js';
import { readingsOf } from '../core/loop/readings.js';
import { barFrames } from '../core/meter/grid.js';
import type { EngineReport } from '../core/render/commands.js';
import { TAIL_SECONDS } from '../core/render/passes.js';
import type { IdeaId, RecordingId, SectionId } from '../core/song/ids.js';
import { asId } from '../core/song/ids.js';
import { sectionOf } from '../core/song/lookups.js';
import { holdsTheGrid } from '../core/song/queries.js';
import type { Layer, Take } from '../core/song/song.js';
import {
  addFrames,
  bars,
  frames,
  framesFromSeconds,
  seconds,
  secondsFromFrames,
  subtractFrames,
} from '../core/units/index.js';
import type { Bars, Frames, SampleRate } from '../core/units/index.js';
import type { Clock } from '../ports/clock.js';
import type { Ids } from '../ports/ids.js';
import type { FreeClosed } from './free-loops.js';
import { FreeLoops } from './free-loops.js';
import { KeptPast } from './kept-past.js';
import type { LoopReadings, PlayedLoop, TappedTempo } from './loop-readings.js';
import { loopReadings, readingEdit, readingTerms } from './loop-readings.js';
import type { Notice } from './snapshot.js';
import type { SongDesk } from './song-desk.js';
import type { SoundDesk } from './sound-desk.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;

/** Bars that are kept where the section has no length yet (phrases are mostly of four: common practice, no source). */
const USUAL_BARS = bars(4);
/** Fewer than so many bars in the past are worth a word. */
const MANY_BARS = 8;

export interface AfterTheFactPorts {
  readonly song: SongDesk;
  readonly sound: SoundDesk;
  readonly clock: Clock;
  readonly ids: Ids;
  readonly section: () => SectionId;
  /** What was tapped last. */
  readonly tapped: () => TappedTempo | null;
  readonly recordingOf: (audio: number) => RecordingId | undefined;
  readonly takesOf: (closed: Report<'layer-closed'>) => readonly Take[];
  readonly layersOf: (takes: readonly Take[]) => readonly Layer[];
  /** The song was changed. */
  readonly changed: (notice: Notice) => void;
  readonly tell: (notice: Notice) => void;
}

export class AfterTheFact {
  readonly #ports: AfterTheFactPorts;
  readonly #rate: SampleRate;
  #loops: FreeLoops;
  #past: KeptPast;
  #played: PlayedLoop | null = null;
  /** The pass that "keep that" made: asked for, or known by its number. */
  #that: 'asked' | number | null = null;
  #isFree = false;

  constructor(ports: AfterTheFactPorts) {
    this.#ports = ports;
    this.#rate = ports.song.song.sampleRate;
    this.#loops = this.#newLoops();
    this.#past = new KeptPast(this.#rate);
  }

  /** Whether the first pass records without a tempo: it was asked for, and nothing was played yet. */
  get isFree(): boolean {
    return this.#isFree && !holdsTheGrid(this.#ports.song.song);
  }

  setFree(on: boolean): void {
    this.#isFree = on;
  }

  get readings(): LoopReadings | null {
    return loopReadings(this.#ports.song.song, this.#played);
  }

  /**
   * A loop whose end is being found is no longer wanted.
   * @returns whether that was all: the engine waits for none.
   */
  takeBack(): boolean {
    const wasClosing = this.#loops.isClosing;
    this.#loops.letGo();
    return wasClosing && this.#ports.sound.plan.type !== 'free';
  }

  /** @param heard where the player was when they liked what they had played. */
  keepThat(heard: Frames): void {
    const { song, sound, section, tell } = this.#ports;
    if (!sound.isOpen) return tell({ type: 'nothing-to-keep', why: 'not-listening' });
    this.#that = 'asked';
    sound.send({ type: 'keep-that', heard, bars: sectionOf(song.song, section()).bars ?? USUAL_BARS });
  }

  /** Bars of the past that are held, where that is little; null where it is enough. */
  get heldBars(): Bars | null {
    const { metre, tempo, sampleRate } = this.#ports.song.song;
    const held = this.#ports.sound.heldFrames;
    const whole = Math.floor(held / barFrames(metre, tempo, sampleRate));
    return whole < MANY_BARS ? bars(whole) : null;
  }

  /** What is to be told of a pass that was kept. */
  noticeOf(pass: number, usual: Notice): Notice {
    if (pass !== this.#that) return usual;
    this.#that = null;
    return usual.type === 'layer-kept' ? { ...usual, type: 'that-kept', heldBars: this.heldBars } : usual;
  }

  /** Everything that the engine reports, after it was taken in. */
  hear(report: EngineReport): void {
    switch (report.type) {
      case 'plan-changed':
        this.#onPlan(report);
        break;
      case 'recording-started':
        this.#loops.started(report);
        break;
      case 'captured':
        this.#loops.captured(report, this.#ports.sound.channels);
        this.#past.captured(report);
        break;
      case 'recording-ended':
        this.#loops.ended(report);
        this.#onEnded(report);
        break;
      case 'free-closed':
        this.#loops.close(report);
        break;
      case 'past-kept':
        this.#loops.leaveOut(report.audio);
        this.#past.begun(report);
        break;
      case 'refused':
        if (report.command === 'keep-that') this.#onRefused(report.why);
        break;
      default:
    }
  }

  /** The engine is gone. */
  interrupted(): void {
    this.#loops = this.#newLoops();
    this.#past = new KeptPast(this.#rate);
    this.#that = null;
  }

  #onPlan({ plan }: Report<'plan-changed'>): void {
    if (plan.type === 'free') this.#loops.begin(plan.startsAt + this.#ports.sound.roundTrip.frames);
    else this.#loops.stop();
    if (this.#that === 'asked' && plan.type === 'running') this.#that = plan.passes.at(-1)?.number ?? 'asked';
  }

  #onRefused(why: Report<'refused'>['why']): void {
    this.#that = null;
    if (why === 'no-whole-bar' || why === 'not-in-the-ring' || why === 'still-recording') {
      this.#ports.tell({ type: 'nothing-to-keep', why });
    }
  }

  /** The loop is known: it joins the song as it is most likely to be read, and plays on as if it had never stopped. */
  #onLoop(closed: FreeClosed, loop: FreeLoop): void {
    const { song, sound, section, tapped, takesOf, layersOf, changed, tell } = this.#ports;
    const reading = readingsOf(loop.frames, readingTerms(song.song, tapped()))[0];
    if (reading === undefined) return this.#asIdea(closed, loop);
    const layers = layersOf(takesOf(asPass(closed, loop, reading)).map((take) => asPlayed(take, closed, this.#rate)));
    const inHand = section();
    const added = song.apply({ type: 'add-layers', section: inHand, layers, sectionBars: reading.bars });
    const refusal = added ?? song.apply(readingEdit(inHand, reading, true));
    if (refusal !== null) {
      this.#release();
      return tell({ type: 'edit-refused', reason: refusal });
    }
    this.#played = { section: inHand, frames: loop.frames };
    const { bars: length, bpm } = reading;
    changed({ type: 'loop-read', name: layers[0]?.name ?? '', bars: length, bpm, sure: loop.sure });
    if (sound.plan.type === 'free') sound.send({ type: 'join', origin: originOf(closed, loop) });
  }

  /** Too short or too long for any bar: what was played is kept all the same. */
  #asIdea({ audio, channels }: FreeClosed, loop: FreeLoop): void {
    this.#release();
    this.#keepIdeas(audio, channels, loop.start, loop.frames, { type: 'no-reading' });
  }

  /** The engine waits for the tempo no longer. */
  #release(): void {
    const { sound } = this.#ports;
    if (sound.plan.type === 'free') sound.send({ type: 'take-back', heard: sound.plan.startsAt });
  }

  #onEnded(report: Report<'recording-ended'>): void {
    const kept = this.#past.ended(report);
    if (kept === undefined) return;
    this.#that = null;
    if (kept === null) return this.#ports.tell({ type: 'nothing-to-keep', why: 'nothing-heard' });
    const { phrase, channels } = kept;
    const lasts = secondsFromFrames(phrase.frames, this.#rate);
    this.#keepIdeas(report.audio, channels, phrase.start, phrase.frames, { type: 'idea-kept', seconds: lasts });
  }

  #keepIdeas(audio: number, channels: readonly number[], start: Frames, length: Frames, notice: Notice): void {
    const { song, ids, clock, recordingOf, changed, tell } = this.#ports;
    const recording = recordingOf(audio);
    if (recording === undefined) return;
    for (const channel of channels) {
      const id = asId<IdeaId>(ids.fresh());
      const idea = { id, recording, channel, start, frames: length, at: clock.today() };
      const refusal = song.apply({ type: 'add-idea', idea });
      if (refusal !== null) return tell({ type: 'edit-refused', reason: refusal });
    }
    changed(notice);
  }

  #newLoops(): FreeLoops {
    return new FreeLoops(this.#rate, (closed, loop) => {
      this.#onLoop(closed, loop);
    });
  }
}

/** The loop as the report of a pass, from which takes are made; no pass of the engine has this number. */
function asPass(closed: FreeClosed, loop: FreeLoop, reading: Reading): Report<'layer-closed'> {
  return {
    type: 'layer-closed',
    at: addFrames(originOf(closed, loop), reading.bodyFrames),
    pass: 0,
    audio: closed.audio,
    channels: closed.channels,
    replaces: null,
    bodyStart: loop.start,
    bodyFrames: reading.bodyFrames,
    startBar: bars(0),
    bars: reading.bars,
    roundTrip: closed.roundTrip,
  };
}

/**
 * The recording ends some seconds after the press, not after the body. Nothing sounded that the loop could lie beside, so
 * its place is sure whatever the round trip.
 */
function asPlayed(take: Take, closed: FreeClosed, rate: SampleRate): Take {
  const ends = addFrames(closed.to, framesFromSeconds(seconds(TAIL_SECONDS), rate));
  const tail = frames(Math.max(0, ends - take.bodyStart - take.bodyFrames));
  return { ...take, tail, alignment: take.alignment.map((alignment) => ({ ...alignment, sure: true })) };
}

/** Engine frame at which line 0 was played. */
const originOf = (closed: FreeClosed, loop: FreeLoop): Frames =>
  addFrames(closed.heardFrom, subtractFrames(loop.start, closed.from));
