/**
 * The rehearsal: what is going on now. It turns what the player asks for into edits and commands, and what the engine
 * reports into edits and writes; it publishes one frozen snapshot a change. The engine is the authority on time, the
 * rehearsal on the document, storage on what survives.
 */
import type { History } from '../core/history/history.js';
import { barFrames, soundingBpm } from '../core/meter/grid.js';
import type { Metre, NoteValue } from '../core/meter/metre.js';
import { compile } from '../core/program/compile.js';
import { ProgramGrid } from '../core/program/program-grid.js';
import type { EngineReport } from '../core/render/commands.js';
import type { Edit } from '../core/song/edits.js';
import type { SeamKind } from '../core/seam/seam.js';
import type { Reading } from '../core/loop/readings.js';
import type { IdeaId, LayerId, RecordingId, SectionId, TakeId } from '../core/song/ids.js';
import { sectionOf } from '../core/song/lookups.js';
import type { Layer, Section, Song } from '../core/song/song.js';
import { passAt } from '../core/transport/state-at.js';
import type { Bars, Bpm, Decibels, Frames, Milliseconds } from '../core/units/index.js';
import { frames } from '../core/units/index.js';
import type { Clock } from '../ports/clock.js';
import type { Ids } from '../ports/ids.js';
import type { Library, StorageRefusal } from '../ports/library.js';
import type { Sound } from '../ports/sound.js';
import { AfterTheFact } from './after-the-fact.js';
import { EngineSession } from './engine-session.js';
import { Inks } from './inks.js';
import type { RehearsalIntents } from './intents.js';
import { Keeping } from './keeping.js';
import type { TappedTempo } from './loop-readings.js';
import { readingEdit } from './loop-readings.js';
import { PassEdits } from './pass-edits.js';
import { PassesAsked, layerAt } from './passes-asked.js';
import { positionAt } from './position.js';
import { Seams } from './seams.js';
import type { Notice, Position, Snapshot } from './snapshot.js';
import { SongDesk } from './song-desk.js';
import { SoundDesk } from './sound-desk.js';
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

/** Edits that move bar lines. */
const TOUCH_THE_GRID: ReadonlySet<Edit['type']> = new Set(['set-tempo', 'set-metre', 'set-section-bars', 'read-as']);

