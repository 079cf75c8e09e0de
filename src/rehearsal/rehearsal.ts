/**
 * The rehearsal: what is going on now. It turns what the player asks for into edits and commands, and what the engine
 * reports into edits and writes; it publishes one frozen snapshot a change. The engine is the authority on time, the
 * rehearsal on the document, storage on what survives.
 */
import type { History } from '../core/history/history.js';
import { barFrames, soundingBpm } from '../core/meter/grid.js';
import type { Metre, NoteValue } from '../core/meter/metre.js';
import { feltBeats } from '../core/meter/metres.js';
import type { PressRules } from '../core/meter/presses.js';
import { pressRulesRefusal } from '../core/meter/presses.js';
import { sectionGrid } from '../core/program/compile.js';
import { lastedIn } from '../core/program/lasted.js';
import { ProgramGrid } from '../core/program/program-grid.js';
import type { EngineReport } from '../core/render/commands.js';
import type { Edit } from '../core/song/edits.js';
import type { SeamKind } from '../core/seam/seam.js';
import type { Reading } from '../core/loop/readings.js';
import type { IdeaId, LayerId, RecordingId, SectionId, TakeId } from '../core/song/ids.js';
import { sectionOf } from '../core/song/lookups.js';
import type { SectionStretch } from '../core/song/section-stretch.js';
import { settled } from '../core/song/settling.js';
import type { Layer, Section, Song, Take } from '../core/song/song.js';
import { passAt } from '../core/transport/state-at.js';
import type { Bars, Bpm, Decibels, Frames, Milliseconds } from '../core/units/index.js';
import { bars, frames, nearestFrame } from '../core/units/index.js';
import type { TripMark } from '../core/watch/alignments.js';
import type { Clock } from '../ports/clock.js';
import type { Ids } from '../ports/ids.js';
import type { Library, SetUp, StorageRefusal } from '../ports/library.js';
import type { Sound } from '../ports/sound.js';
import type { AfterTheFactPorts } from './after-the-fact.js';
import type { EngineRoom } from './engine-room.js';
import { FreeTerms } from './free-terms.js';
import type { EngineSession, SessionPorts } from './engine-session.js';
import { Inks } from './inks.js';
import type { RehearsalIntents } from './intents.js';
import { Keeping } from './keeping.js';
import type { TappedTempo } from './loop-readings.js';
import type { MeasuringOrder, ReferenceOrder } from './round-trip-view.js';
import { readingEdit } from './loop-readings.js';
import type { Extent } from './open-passes.js';
import { PassEdits } from './pass-edits.js';
import { PassesAsked, layerAt, passBarsRefusal } from './passes-asked.js';
import { positionAt } from './position.js';
import { markLeft, movedByHand } from './realigning.js';
import type { RoundTripsPorts } from './round-trips.js';
import { Seams } from './seams.js';
import { SetUpDesk } from './set-up-desk.js';
import type { Notice, Pace, Position, SettingRefusal, Snapshot, SoundChoice } from './snapshot.js';
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
  /** What is needed only once sound is open, or something is listened to. */
  readonly engineRoom: () => Promise<typeof import('./engine-room.js')>;
}

export interface Opening {
  readonly history: History;
  /** Why nothing will be kept; null if storage works. */
  readonly lost: StorageRefusal | null;
  /** What was chosen on this machine. */
  readonly setUp: SetUp;
}

/** Edits that move bar lines. */
const TOUCH_THE_GRID: ReadonlySet<Edit['type']> = new Set([
  'set-tempo',
  'set-metre',
  'set-section-bars',
  'set-stretches',
  'read-as',
]);

/** Answering a prompt takes some seconds; later than this nobody expects the count-in any more. Own choice. */
const MOST_AWAITED_MS = 10_000;

