/**
 * The rehearsal: what is going on now. It turns what the player asks for into edits and commands, and what the engine
 * reports into edits and writes; it publishes one frozen snapshot a change. The engine is the authority on time, the
 * rehearsal on the document, storage on what survives.
 */
import { InkBuilder } from '../core/chart/ink-from-audio.js';
import type { History } from '../core/history/history.js';
import { defaultCountIn } from '../core/meter/count-in.js';
import { barFrames, soundingBpm } from '../core/meter/grid.js';
import type { Metre, NoteValue } from '../core/meter/metre.js';
import { compile } from '../core/program/compile.js';
import { ProgramGrid } from '../core/program/program-grid.js';
import type { EngineReport } from '../core/render/commands.js';
import type { Edit } from '../core/song/edits.js';
import type { LayerId, SectionId } from '../core/song/ids.js';
import { sectionOf } from '../core/song/lookups.js';
import type { Section, Song } from '../core/song/song.js';
import type { Pass } from '../core/transport/plan.js';
import { passAt } from '../core/transport/state-at.js';
import type { Bars, Bpm, Decibels, Frames, Milliseconds } from '../core/units/index.js';
import { frames, gainFromDecibels } from '../core/units/index.js';
import type { Clock } from '../ports/clock.js';
import type { Ids } from '../ports/ids.js';
import type { Library, StorageRefusal } from '../ports/library.js';
import type { Sound } from '../ports/sound.js';
import { EngineHandles } from './handles.js';
import { Inks } from './inks.js';
import type { RehearsalIntents } from './intents.js';
import { Keeping } from './keeping.js';
import { Loader } from './loader.js';
import { positionAt } from './position.js';
import type { Notice, Position, Snapshot } from './snapshot.js';
import { SongDesk } from './song-desk.js';
import { SoundDesk } from './sound-desk.js';
import { TakingIn } from './taking-in.js';
import { Tapping } from './tapping.js';
import type { ViewContext } from './transport-view.js';
import { transportView } from './transport-view.js';

export interface RehearsalPorts {
  readonly sound: Sound;
  readonly library: Library;
  readonly clock: Clock;
  readonly ids: Ids;
  /** The name of a new layer that is the n-th of its section, from 1. */
  readonly layerName: (n: number) => string;
}

export interface Opening {
  readonly history: History;
  /** Why nothing will be kept; null if storage works. */
  readonly lost: StorageRefusal | null;
}

/** Bars that an open pass is drawn over, until it is longer. */
const OPEN_BARS = 4;

export class Rehearsal implements RehearsalIntents {
  readonly #ports: RehearsalPorts;
  readonly #keeping: Keeping;
  readonly #song: SongDesk;
  readonly #sound: SoundDesk;
  readonly #inks: Inks;
  readonly #tapping = new Tapping();
  readonly #listeners = new Set<(snapshot: Snapshot) => void>();
  #handles = new EngineHandles();
  #takingIn: TakingIn;
  #loader: Loader;
  #revision = 0;
  /** Called when the engine has the newest program whole, or is gone. */
  #whenReady: () => void = () => undefined;
  #notice: Notice | null;
  #grid: ProgramGrid;
  #drawnPass: number | null = null;
  #inkBuilder: InkBuilder | null = null;
  #heard: Frames = frames(0);
  #snapshot: Snapshot;