export class Rehearsal implements RehearsalIntents {
  readonly #ports: RehearsalPorts;
  readonly #keeping: Keeping;
  readonly #song: SongDesk;
  readonly #sound: SoundDesk;
  readonly #inks: Inks;
  readonly #tapping = new Tapping();
  readonly #listeners = new Set<(snapshot: Snapshot) => void>();
  readonly #seams: Seams;
  readonly #after: AfterTheFact;
  #tapped: TappedTempo | null = null;
  readonly #asked = new PassesAsked();
  readonly #passEdits: PassEdits;
  #session: EngineSession;
  #notice: Notice | null;
  #grid: ProgramGrid;
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
    this.#seams = new Seams({
      library: ports.library,
      keeping: this.#keeping,
      desk: this.#song,
      changed: () => {
        this.#sendProgram();
        this.#publish();
      },
    });
    this.#sound = new SoundDesk(ports.sound, {
      report: (report) => {
        this.#onReport(report);
        this.#after.hear(report);
      },
      interrupted: () => {
        this.#onInterrupted();
      },
      changed: () => {
        this.#publish();
      },
    });
    this.#after = this.#newAfter();
    this.#passEdits = new PassEdits(ports.ids, ports.layerName);
    this.#session = this.#newSession();
    this.#grid = this.#gridOf(this.#song.song);
    this.#snapshot = this.#draw();
    this.#seams.look();
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
    this.#session.takingIn.flush();
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
    if (this.#after.takeBack()) return this.#tell({ type: 'pass-dropped' });
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

  chooseSeam(section: SectionId, layer: LayerId, chosen: SeamKind | null, pickup: boolean): void {
    const take = layerAt(this.#song.song, { section, layer })?.takeInUse;
    if (take === undefined) return this.#tell({ type: 'edit-refused', reason: 'no-such-layer' });
    this.#edit({ type: 'choose-seam', section, layer, take, chosen, pickup });
  }

  useTake(section: SectionId, layer: LayerId, take: TakeId): void {
    this.#edit({ type: 'use-take', section, layer, take });
  }

  setRecede(section: SectionId, recede: Decibels): void {
    this.#edit({ type: 'set-recede', section, recede });
  }

  blend(section: SectionId, layers: readonly LayerId[]): void {
    void this.#blend(section, layers);
  }

  takeApart(section: SectionId, layer: LayerId): void {
    this.#edit({ type: 'take-apart', section, layer });
  }

  anotherTake(section: SectionId, layer: LayerId | null): void {
    this.#asked.anotherTake = layer === null ? null : { section, layer };
    this.#sendRules();
    this.#publish();
  }

  keepLayering(on: boolean): void {
    this.#asked.keepLayering = on;
    this.#sendRules();
    this.#publish();
  }

  recordWithoutTempo(on: boolean): void {
    this.#after.setFree(on);
    this.#sendRules();
    this.#publish();
  }

  readAs(reading: Reading): void {
    this.#edit(readingEdit(this.#section().id, reading, false));
  }

  keepThat(timeStamp: Milliseconds): void {
    this.#finishTapping();
    this.#after.keepThat(this.#sound.heardAt(timeStamp));
  }

  dropIdea(idea: IdeaId): void {
    this.#edit({ type: 'drop-idea', idea });
  }

  openSound(): void {
    void this.#open();
  }

  useChannel(channel: number): void {
    this.useChannels([channel]);
  }

  useChannels(channels: readonly number[]): void {
    this.#sound.useChannels(channels);
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
    return this.#sound.open(this.#song.song, () => {
      const ready = this.#session.briefing.ready();
      this.#sound.send({ type: 'set-round-trip', roundTrip: this.#sound.roundTrip });
      this.#sendRules();
      this.#sendProgram();
      return ready;
    });
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
    const touchesGrid = edit !== null && TOUCH_THE_GRID.has(edit.type);
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
    this.#seams.look();
    this.#sendRules();
    this.#sendProgram();
    this.#publish();
  }

  #finishTapping(): void {
    const view = this.#tapping.view;
    const tempo = this.#tapping.finish();
    if (tempo !== null) this.#tapped = { bpm: tempo, spread: view?.spread ?? 0 };
    if (tempo !== null && tempo !== this.#song.song.tempo.bpm) this.#edit({ type: 'set-tempo', bpm: tempo });
  }

  #onReport(report: EngineReport): void {
    const { takingIn, passInk, loader, briefing } = this.#session;
    switch (report.type) {
      case 'plan-changed':
        this.#sound.plan = report.plan;
        this.#noteBeginnings();
        if (report.plan.type === 'stopped') this.#grid = this.#gridOf(this.#song.song);
        this.#heard = this.#sound.heardAt(this.#ports.clock.now());
        this.#publish();
        break;
      case 'recording-started':
        takingIn.started(report);
        break;
      case 'captured':
        passInk.follow(this.#sound.plan, this.#heard, this.#grid, this.#sound.roundTrip.frames);
        takingIn.captured(report, this.#sound.channel);
        if (passInk.isDrawing) this.#publish();
        break;
      case 'recording-ended':
        takingIn.ended(report);
        this.#withRecording(report.audio, (recording) => this.#seams.ended(recording));
        break;
      case 'layer-closed':
        this.#keepPass(report);
        break;
      case 'pass-dropped':
        this.#seams.passDropped(report.pass, report.at);
        // A pass that had not begun is no loss to speak of.
        if (passInk.isOf(report.pass) || report.pass === 0) this.#tell({ type: 'pass-dropped' });
        break;
      case 'audio-wanted':
        void loader.load(report);
        break;
      case 'program-ready':
        if (briefing.isBridge(report.revision)) this.#sendProgramLater();
        break;
      case 'bars-changed':
        this.#grid = new ProgramGrid(report.stretches);
        this.#publish();
        break;
      case 'standstill-ended':
      case 'slab-wanted':
      case 'free-closed':
      case 'past-kept':
      case 'section-changes':
      case 'page-wanted':
      case 'monitor-muted':
      case 'probe-heard':
      case 'probe-dropped':
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
    if (this.#session.passInk.isDrawing) this.#notice = { type: 'pass-dropped' };
    this.#session.end();
    this.#seams.interrupted();
    this.#after.interrupted();
    this.#session = this.#newSession();
  }

  /** A pass is whole: it becomes a part of the song. */
  #keepPass(report: Extract<EngineReport, { type: 'layer-closed' }>): void {
    const { takingIn, passInk, handles } = this.#session;
    const takes = takingIn.takesOf(report);
    const first = takes[0];
    if (first === undefined) return;
    const ink = passInk.take(report.pass, report.bars);
    if (ink !== null) this.#inks.set(first.id, ink, first.startBar);
    for (const take of takes) this.#seams.expect(take, report.at);
    const { edit, notice } = this.#passEdits.editOf(report, takes, this.#section(), handles);
    const refusal = this.#song.apply(edit);
    if (refusal !== null) return this.#tell({ type: 'edit-refused', reason: refusal });
    this.#afterEdit(this.#after.noticeOf(report.pass, notice));
  }

  /** Layers are blended as they sound: what is still to be heard at their lines is waited for. */
  async #blend(section: SectionId, layers: readonly LayerId[]): Promise<void> {
    await this.#seams.settled();
    const ports = { ...this.#ports, keeping: this.#keeping };
    const { blendLayers } = await import('./blending.js');
    const blended = await blendLayers(ports, this.#seams.song, section, layers);
    if (blended.ok) this.#edit(blended.value);
    else this.#tell(blended.reason);
  }

  /** Where passes begin, in frames of the engine: whoever goes on where another pass ended has played on. */
  #noteBeginnings(): void {
    const { plan } = this.#sound;
    if (plan.type !== 'running') return;
    for (const { number, startBar } of plan.passes) {
      this.#seams.passBegins(number, plan.origin + this.#grid.lineOf(startBar));
    }
  }

  /** Not while the engine's report is being handled: what it reports next is still on its way. */
  #sendProgramLater(): void {
    void Promise.resolve().then(() => {
      this.#sendProgram();
    });
  }

  #withRecording(audio: number, then: (recording: RecordingId) => void): void {
    const recording = this.#session.handles.recordingOf(audio);
    if (recording !== undefined) then(recording);
  }

  #sendRules(): void {
    const retaken = this.#retaken();
    this.#session.briefing.sendRules(this.#song.song, {
      bars: this.#section().bars,
      channels: retaken === null ? this.#sound.channels : [this.#sound.channel],
      withoutTempo: this.#after.isFree,
      keepLayering: this.#asked.keepLayering,
      replaces: retaken === null ? null : this.#session.handles.voiceOf(retaken.id),
    });
  }

  #sendProgram(): void {
    this.#session.briefing.sendProgram(this.#seams.song, this.#section().id);
  }

  #section(): Section {
    const first = this.#song.song.sections[0];
    if (first === undefined) throw new RangeError('Got a song of no sections when expected at least one.');
    return sectionOf(this.#song.song, first.id);
  }

  /** The layer that the next pass is another take of. */
  #retaken(): Layer | null {
    return this.#asked.retaken(this.#song.song, this.#section().id);
  }

  #viewContext(): ViewContext {
    const section = this.#section();
    return {
      grid: this.#grid,
      hasLayers: section.layers.length > 0,
      isFree: this.#after.isFree,
      sectionBars: section.bars,
      nextLayerName: this.#retaken()?.name ?? this.#passEdits.nextName(section),
    };
  }

  #gridOf(song: Song): ProgramGrid {
    const section = song.sections[0];
    if (section === undefined) throw new RangeError('Got a song of no sections when expected at least one.');
    return new ProgramGrid(compile(song, { type: 'loop', section: section.id }, this.#session.handles, 0).stretches);
  }

  #newSession(): EngineSession {
    const { library, ids, clock } = this.#ports;
    const stored = (recording: RecordingId, frames: Frames): void => {
      this.#seams.stored(recording, frames);
    };
    const ports = { library, keeping: this.#keeping, ids, clock, sound: this.#sound, stored };
    return new EngineSession(ports, this.#song.song);
  }

  #newAfter(): AfterTheFact {
    return new AfterTheFact({
      song: this.#song,
      sound: this.#sound,
      clock: this.#ports.clock,
      ids: this.#ports.ids,
      section: () => this.#section().id,
      tapped: () => this.#tapped,
      recordingOf: (audio) => this.#session.handles.recordingOf(audio),
      takesOf: (closed) => {
        const takes = this.#session.takingIn.takesOf(closed);
        for (const take of takes) this.#seams.expect(take, closed.at);
        return takes;
      },
      layersOf: (takes) => this.#passEdits.layersOf(takes, this.#section()),
      changed: (notice) => {
        this.#afterEdit(notice);
      },
      tell: (notice) => {
        this.#tell(notice);
      },
    });
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
      passes: {
        channels: this.#sound.channels,
        keepLayering: this.#asked.keepLayering,
        anotherTakeOf: this.#retaken()?.id ?? null,
      },
      taps: this.#tapping.view,
      isFree: this.#after.isFree,
      readings: this.#after.readings,
      notice: this.#notice,
      canTakeBack: this.#song.canTakeBack,
      canPutBack: this.#song.canPutBack,
      layers: this.#inks.views(song),
      passInk: this.#session.passInk.growing(pass, this.#barHeard()),
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