export class Rehearsal implements RehearsalIntents {
  readonly #ports: RehearsalPorts;
  readonly #keeping: Keeping;
  readonly #song: SongDesk;
  readonly #sound: SoundDesk;
  readonly #inks: Inks;
  readonly #tapping = new Tapping();
  readonly #listeners = new Set<(snapshot: Snapshot) => void>();
  readonly #seams: Seams;
  readonly #free = new FreeTerms();
  #tapped: TappedTempo | null = null;
  readonly #asked = new PassesAsked();
  readonly #setUp: SetUpDesk;
  /** Null until the sound is opened for the first time. */
  #room: EngineRoom | null = null;
  readonly #passEdits: PassEdits;
  /** Null while no sound is open. */
  #session: EngineSession | null = null;
  #opening: Promise<boolean> | null = null;
  /** A press that is answered once the sound is open. */
  #awaited: { readonly type: 'press' | 'play'; readonly at: Milliseconds } | null = null;
  #notice: Notice | null;
  #grid: ProgramGrid;
  /** The bar lines since playing began, where they are others than the song's. */
  #played: ProgramGrid | null = null;
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
      ears: ports.engineRoom,
      changed: () => {
        this.#sendProgram();
        this.#publish();
      },
    });
    this.#sound = new SoundDesk(ports.sound, {
      report: (report) => {
        this.#onReport(report);
        this.#room?.after.hear(report);
        this.#room?.trips.hear(report);
      },
      interrupted: () => {
        this.#onInterrupted();
      },
      observed: (observation) => {
        this.#room?.trips.observe(observation);
        // What was plugged in again is used again, where no pass waits for a word about it.
        if (observation.type === 'input-back' && !observation.recording && !this.#sound.isOpen) this.openSound();
      },
      changed: () => {
        this.#publish();
      },
    });
    this.#setUp = new SetUpDesk(opening.setUp, ports.library, this.#keeping);
    this.#passEdits = new PassEdits(ports.ids, ports.layerName);
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
    return this.#isRecording() || this.#keeping.isBehind || this.#session?.openPasses.areComingIn === true;
  }

  /** The page is going: what has come in is handed to storage. */
  flush(): void {
    this.#session?.takingIn.flush();
  }

  position(now: Milliseconds): Position {
    if (this.#tapping.hasRested(now)) this.#finishTapping();
    this.#keeping.retry(now);
    this.#heard = this.#sound.heardAt(now);
    this.#room?.trips.look(now, this.#heard);
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

  stop(timeStamp: Milliseconds, held = false): void {
    this.#finishTapping();
    this.#awaited = null;
    this.#sound.send({ type: 'stop', heard: this.#sound.heardAt(timeStamp), held });
  }

  takeBack(timeStamp: Milliseconds): void {
    this.#finishTapping();
    this.#awaited = null;
    if (this.#room?.after.takeBack() === true) return this.#tell({ type: 'pass-dropped' });
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

  setStretches(section: SectionId, stretches: readonly SectionStretch[]): void {
    this.#edit({ type: 'set-stretches', section, stretches, settles: false });
  }

  setPassBars(bars: Bars | null): void {
    this.#setPasses({ bars }, passBarsRefusal(bars));
  }

  setPressRules(presses: PressRules): void {
    this.#setPasses({ presses }, pressRulesRefusal(presses));
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
    this.#free.isAsked = on;
    this.#sendRules();
    this.#publish();
  }

  readAs(reading: Reading): void {
    this.#edit(readingEdit(this.#section().id, reading, false));
  }

  keepThat(timeStamp: Milliseconds): void {
    this.#finishTapping();
    if (this.#room === null) return this.#tell({ type: 'nothing-to-keep', why: 'not-listening' });
    this.#room.after.keepThat(this.#sound.heardAt(timeStamp));
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
    this.#room?.trips.state(ms);
  }

  measureRoundTrip(order: MeasuringOrder): void {
    this.#room?.trips.measure(order, this.#heardNow());
  }

  checkRoundTrip(way: MeasuringOrder['way']): void {
    this.#room?.trips.check(way, this.#heardNow());
  }

  leaveMeasuring(): void {
    this.#room?.trips.leave();
  }

  useInput(id: string | null): void {
    this.#choose({ inputId: id });
  }

  useOutput(id: string | null): void {
    this.#choose({ outputId: id });
  }

  usePace(pace: Pace): void {
    this.#choose({ pace });
  }

  useReference(order: ReferenceOrder): void {
    if (this.#isRecording()) return this.#tell({ type: 'stop-for-devices' });
    this.#room?.trips.useReference(order);
    this.#sendRules();
    this.#publish();
  }

  realignFrom(section: SectionId, layer: LayerId, bar: Bars, shift: Milliseconds): void {
    const held = layerAt(this.#song.song, { section, layer });
    const by = nearestFrame((shift * this.#song.song.sampleRate) / 1000);
    this.#moveByHand(held === null ? null : movedByHand(held, section, bar, by));
  }

  leaveMark(section: SectionId, layer: LayerId, mark: TripMark): void {
    const held = layerAt(this.#song.song, { section, layer });
    this.#moveByHand(held === null ? null : markLeft(held, section, mark));
  }

  dismissNotice(): void {
    this.#notice = null;
    this.#publish();
  }

  #player(type: 'press' | 'play', timeStamp: Milliseconds): void {
    this.#finishTapping();
    this.#notice = null;
    this.#room?.trips.interrupt();
    if (this.#sound.isReady) {
      this.#sound.send({ type, heard: this.#sound.heardAt(timeStamp) });
      return this.#publish();
    }
    // Until the sound is open, the first press is the one that counts.
    this.#awaited ??= { type, at: timeStamp };
    void this.#open().then((isOpen) => {
      this.#carryOutAwaited(isOpen);
    });
  }

  /** A press that opened the sound, unless the player stopped, or has waited so long that it would come as a surprise. */
  #carryOutAwaited(isOpen: boolean): void {
    const awaited = this.#awaited;
    this.#awaited = null;
    const now = this.#ports.clock.now();
    if (!isOpen || awaited === null || now - awaited.at > MOST_AWAITED_MS) return;
    this.#sound.send({ type: awaited.type, heard: this.#sound.heardAt(now) });
  }

  /** Open means that a press is answered by sound. Whoever asks while it is being opened waits for the same. */
  #open(): Promise<boolean> {
    this.#opening ??= this.#openAsChosen().finally(() => {
      this.#opening = null;
    });
    return this.#opening;
  }

  /** What was chosen otherwise meanwhile is opened anew. */
  async #openAsChosen(): Promise<boolean> {
    for (;;) {
      const { inputId, outputId, pace } = this.#setUp.current;
      const isOpen = await this.#openNow();
      const now = this.#setUp.current;
      if (!isOpen || (now.inputId === inputId && now.outputId === outputId && now.pace === pace)) return isOpen;
      await this.#sound.leave();
    }
  }

  #openNow(): Promise<boolean> {
    return this.#sound.open(this.#song.song, this.#setUp.current, async (opened) => {
      const room = await this.#enter();
      const session = this.#session;
      if (room === null) {
        await this.#sound.refuse('engine-failed');
        return;
      }
      if (!this.#sound.isOpen || session === null) return;
      room.trips.opened(opened);
      const ready = session.briefing.ready();
      this.#sound.send({ type: 'set-round-trip', roundTrip: this.#sound.roundTrip });
      this.#sendRules();
      this.#sendProgram();
      await ready;
    });
  }

  /** Loads what is needed from now on; the same room for every opening. Null where it could not be loaded. */
  async #enter(): Promise<EngineRoom | null> {
    const loaded = await this.#ports.engineRoom().catch(() => null);
    if (loaded === null) return null;
    const { EngineRoom: Room } = loaded;
    this.#room ??= new Room(this.#tripsPorts(), this.#afterPorts());
    this.#session ??= this.#room.sessionWith(this.#sessionPorts(), this.#song.song);
    return this.#room;
  }

  #moveByHand(edit: Extract<Edit, { type: 'realign' }> | null): void {
    if (edit === null) return this.#tell({ type: 'edit-refused', reason: 'no-such-take' });
    this.#room?.trips.letGo(edit.take);
    this.#edit(edit);
  }

  /** Sound that is open is opened anew, as it was chosen; not under a pass. */
  #choose(choice: Partial<SoundChoice>): void {
    if (this.#sound.plan.type !== 'stopped') return this.#tell({ type: 'stop-for-devices' });
    this.#setUp.change((setUp) => ({ ...setUp, ...choice }));
    this.#publish();
    if (this.#opening !== null || !this.#sound.isOpen) return;
    void this.#sound.leave().then(() => this.#open());
  }

  #heardNow(): Frames {
    return this.#sound.heardAt(this.#ports.clock.now());
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
    const session = this.#session;
    if (session === null) return;
    const { takingIn, passInk, loader, briefing, openings, openPasses } = session;
    switch (report.type) {
      case 'plan-changed':
        if (this.#sound.plan.type === 'stopped') this.#played = null;
        this.#sound.plan = report.plan;
        openPasses.follow(report.plan);
        this.#noteBeginnings();
        if (report.plan.type === 'stopped') this.#grid = this.#gridOf(this.#song.song);
        this.#heard = this.#sound.heardAt(this.#ports.clock.now());
        this.#publish();
        break;
      case 'recording-started':
        takingIn.started(report);
        openings.started(report);
        break;
      case 'captured':
        passInk.follow(this.#sound.plan, this.#heard, this.#grid, this.#sound.roundTrip.frames);
        takingIn.captured(report, this.#sound.channel);
        openings.captured(report);
        if (passInk.isDrawing) this.#publish();
        break;
      case 'recording-ended':
        takingIn.ended(report);
        openings.ended(report);
        this.#withRecording(report.audio, (recording) => {
          this.#seams.ended(recording);
          this.#room?.trips.ended(recording);
        });
        break;
      case 'pass-begun':
        openPasses.begun(report);
        if (report.pass > 0) openings.begun(report, this.#beatAt(report.at));
        break;
      case 'layer-closed':
        openPasses.gone(report.pass);
        this.#keepPass(session, report);
        break;
      case 'pass-cut':
        openPasses.gone(report.pass);
        openings.take(report.pass);
        passInk.letGo(report.pass);
        takingIn.flush();
        break;
      case 'free-closed':
        openPasses.gone(0);
        break;
      case 'pass-dropped':
        openPasses.gone(report.pass);
        this.#seams.passDropped(report.pass, report.heard);
        openings.take(report.pass);
        // A pass that had not begun is no loss to speak of.
        if (passInk.isOf(report.pass) || report.pass === 0) this.#tell({ type: 'pass-dropped' });
        passInk.letGo(report.pass);
        break;
      case 'audio-wanted':
        void loader.load(report);
        break;
      case 'program-ready':
        if (briefing.isBridge(report.revision)) this.#sendProgramLater();
        break;
      case 'bars-changed':
        this.#grid = new ProgramGrid(report.stretches);
        this.#played = this.#grid;
        if (this.#settleStretches()) this.#sendProgramLater();
        this.#publish();
        break;
      case 'standstill-ended':
      case 'slab-wanted':
      case 'bars-kept':
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
    const session = this.#session;
    if (session === null) return;
    const { passInk, openPasses, takingIn } = session;
    if (passInk.isDrawing) this.#notice = { type: 'pass-dropped' };
    const extentOf = (audio: number): Extent | undefined => takingIn.extentOf(audio);
    for (const ending of openPasses.endings(this.#grid, this.#song.song.sampleRate, extentOf)) {
      if (ending.type === 'layer') this.#keepPass(session, ending.closed);
      else this.#room?.after.keepCut(ending.cut);
    }
    this.#room?.after.interrupted();
    session.end();
    this.#session = null;
    this.#room?.trips.closed();
    this.#seams.interrupted();
  }

  /** A pass is whole: it becomes a part of the song. */
  #keepPass(session: EngineSession, report: Extract<EngineReport, { type: 'layer-closed' }>): void {
    const { takingIn, passInk, handles, openings } = session;
    const takes = takingIn.takesOf(report, this.#played ?? this.#grid);
    const first = takes[0];
    if (first === undefined) return;
    const ink = passInk.take(report.pass, report.bars);
    if (ink !== null) this.#inks.set(first.id, ink, first.startBar);
    const opens = openings.take(report.pass);
    takes.forEach((take, part) => {
      this.#seams.expect(take, report.at, opens[part] ?? null);
    });
    const { edit, notice } = this.#passEdits.editOf(report, takes, this.#section(), handles);
    const refusal = this.#song.apply(edit);
    if (refusal !== null) return this.#tell({ type: 'edit-refused', reason: refusal });
    this.#followPass(session, report, [first, ...takes.slice(1)]);
    this.#settleStretches();
    this.#afterEdit(this.#room?.after.noticeOf(report.pass, notice) ?? notice);
  }

  /** The round trip of its time is followed. */
  #followPass(
    session: EngineSession,
    closed: Extract<EngineReport, { type: 'layer-closed' }>,
    takes: readonly [Take, ...Take[]],
  ): void {
    const extent = session.takingIn.extentOf(closed.audio);
    if (extent === undefined) return;
    const grid = this.#played ?? this.#grid;
    this.#room?.trips.follow({
      takes: takes.map(({ id }) => id),
      closed,
      recording: takes[0].recording,
      recordedAt: extent.at,
      lineOf: (bar) => grid.lineOf(bars(bar)),
    });
  }

  /**
   * What waited for a press is from now on as long as it was, where layers lie over it.
   * @returns whether something became known.
   */
  #settleStretches(): boolean {
    const { song } = this.#song;
    const section = this.#section();
    const played = this.#played;
    if (played === null || section.layers.length === 0) return false;
    // From there on the bars in use are the section's, round after round.
    const stretches = settled(section.stretches, lastedIn(played, played.loopBar, song, section));
    if (stretches === section.stretches) return false;
    return this.#song.apply({ type: 'set-stretches', section: section.id, stretches, settles: true }) === null;
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

  /** A felt beat of a bar in which a pass begins. */
  #beatAt(at: Frames): Frames {
    const { plan } = this.#sound;
    const bar = plan.type === 'running' ? this.#grid.barAt(at - plan.origin) : 0;
    return nearestFrame(this.#grid.barFrames(bar) / feltBeats(this.#song.song.metre).length);
  }

  /** Not while the engine's report is being handled: what it reports next is still on its way. */
  #sendProgramLater(): void {
    void Promise.resolve().then(() => {
      this.#sendProgram();
    });
  }

  #withRecording(audio: number, then: (recording: RecordingId) => void): void {
    const recording = this.#session?.handles.recordingOf(audio);
    if (recording !== undefined) then(recording);
  }

  #setPasses(change: Partial<Pick<PassesAsked, 'bars' | 'presses'>>, refusal: SettingRefusal | null): void {
    if (refusal !== null) return this.#tell({ type: 'setting-refused', reason: refusal });
    Object.assign(this.#asked, change);
    this.#sendRules();
    this.#publish();
  }

  #sendRules(): void {
    const retaken = this.#retaken();
    const { bars, presses } = this.#asked;
    this.#session?.briefing.sendRules(this.#song.song, this.#section(), {
      bars: bars ?? this.#section().bars,
      presses,
      channels: retaken === null ? this.#sound.channels : [this.#sound.channel],
      withoutTempo: this.#free.isFree(this.#song.song),
      keepLayering: this.#asked.keepLayering,
      replaces: retaken === null ? null : this.#session.handles.voiceOf(retaken.id),
    });
  }

  #sendProgram(): void {
    this.#session?.briefing.sendProgram(this.#seams.song, this.#section().id);
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
      isFree: this.#free.isFree(this.#song.song),
      sectionBars: section.bars,
      nextLayerName: this.#retaken()?.name ?? this.#passEdits.nextName(section),
    };
  }

  #gridOf(song: Song): ProgramGrid {
    const section = song.sections[0];
    if (section === undefined) throw new RangeError('Got a song of no sections when expected at least one.');
    return sectionGrid(song, section);
  }

  #tripsPorts(): RoundTripsPorts {
    return {
      sound: this.#sound,
      setUp: this.#setUp,
      clock: this.#ports.clock,
      library: this.#ports.library,
      keeping: this.#keeping,
      song: this.#song,
      moved: (notice) => {
        this.#afterEdit(notice ?? this.#notice);
      },
      tell: (notice) => {
        this.#tell(notice);
      },
      changed: () => {
        this.#publish();
      },
    };
  }

  #sessionPorts(): SessionPorts {
    const { library, ids, clock } = this.#ports;
    const stored = (recording: RecordingId, frames: Frames): void => {
      this.#seams.stored(recording, frames);
      this.#room?.trips.stored(recording, frames);
    };
    return { library, keeping: this.#keeping, ids, clock, sound: this.#sound, stored };
  }

  #afterPorts(): AfterTheFactPorts {
    return {
      song: this.#song,
      terms: this.#free,
      sound: this.#sound,
      clock: this.#ports.clock,
      ids: this.#ports.ids,
      section: () => this.#section().id,
      tapped: () => this.#tapped,
      recordingOf: (audio) => this.#session?.handles.recordingOf(audio),
      takesOf: (closed) => {
        const takes = this.#session?.takingIn.takesOf(closed, this.#grid) ?? [];
        for (const take of takes) this.#seams.expect(take, closed.at, null);
        return takes;
      },
      layersOf: (takes) => this.#passEdits.layersOf(takes, this.#section()),
      changed: (notice) => {
        this.#afterEdit(notice);
      },
      tell: (notice) => {
        this.#tell(notice);
      },
    };
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
      health: this.#sound.health,
      choice: choiceOf(this.#setUp.current),
      devices: this.#sound.devices,
      change: this.#sound.change,
      trip: this.#room?.trips.view(this.#heard) ?? null,
      keeping: this.#keeping.view,
      transport: transportView(plan, this.#heard, this.#viewContext()),
      passes: {
        channels: this.#sound.channels,
        keepLayering: this.#asked.keepLayering,
        bars: this.#asked.bars,
        presses: this.#asked.presses,
        anotherTakeOf: this.#retaken()?.id ?? null,
      },
      taps: this.#tapping.view,
      isFree: this.#free.isFree(song),
      readings: this.#free.readings(song),
      notice: this.#notice,
      canTakeBack: this.#song.canTakeBack,
      canPutBack: this.#song.canPutBack,
      layers: this.#inks.views(song),
      passInk: this.#session?.passInk.growing(pass, this.#barHeard()) ?? null,
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

const choiceOf = ({ inputId, outputId, pace }: SetUp): SoundChoice => ({ inputId, outputId, pace });