  constructor(ports: RehearsalPorts, opening: Opening) {
    this.#ports = ports;
    this.#notice = opening.lost === null ? null : { type: 'storage-refused', reason: opening.lost };
    this.#keeping = new Keeping(opening.lost, () => {
      this.#publish();
    });
    this.#song = new SongDesk(opening.history, ports.library, this.#keeping, ports.clock);
    this.#inks = new Inks(
      ports.library,
      this.#keeping,
      () => {
        this.#publish();
      },
      (layer) => {
        this.#tell({ type: 'sound-missing', layer: layer.name });
      },
    );
    this.#sound = new SoundDesk(ports.sound, {
      report: (report) => {
        this.#onReport(report);
      },
      interrupted: () => {
        this.#onInterrupted();
      },
      changed: () => {
        this.#publish();
      },
    });
    this.#takingIn = this.#newTakingIn();
    this.#loader = this.#newLoader();
    this.#grid = this.#gridOf(this.#song.song);
    this.#snapshot = this.#draw();
  }

  get snapshot(): Snapshot {
    return this.#snapshot;
  }

  subscribe(listener: (snapshot: Snapshot) => void): () => void {
    this.#listeners.add(listener);
    return () => {
      this.#listeners.delete(listener);
    };
  }

  /** Resolves when everything done so far is kept, or could not be. */
  settled(): Promise<void> {
    return this.#keeping.settled();
  }

  /** Whether closing the page now would lose something. */
  get hasUnkept(): boolean {
    return this.#isRecording() || this.#keeping.isBehind;
  }

  /** The page is going: what has come in is handed to storage. */
  flush(): void {
    this.#takingIn.flush();
  }

  position(now: Milliseconds): Position {
    if (this.#tapping.hasRested(now)) this.#finishTapping();
    this.#keeping.retry(now);
    this.#heard = this.#sound.heardAt(now);
    const view = transportView(this.#sound.plan, this.#heard, this.#viewContext());
    const before = this.#snapshot.transport;
    if (view.bar !== before.bar || view.state !== before.state || view.bars !== before.bars) this.#publish();
    return positionAt(this.#sound.plan, this.#heard, this.#viewContext(), this.#sound.inputPeak());
  }

  press(timeStamp: Milliseconds): void {
    this.#player('press', timeStamp);
  }

  hearBeat(timeStamp: Milliseconds): void {
    this.#player('play', timeStamp);
  }

  stop(timeStamp: Milliseconds): void {
    this.#finishTapping();
    this.#sound.send({ type: 'stop', heard: this.#sound.heardAt(timeStamp) });
  }

  takeBack(timeStamp: Milliseconds): void {
    this.#finishTapping();
    // The engine knows of passes that are still coming in; it says so when there is none, and an edit is taken back.
    if (this.#sound.isOpen) this.#sound.send({ type: 'take-back', heard: this.#sound.heardAt(timeStamp) });
    else this.#takeBackEdit();
  }

  putBack(): void {
    if (this.#isRecording()) return this.#tell({ type: 'stop-first' });
    const edit = this.#song.putBack();
    if (edit !== null) this.#afterEdit({ type: 'put-back', edit });
  }

  tap(timeStamp: Milliseconds): void {
    const { metre, tempo } = this.#song.song;
    this.#tapping.tap(timeStamp, metre, tempo.mark);
    this.#publish();
  }

  setTempo(bpm: Bpm): void {
    this.#tapping.finish();
    this.#edit({ type: 'set-tempo', bpm });
  }

  setMetre(metre: Metre, mark: NoteValue): void {
    this.#edit({ type: 'set-metre', metre, mark });
  }

  setCountIn(bars: Bars | null): void {
    this.#edit({ type: 'set-count-in', bars });
  }

  setClick(on: boolean): void {
    this.#edit({ type: 'set-click', on });
  }

  setSectionBars(section: SectionId, bars: Bars | null): void {
    this.#edit({ type: 'set-section-bars', section, bars });
  }

  retitle(title: string): void {
    this.#edit({ type: 'retitle', title });
  }

  renameLayer(section: SectionId, layer: LayerId, name: string): void {
    this.#edit({ type: 'rename-layer', section, layer, name });
  }

  leaveOut(section: SectionId, layer: LayerId, out: boolean): void {
    this.#edit({ type: 'leave-out', section, layer, out });
  }

  setLayerGain(section: SectionId, layer: LayerId, gain: Decibels): void {
    this.#edit({ type: 'set-layer-gain', section, layer, gain });
  }

  openSound(): void {
    void this.#open();
  }

  useChannel(channel: number): void {
    this.#sound.useChannel(channel);
    this.#sendRules();
    this.#publish();
  }

  stateRoundTrip(ms: Milliseconds | null): void {
    this.#sound.stateRoundTrip(ms);
    this.#sound.send({ type: 'set-round-trip', roundTrip: this.#sound.roundTrip });
  }

  dismissNotice(): void {
    this.#notice = null;
    this.#publish();
  }

  #player(type: 'press' | 'play', timeStamp: Milliseconds): void {
    this.#finishTapping();
    this.#notice = null;
    if (this.#sound.isOpen) {
      this.#sound.send({ type, heard: this.#sound.heardAt(timeStamp) });
      this.#publish();
    } else if (!this.#sound.isOpening) {
      void this.#open().then((isOpen) => {
        if (isOpen) this.#sound.send({ type, heard: this.#sound.heardAt(this.#ports.clock.now()) });
      });
    }
  }

  /** Open means that a press is answered by sound: the engine has what it plays. */
  #open(): Promise<boolean> {
    return this.#sound.open(
      this.#song.song,
      () =>
        new Promise((resolve) => {
          this.#whenReady = resolve;
          this.#sound.send({ type: 'set-round-trip', roundTrip: this.#sound.roundTrip });
          this.#sendRules();
          this.#sendProgram();
        }),
    );
  }

  #edit(edit: Edit): void {
    if (this.#gridIsHeld(edit)) return;
    const refusal = this.#song.apply(edit);
    if (refusal === null) this.#afterEdit(null);
    else this.#tell({ type: 'edit-refused', reason: refusal });
  }

  #takeBackEdit(): void {
    if (this.#gridIsHeld(this.#song.canTakeBack)) return;
    const edit = this.#song.takeBack();
    if (edit !== null) this.#afterEdit({ type: 'taken-back', edit });
  }

  /** Under a pass, the grid stands still: the pass will be a layer over the bars as they are. */
  #gridIsHeld(edit: Edit | null): boolean {
    const touchesGrid = edit?.type === 'set-tempo' || edit?.type === 'set-metre' || edit?.type === 'set-section-bars';
    if (!touchesGrid || !this.#isRecording()) return false;
    this.#tell({ type: 'stop-first' });
    return true;
  }

  /** Whether a pass is under way or lined up. */
  #isRecording(): boolean {
    const { plan } = this.#sound;
    return plan.type === 'free' || (plan.type === 'running' && plan.passes.length > 0);
  }

  #afterEdit(notice: Notice | null): void {
    this.#notice = notice;
    this.#grid = this.#gridOf(this.#song.song);
    this.#sendRules();
    this.#sendProgram();
    this.#publish();
  }

  #finishTapping(): void {
    const tempo = this.#tapping.finish();
    if (tempo !== null && tempo !== this.#song.song.tempo.bpm) this.#edit({ type: 'set-tempo', bpm: tempo });
  }

  #onReport(report: EngineReport): void {
    switch (report.type) {
      case 'plan-changed':
        this.#sound.plan = report.plan;
        this.#heard = this.#sound.heardAt(this.#ports.clock.now());
        this.#publish();
        break;
      case 'recording-started':
        this.#takingIn.started(report);
        break;
      case 'captured':
        this.#drawPass();
        this.#takingIn.captured(report, this.#sound.channel);
        if (this.#drawnPass !== null) this.#publish();
        break;
      case 'recording-ended':
        this.#takingIn.ended(report);
        break;
      case 'layer-closed':
        this.#addLayer(report);
        break;
      case 'pass-dropped':
        // A pass that had not begun is no loss to speak of.
        if (this.#drawnPass === report.pass || report.pass === 0) this.#tell({ type: 'pass-dropped' });
        break;
      case 'audio-wanted':
        void this.#loader.load(report);
        break;
      case 'program-ready':
        if (report.revision === this.#revision) this.#whenReady();
        break;
      case 'slab-wanted':
      case 'free-closed':
      case 'past-kept':
      case 'section-changes':
      case 'page-wanted':
      case 'monitor-muted':
        break;
      case 'refused':
        if (report.why === 'nothing-to-take-back') this.#takeBackEdit();
        break;
      case 'fault':
        this.#onFault(report.kind);
        break;
      default:
        report satisfies never;
    }
  }

  #onFault(kind: Extract<EngineReport, { type: 'fault' }>['kind']): void {
    if (kind === 'frames-lost') this.#tell({ type: 'input-lost' });
    if (kind === 'pool-full') this.#tell({ type: 'memory-full' });
  }

  #onInterrupted(): void {
    if (this.#drawnPass !== null) this.#notice = { type: 'pass-dropped' };
    this.#takingIn.flush();
    this.#whenReady();
    this.#handles = new EngineHandles();
    this.#takingIn = this.#newTakingIn();
    this.#loader.close();
    this.#loader = this.#newLoader();
    this.#drawnPass = null;
  }

  #addLayer(report: Extract<EngineReport, { type: 'layer-closed' }>): void {
    const section = this.#section();
    const layer = this.#takingIn.layerOf(report, this.#nextName());
    const take = layer?.takes[0];
    if (layer === null || take === undefined) return;
    if (this.#drawnPass === report.pass && this.#inkBuilder !== null) {
      this.#inks.set(take.id, this.#inkBuilder.ink(report.bars), take.startBar);
      this.#drawnPass = null;
    }
    const refusal = this.#song.apply({
      type: 'add-layers',
      section: section.id,
      layers: [layer],
      sectionBars: report.bars,
    });
    if (refusal !== null) return this.#tell({ type: 'edit-refused', reason: refusal });
    this.#afterEdit({ type: 'layer-kept', name: layer.name, bars: report.bars });
  }

  /** Begins to draw the pass that is coming in, if it is not the one being drawn. */
  #drawPass(): void {
    const { plan } = this.#sound;
    const pass = plan.type === 'running' ? passAt(plan, this.#heard, this.#grid) : null;
    if (plan.type !== 'running' || pass === null || pass.number === this.#drawnPass) return;
    const song = this.#song.song;
    const from = plan.origin + this.#grid.lineOf(pass.startBar) + this.#sound.roundTrip.frames;
    this.#inkBuilder = new InkBuilder({ sampleRate: song.sampleRate, barFrames: this.#grid.barFrames(pass.startBar) });
    this.#takingIn.growInk(this.#inkBuilder, from);
    this.#drawnPass = pass.number;
  }

  #sendRules(): void {
    const song = this.#song.song;
    const countIn = song.countIn ?? defaultCountIn(barFrames(song.metre, song.tempo, song.sampleRate), song.sampleRate);
    this.#sound.send({
      type: 'set-rules',
      rules: {
        bars: this.#section().bars,
        countIn,
        channels: [this.#sound.channel],
        withoutTempo: false,
        keepLayering: false,
        replaces: null,
      },
    });
    this.#sound.send({ type: 'set-click', playing: song.click.on, gain: gainFromDecibels(song.click.gain) });
  }

  #sendProgram(): void {
    if (!this.#sound.isOpen) return;
    this.#revision++;
    const purpose = { type: 'loop', section: this.#section().id } as const;
    this.#sound.send({
      type: 'use-program',
      program: compile(this.#song.song, purpose, this.#handles, this.#revision),
    });
  }

  #section(): Section {
    const first = this.#song.song.sections[0];
    if (first === undefined) throw new RangeError('Got a song of no sections when expected at least one.');
    return sectionOf(this.#song.song, first.id);
  }

  #nextName(): string {
    return this.#ports.layerName(this.#section().layers.length + 1);
  }

  #viewContext(): ViewContext {
    const section = this.#section();
    return {
      grid: this.#grid,
      hasLayers: section.layers.length > 0,
      sectionBars: section.bars,
      nextLayerName: this.#nextName(),
    };
  }

  #gridOf(song: Song): ProgramGrid {
    const section = song.sections[0];
    if (section === undefined) throw new RangeError('Got a song of no sections when expected at least one.');
    return new ProgramGrid(compile(song, { type: 'loop', section: section.id }, this.#handles, 0).stretches);
  }

  #newTakingIn(): TakingIn {
    const { library, ids, clock } = this.#ports;
    const { id, sampleRate } = this.#song.song;
    const handles = this.#handles;
    const stored = (audio: number, frames: Frames): void => {
      // An engine that is gone numbered its audio like the next one.
      if (handles === this.#handles) this.#sound.send({ type: 'audio-stored', audio, frames });
    };
    return new TakingIn({ library, keeping: this.#keeping, ids, clock, stored }, id, sampleRate, handles);
  }

  #newLoader(): Loader {
    return new Loader(this.#ports.library, this.#keeping, this.#handles, this.#sound);
  }

  #tell(notice: Notice): void {
    this.#notice = notice;
    this.#publish();
  }

  #publish(): void {
    this.#snapshot = this.#draw();
    for (const listener of this.#listeners) listener(this.#snapshot);
  }

  #draw(): Snapshot {
    const song = this.#song.song;
    const { plan } = this.#sound;
    const pass = plan.type === 'running' ? passAt(plan, this.#heard, this.#grid) : null;
    return Object.freeze({
      song,
      sectionInHand: this.#section().id,
      sound: this.#sound.view,
      keeping: this.#keeping.view,
      transport: transportView(plan, this.#heard, this.#viewContext()),
      taps: this.#tapping.view,
      notice: this.#notice,
      canTakeBack: this.#song.canTakeBack,
      canPutBack: this.#song.canPutBack,
      layers: this.#inks.views(song),
      passInk:
        pass !== null && pass.number === this.#drawnPass
          ? (this.#inkBuilder?.ink(barsDrawn(pass, this.#barHeard())) ?? null)
          : null,
      soundingBpm: soundingBpm(
        barFrames(song.metre, song.tempo, song.sampleRate),
        song.metre,
        song.tempo.mark,
        song.sampleRate,
      ),
    });
  }

  #barHeard(): number {
    const { plan } = this.#sound;
    return plan.type !== 'running' ? 0 : this.#grid.barAt(this.#heard - plan.origin);
  }
}

/** A set length, or as many fours as an open pass has begun. */
function barsDrawn(pass: Pass, barHeard: number): number {
  if (pass.endBar !== null) return pass.endBar - pass.startBar;
  return OPEN_BARS * (1 + Math.floor(Math.max(0, barHeard - pass.startBar) / OPEN_BARS));
}
