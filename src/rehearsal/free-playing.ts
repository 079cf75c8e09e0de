/** A loop that is played without a tempo: it is listened to, read as bars, and joins the song as it is most likely meant. */
import type { FreeLoop } from '../core/loop/free-loop.js';
import type { Reading } from '../core/loop/readings.js';
import { readingsOf } from '../core/loop/readings.js';
import type { EngineReport } from '../core/render/commands.js';
import { TAIL_SECONDS } from '../core/render/tails.js';
import type { SectionId } from '../core/song/ids.js';
import type { Layer, Take } from '../core/song/song.js';
import { addFrames, bars, frames, framesFromSeconds, seconds, subtractFrames } from '../core/units/index.js';
import type { Frames, SampleRate } from '../core/units/index.js';
import type { FreeTerms } from './free-terms.js';
import type { FreeClosed } from './free-loops.js';
import { FreeLoops } from './free-loops.js';
import type { Ideas } from './ideas.js';
import type { TappedTempo } from './loop-readings.js';
import { readingEdit, readingTerms } from './loop-readings.js';
import type { Notice } from './snapshot.js';
import type { SongDesk } from './song-desk.js';
import type { SoundDesk } from './sound-desk.js';

type Report<Type extends EngineReport['type']> = Extract<EngineReport, { type: Type }>;

export interface FreePlayingPorts {
  readonly song: SongDesk;
  readonly sound: SoundDesk;
  readonly ideas: Ideas;
  readonly terms: FreeTerms;
  readonly section: () => SectionId;
  /** What was tapped last. */
  readonly tapped: () => TappedTempo | null;
  readonly takesOf: (closed: Report<'layer-closed'>) => readonly Take[];
  readonly layersOf: (takes: readonly Take[]) => readonly Layer[];
  /** The song was changed. */
  readonly changed: (notice: Notice) => void;
  readonly tell: (notice: Notice) => void;
}

export class FreePlaying {
  readonly #ports: FreePlayingPorts;
  readonly #rate: SampleRate;
  #loops: FreeLoops;

  constructor(ports: FreePlayingPorts) {
    this.#ports = ports;
    this.#rate = ports.song.song.sampleRate;
    this.#loops = this.#newLoops();
  }

  /**
   * A loop whose end is being found is no longer wanted.
   * @returns whether that was all: the engine waits for none.
   */
  takeBack(): boolean {
    const wasClosing = this.#loops.closing !== null;
    this.#loops.letGo();
    return wasClosing && this.#ports.sound.plan.type !== 'free';
  }

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
        break;
      case 'recording-ended':
        this.#loops.ended(report);
        break;
      case 'free-closed':
        this.#loops.close(report);
        break;
      case 'past-kept':
        this.#loops.leaveOut(report.audio);
        break;
      default:
    }
  }

  /** The engine is gone: a loop whose end was being found is kept as it was pressed. */
  interrupted(): void {
    const { closing } = this.#loops;
    this.#loops = this.#newLoops();
    if (closing === null) return;
    const { audio, channels, from, to } = closing;
    this.#ports.ideas.keepCut({ audio, channels, bodyStart: from, bodyFrames: subtractFrames(to, from) });
  }

  #onPlan({ plan }: Report<'plan-changed'>): void {
    if (plan.type === 'free') this.#loops.begin(plan.startsAt + this.#ports.sound.roundTrip.frames);
    else this.#loops.stop();
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
    this.#ports.terms.played = { section: inHand, frames: loop.frames };
    const { bars: length, bpm } = reading;
    changed({ type: 'loop-read', name: layers[0]?.name ?? '', bars: length, bpm, sure: loop.sure });
    if (sound.plan.type === 'free') sound.send({ type: 'join', origin: originOf(closed, loop) });
  }

  /** Too short or too long for any bar: what was played is kept all the same. */
  #asIdea({ audio, channels }: FreeClosed, loop: FreeLoop): void {
    this.#release();
    this.#ports.ideas.keep({ audio, channels, start: loop.start, frames: loop.frames }, { type: 'no-reading' });
  }

  /** The engine waits for the tempo no longer. */
  #release(): void {
    const { sound } = this.#ports;
    if (sound.plan.type === 'free') sound.send({ type: 'take-back', heard: sound.plan.startsAt });
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
